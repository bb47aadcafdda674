"""A command's JSON is all that it prints: the solver's own greeting must not reach standard output."""

import subprocess
import sys


def test_solver_prints_nothing() -> None:
    # in a process of its own, since the greeting is written past Python
    code = "from flatgen.nest.programs import Programme; Programme().relaxed(); print('[]')"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
