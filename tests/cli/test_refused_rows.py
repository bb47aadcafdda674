"""Rows of a CSV file that can be read but that the job or the book refuses: the sentence names the file."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from small_shop import HEAD, PART, SHOP

from flatgen.cli import flatgen

COUPON = "CP7/1,2024-T3,0.040,1/8 in,across,90,0.0402,2.881,94.5,90.5,1.497,1.513\n"
HEADS = (
    "mark,material,thickness,nose,grain,angle,measured_thickness,blank_length,leaf_angle,released_angle,leg_a,leg_b\n"
)
ROWS = {
    "a bend that is none": ("tally enter job.toml --csv", "what,part,pieces,place\nbent,clip-3,1,b9\n", "b9"),
    "a strip written twice": ("coupon record --shop shop.toml --csv", HEADS + 2 * COUPON, "entered already"),
    "a piece written twice": (
        "inspect record job.toml --csv",
        "part,piece,1\n" + 2 * "clip-3,1,1.004\n",
        "an earlier row",
    ),
}


@pytest.mark.parametrize("case", ROWS)
def test_file_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, case: str) -> None:
    command, text, said = ROWS[case]
    monkeypatch.chdir(tmp_path)
    for name, content in (("shop.toml", SHOP), ("job.toml", HEAD + PART), ("rows.csv", text)):
        Path(name).write_text(content, encoding="utf-8")
    result = CliRunner().invoke(flatgen, [*command.split(), "rows.csv"])
    assert result.exit_code == 2, result.output
    assert "rows.csv" in result.stderr and said in result.stderr
