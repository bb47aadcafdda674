"""The README's walk from a test bend to a corrected stop: every command runs and prints what stands there."""

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.jobs.developed import chosen, develop_all
from flatgen.jobs.loading import load

ROOT = Path(__file__).resolve().parent.parent.parent


def steps() -> list[tuple[str, list[str]]]:
    """Commands of the walk with the lines that the README shows under each."""
    text = (ROOT / "examples" / "README.md").read_text(encoding="utf-8")
    walk = text.split("<!-- walk: begin -->")[1].split("<!-- walk: end -->")[0]
    found: list[tuple[str, list[str]]] = []
    for block in re.findall(r"```\n(.*?)```", walk, re.DOTALL):
        for line in block.splitlines():
            if line.startswith("$ "):
                found.append((line[2:], []))
            elif line.strip():
                found[-1][1].append(line)
    return found


@pytest.mark.slow
def test_walk_prints_what_the_readme_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)
    runner = CliRunner()
    for command, lines in steps():
        words = command.split()
        if words[0] == "cp":
            shutil.copytree(words[2], words[3])
            continue
        assert "flatgen" == words[0]
        result = runner.invoke(flatgen, words[1:])
        assert 0 == result.exit_code, result.output
        left = result.output.splitlines()
        for line in lines:  # in order, others may stand between
            assert line in left, f"{command}\nno longer prints\n{line}\nbut\n{result.output}"
            left = left[left.index(line) + 1 :]


@pytest.mark.slow
def test_blank_of_the_walk_is_as_wide_as_the_readme_says(tmp_path: Path) -> None:
    """By hand: legs 1.000 and 0.750 less a deduction of 0.1193 by the handbook, 0.1266 by the coupons."""
    shutil.copytree(ROOT / "examples" / "float-fittings", tmp_path / "walk")
    runner = CliRunner()
    job = str(tmp_path / "walk" / "job.toml")
    widths = []
    for _ in range(2):
        (made,) = develop_all(chosen(load(Path(job)), ["TF-101"]))
        widths.append(min(made.blank.width, made.blank.height) / 25.4)
        csv = str(tmp_path / "walk" / "measured-coupons.csv")
        runner.invoke(flatgen, ["coupon", "record", "--shop", str(tmp_path / "walk" / "shop.toml"), "--csv", csv])
    assert [1.0 + 0.75 - 0.1193, 1.0 + 0.75 - 0.1266] == pytest.approx(widths, abs=1e-4)
