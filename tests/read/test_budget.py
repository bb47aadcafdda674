"""What is too much, or no plain file, is refused in one sentence before it is read or expanded."""

import json
import os
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner
from small_shop import HEAD, PART, SHOP

from flatgen import budget
from flatgen.cli import flatgen
from flatgen.errors import InputError
from flatgen.nest.freeze import keeps
from flatgen.read.outline_file import read_outlines

ROWS = '[[part]]\nprofile = "angle"\nsizes = "{}"\n'


def said(folder: Path, job: str, shop: str = SHOP) -> str:
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    (folder / "job.toml").write_text(job, encoding="utf-8")
    result = CliRunner().invoke(flatgen, ["check", str(folder / "job.toml")])
    assert result.exit_code == 2, result.output
    assert "a mistake of flatgen's own" not in result.output
    assert len(result.output.splitlines()) <= 26
    return result.output


def test_a_device_a_pipe_and_a_folder_are_no_tables(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "folder.csv").mkdir()
    for name, sentence in (("/dev/zero", "no plain file"), ("pipe.csv", "no plain file"), ("folder.csv", "a folder")):
        assert sentence in said(tmp_path, HEAD + ROWS.format(name))


@pytest.mark.parametrize("name", ["job", "shop"])
def test_a_pipe_is_no_description(tmp_path: Path, name: str) -> None:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "job.toml").write_text(HEAD + PART, encoding="utf-8")
    (tmp_path / f"{name}.toml").unlink()
    os.mkfifo(tmp_path / f"{name}.toml")
    result = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")])
    assert result.exit_code == 2 and "this is no plain file" in result.output


def test_a_lock_that_is_a_pipe_or_nested_without_end(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "deep").write_text("[" * 100_000, encoding="utf-8")
    for name, sentence in (("pipe", "no plain file"), ("deep", "nested too deep")):
        with pytest.raises(InputError, match=sentence):
            keeps(tmp_path / name)


def test_very_many_bad_rows_columns_and_parts(tmp_path: Path) -> None:
    rows = "id,quantity,leg_a\n" + "".join(f"P{k},1,nonsense\n" for k in range(5000))
    (tmp_path / "rows.csv").write_text(rows, encoding="utf-8")
    (tmp_path / "wide.csv").write_text("id," + ",".join(f"c{k}" for k in range(100_000)) + "\n1\n", encoding="utf-8")
    assert "what comes after these was not looked at" in said(tmp_path, HEAD + ROWS.format("rows.csv"))
    assert "100001 columns are more than 200" in said(tmp_path, HEAD + ROWS.format("wide.csv"))
    assert "what comes after these was not looked at" in said(tmp_path, HEAD + '[[part]]\nid = "P"\n' * 2000)


def test_very_many_unknown_keys_and_dots(tmp_path: Path) -> None:
    keys = "".join(f"unknown{k} = 1\n" for k in range(5000))
    assert "what comes after these was not looked at" in said(tmp_path, keys + HEAD + PART)
    assert "a key of more than 40 parts" in said(tmp_path, ".".join(["a"] * 100_000) + " = 1\n" + HEAD + PART)
    deep = 'material = "2024-T3"\n[alloy.x]\ny = ' + "[" * 60 + "]" * 60 + "\n"
    assert "more than 40 deep" in said(tmp_path, HEAD.replace('material = "2024-T3"\n', "") + deep + PART)


@pytest.mark.parametrize("kind", ["array", "nested"])
def test_blocks_that_come_to_very_many_pieces(tmp_path: Path, kind: str) -> None:
    document = ezdxf.new(units=4)
    block = document.blocks.new("b0")
    block.add_line((0, 0), (1, 0))
    if kind == "array":
        insert = document.modelspace().add_blockref("b0", (0, 0))
        insert.dxf.row_spacing = insert.dxf.column_spacing = 2.0
        insert.dxf.row_count, insert.dxf.column_count = 30_000, 30_000
    else:
        for k in range(1, 12):
            outer = document.blocks.new(f"b{k}")
            for n in range(10):
                outer.add_blockref(f"b{k - 1}", (n, 0))
        document.modelspace().add_blockref("b11", (0, 0))
    document.saveas(tmp_path / "bomb.dxf")
    with pytest.raises(InputError, match="comes to more than 50000 pieces"):
        read_outlines(tmp_path / "bomb.dxf")


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ('<g id="a"><use href="#a"/></g>', "refers to itself"),
        (
            '<g id="a0"><path d="M0 0H1"/></g>'
            + "".join(f'<g id="a{k}">{f"""<use href="#a{k - 1}"/>""" * 10}</g>' for k in range(1, 12)),
            "comes to more than 50000 pieces",
        ),
    ],
)
def test_references_that_come_to_very_many_pieces(tmp_path: Path, body: str, sentence: str) -> None:
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">{body}</svg>'
    (tmp_path / "bomb.svg").write_text(svg, encoding="utf-8")
    with pytest.raises(InputError, match=sentence):
        read_outlines(tmp_path / "bomb.svg")


def test_a_file_of_more_bytes_than_asked_for(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"x" * 11)
    assert budget.content(tmp_path / "a", 11) == b"x" * 11
    with pytest.raises(InputError, match="11 bytes are more"):
        budget.content(tmp_path / "a", 10)
    (tmp_path / "b").write_text(json.dumps({"a": 1}), encoding="utf-8")
    assert budget.parsed_json(tmp_path / "b") == {"a": 1}


def test_a_table_with_a_cell_without_end_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("blank,legs\n" + "x" * 200_000 + ",1\n", encoding="utf-8")
    with pytest.raises(InputError, match="cannot be read as CSV"):
        budget.csv_table(tmp_path / "a.csv")
