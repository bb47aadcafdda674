"""Wall time of ``flatgen bend`` over that of ``python -c "import click"``: run it, it prints the ratio.

Bytecode is cached as in an installed package. The aim is at most three.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 20
BEND = ["-m", "flatgen", "bend", "-m", "2024-T3", "-t", "0.040", "-r", "5/32", "--legs", "1.000, 0.750"]


def seconds(words: list[str], env: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, env=env, check=True)
    return time.perf_counter() - start


def main() -> None:
    with tempfile.TemporaryDirectory() as cache:
        env = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[3]), "PYTHONPYCACHEPREFIX": cache}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        seconds(BEND, env), seconds(["-c", "import click"], env)
        pairs = [(seconds(["-c", "import click"], env), seconds(BEND, env)) for _ in range(ROUNDS)]
    click, bend = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"import click {1000 * click:.1f} ms, flatgen bend {1000 * bend:.1f} ms, ratio {bend / click:.2f}")


if __name__ == "__main__":
    main()
