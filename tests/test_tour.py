"""The README's tour, from an empty folder to a bent part: every file, command and output in it, as they stand there.

A block after ``<!-- file: NAME -->`` is written to NAME; a line after ``<!-- edit: NAME -->`` takes the place of the
line of NAME that sets the same key; in a ``console`` block a line that begins with ``$`` is run and what follows it is
its output, where ``...`` stands for anything (dates).
"""

import doctest
import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen

BLOCK = re.compile(r"(?:<!-- (?P<what>file|edit): (?P<name>\S+) -->\n)?```(?P<kind>\w+)\n(?P<text>.*?)```\n", re.DOTALL)


def tour(root: Path) -> str:
    text = (root / "README.md").read_text(encoding="utf-8")
    return text.split("<!-- tour: begin -->\n")[1].split("<!-- tour: end -->")[0]


def edit(path: Path, line: str) -> None:
    key = line.split("=")[0].strip()
    found, count = re.subn(rf"(?m)^{re.escape(key)} = .*$", lambda _: line, path.read_text(encoding="utf-8"))
    assert 1 == count, f"{path.name} sets {key} {count} times"
    path.write_text(found, encoding="utf-8")


def run(command: str) -> str:
    words = shlex.split(command)
    if words[0] == "ls":
        return "".join(f"{path.name}\n" for path in sorted(Path(words[1]).iterdir()) if path.name[0] != ".")
    assert "flatgen" == words[0]
    result = CliRunner().invoke(flatgen, words[1:], catch_exceptions=False)
    status = f"[status {result.exit_code}]\n" if result.exit_code else ""
    return result.output + status


def test_tour(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    checker, commands = doctest.OutputChecker(), 0
    for block in BLOCK.finditer(tour(root)):
        if block["what"] == "file":
            Path(block["name"]).write_text(block["text"], encoding="utf-8")
        elif block["what"] == "edit":
            edit(Path(block["name"]), block["text"].rstrip("\n"))
        elif block["kind"] == "console":
            for said in block["text"].split("$ ")[1:]:
                command, _, wanted = said.partition("\n")
                got = run(command)
                commands += 1
                assert checker.check_output(wanted, got, doctest.ELLIPSIS), f"$ {command}\n{got}"
    assert commands >= 8
