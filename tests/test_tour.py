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
    """Its beginning in the README, its end in the guide."""
    files = (root / "README.md", root / "examples" / "README.md")
    return "".join(
        file.read_text(encoding="utf-8").split("<!-- tour: begin -->\n")[1].split("<!-- tour: end -->")[0]
        for file in files
    )


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


def followed(text: str) -> int:
    """Do what a text says, in the folder one is in; how many commands that were."""
    checker, commands = doctest.OutputChecker(), 0
    for block in BLOCK.finditer(text):
        if block["what"] == "file":
            Path(block["name"]).parent.mkdir(parents=True, exist_ok=True)
            Path(block["name"]).write_text(block["text"], encoding="utf-8")
        elif block["what"] == "edit":
            edit(Path(block["name"]), block["text"].rstrip("\n"))
        elif block["kind"] == "console":
            for said in block["text"].split("$ ")[1:]:
                command, _, wanted = said.partition("\n")
                got = run(command)
                commands += 1
                assert checker.check_output(wanted, got, doctest.ELLIPSIS), f"$ {command}\n{got}"
    return commands


def test_tour(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert followed(tour(root)) >= 8


def test_own_profile(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """profiles/README.md followed in a shop made by ``flatgen new``; its picture is the one that comes out."""
    monkeypatch.chdir(tmp_path)
    run("flatgen new shop --yes")
    Path("shop/shop.toml").rename("shop.toml")
    assert followed((root / "profiles" / "README.md").read_text(encoding="utf-8")) == 2
    assert (root / "profiles" / "cleat.svg").read_bytes() == Path("cleat.svg").read_bytes()
