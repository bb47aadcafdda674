"""The file for the machine holds what its tool is said to want and nothing else; it is read back before it is kept."""

import re
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner
from small_shop import HEAD, SHOP

from flatgen.cli import flatgen
from flatgen.core.outline import segments
from flatgen.core.points import distance
from flatgen.draw.machine import machine_nest, machine_pattern
from flatgen.draw.machine_letter import check_length, part_letter
from flatgen.model.plan import Nest, Placement
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.page.drawing import Circle, Contour, Line, Text
from flatgen.read.drills import usual_drills
from flatgen.write import dxf

TOOL = CuttingTool("shear", "shear")
PART = '[[part]]\nid = "clip/3"\nprofile = "angle"\nquantity = 5\nleg_a = 1.5\nleg_b = 1.125\nlength = 7\n'
PART += '[[part.holes]]\nface = "leg_a"\nrivet = "1/8 in"\nat = [[1, 0.6], [3, 0.6]]\n'
RED, WHITE, BLUE = 1, 7, 5  # colours by number in DXF (DXF reference, group code 62): those that are often cut


def made(folder: Path, tool: str = "", head: str = HEAD) -> tuple[int, str, list[Path]]:
    (folder / "shop.toml").write_text(SHOP.replace('method = "shear"\n', f'method = "shear"\n{tool}'), encoding="utf-8")
    (folder / "job.toml").write_text(head + PART, encoding="utf-8")
    words = ["blank", str(folder / "job.toml"), "--format", "machine", "--out", str(folder / "out")]
    result = CliRunner().invoke(flatgen, words)
    return result.exit_code, result.output, sorted((folder / "out").glob("*"))


def entities(folder: Path, tool: str = "", head: str = HEAD) -> tuple[ezdxf.document.Drawing, list]:
    status, said, files = made(folder, tool, head)
    assert status == 0, said
    document = ezdxf.readfile(next(path for path in files if path.suffix == ".dxf"))
    return document, list(document.modelspace())


def test_no_bend_lines_no_text_unless_asked_for(tmp_path: Path) -> None:
    _, found = entities(tmp_path)
    assert sorted(e.dxf.layer for e in found) == ["hole", "hole", "outline"]


def test_bend_lines_and_text_lie_on_layers_in_no_cutting_colour(tmp_path: Path) -> None:
    document, found = entities(tmp_path, "bend_lines = true\ntext = true\n")
    assert sorted(e.dxf.layer for e in found) == ["bend-up", "hole", "hole", "mark", "outline"]
    for name in ("bend-up", "mark"):
        assert document.layers.get(name).color not in (RED, WHITE, BLUE)
    assert all(e.dxf.color == ezdxf.const.BYLAYER for e in found)


def test_one_layer_holds_all_that_is_cut(tmp_path: Path) -> None:
    _, found = entities(tmp_path, 'layers = "one"\n')
    assert {e.dxf.layer for e in found} == {"outline"} and len(found) == 3


@pytest.mark.parametrize("key", ["bend_lines", "text"])
def test_what_must_not_be_cut_has_no_place_on_the_one_layer(tmp_path: Path, key: str) -> None:
    status, said, files = made(tmp_path, f'layers = "one"\n{key} = true\n')
    assert status == 2 and key in said and "on the one layer it would be cut" in said and not files


@pytest.mark.parametrize(("more", "size"), [("", 0.098), ('drilled = "before"\n', 0.1285)])
def test_a_hole_that_its_final_size_would_bring_too_near_a_bend_stays_a_pilot(tmp_path, monkeypatch, more, size):
    """The edge of a .098 hole keeps 2T (or .06) from the tangent line, that of the #30 hole (.1285) does not."""
    near = f'[[part.holes]]\nface = "leg_a"\nrivet = "1/8 in"\nstage = "pilot"\n{more}at = [2, 1.2]\n'
    monkeypatch.setitem(globals(), "PART", PART + near)
    letters = []
    monkeypatch.setattr(
        "flatgen.draw.machine_letter.part_letter", lambda *of: letters.append(part_letter(*of)) or letters[-1]
    )
    _, found = entities(tmp_path, 'holes = "final"\n')
    sizes = sorted(2.0 * e.dxf.radius for e in found if e.dxftype() == "CIRCLE")
    assert sizes == pytest.approx(sorted([0.1285, 0.1285, size]), abs=5e-5)
    said = " ".join(item.text for item in letters[0].items if isinstance(item, Text))
    assert ("hole 3 is small as drawn" in said) == (not more)


def test_the_same_in_the_other_unit_goes_when_the_tool_changes(tmp_path: Path) -> None:
    made(tmp_path)
    _, _, files = made(tmp_path, 'units = "mm"\n')
    assert ["-mm.dxf", "-mm.pdf"] == [path.name[-7:] for path in files if not path.name.startswith(".")]


@pytest.mark.parametrize(("holes", "size"), [("pilot", "#40"), ("final", "#30")])
def test_pilot_or_final_holes(tmp_path: Path, holes: str, size: str) -> None:
    """Drills for a 1/8 in rivet: #40 (0.098 in) pilot, #30 (0.1285 in) final (common practice, from memory)."""
    _, found = entities(tmp_path, f'holes = "{holes}"\n')
    inch = {"#40": 0.098, "#30": 0.1285}[size]
    assert [round(2 * e.dxf.radius, 4) for e in found if e.dxftype() == "CIRCLE"] == [inch, inch]


@pytest.mark.parametrize(("unit", "code", "one"), [("in", 1, 25.4), ("mm", 4, 1.0)])
def test_unit_of_the_file_is_the_tools_and_in_its_name(tmp_path: Path, unit: str, code: int, one: float) -> None:
    """The other unit than the job's; header (DXF reference, $INSUNITS), name, numbers and extents agree."""
    other = "mm" if unit == "in" else "in"
    head = HEAD.replace('units = "in"', f'units = "{other}"')
    head += "" if other == "in" else 'allowance = "handbook"\n'
    global_part = 'leg_a = "1.5 in"\nleg_b = "1.125 in"\nlength = "7 in"\n'
    text = PART.replace("leg_a = 1.5\nleg_b = 1.125\nlength = 7\n", global_part).split("[[part.holes]]")[0]
    (tmp_path / "shop.toml").write_text(
        SHOP.replace('method = "shear"\n', f'method = "shear"\nunits = "{unit}"\n'), encoding="utf-8"
    )
    (tmp_path / "job.toml").write_text(head + text, encoding="utf-8")
    words = ["blank", str(tmp_path / "job.toml"), "--format", "machine", "--out", str(tmp_path / "out")]
    assert CliRunner().invoke(flatgen, words).exit_code == 0
    (path,) = (tmp_path / "out").glob("*.dxf")
    assert path.stem.endswith(f"-{unit}")
    document = ezdxf.readfile(path)
    (outline,) = document.modelspace()
    xs = [x * one for x, *_ in outline.get_points()]
    assert document.header["$INSUNITS"] == code and max(xs) - min(xs) == pytest.approx(7 * 25.4)
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    ys = [y * one for _, y, *_ in outline.get_points()]
    assert [low[0] * one, low[1] * one, high[0] * one, high[1] * one] == pytest.approx(
        [min(xs), min(ys), max(xs), max(ys)], abs=1e-9
    )


def test_a_file_that_reads_back_otherwise_is_not_written(clip, tmp_path: Path, monkeypatch) -> None:
    """A layer, a curve, the unit or the extent: each is noticed before the file is there."""
    _, blank = clip
    drawing = machine_pattern("TF-101", blank, TOOL, (), "in")
    text = dxf.as_text(drawing)
    found = re.search(r"\n 10\n[^\n]+\n", text[text.index("AcDbPolyline") :])
    assert found
    for was, now in (
        (found[0], "\n 10\n1.25\n"),
        ("\nhole\n", "\noutline\n"),
        ("$INSUNITS\n 70\n1\n", "$INSUNITS\n 70\n4\n"),
    ):
        assert was in text
        monkeypatch.setattr(dxf, "as_text", lambda *_, was=was, now=now: text.replace(was, now))
        with pytest.raises(RuntimeError):
            dxf.write(drawing, tmp_path / "a.dxf")
        assert not (tmp_path / "a.dxf").exists()


def test_a_sheet_holds_every_blank_once_with_bends_turned_over(clip) -> None:
    _, blank = clip
    places = (Placement("P", 1, 40.0, 70.0, 90.0), Placement("P", 2, 400.0, 30.0, 0.0, True))
    sheet = Sheet("S", "2024-T3", 1.0, 600.0, 300.0)
    nest = Nest("2024-T3", 1.0, "profile-cut", "saw", sheet, places, (), (), 0.1)
    tool = replace(TOOL, method="profile-cut", bend_lines=True)
    drawing = machine_nest(nest, {"P": blank}, tool, usual_drills(), "mm", False)
    kinds = [(type(i), i.layer) for i in drawing.items]
    assert kinds.count((Contour, "outline")) == 2 and kinds.count((Circle, "hole")) == 2 * len(blank.holes)
    assert {i.layer for i in drawing.items if isinstance(i, Line)} == {"bend-up", "bend-down"}


def test_the_letter_says_what_the_file_cannot(clip) -> None:
    part, blank = clip
    drawing = machine_pattern(part.mark, blank, TOOL, (), "in")
    letter = part_letter(part, blank, 13, drawing, "TF-101-in.dxf")
    said = " ".join(item.text for item in letter.items if isinstance(item, Text))
    (x0, y0), (x1, y1) = check_length(drawing)
    size = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    assert "TF-101-in.dxf" in said and "INCHES" in said and "Pieces 13" in said and part.material.name in said
    assert f"{size / 25.4:.3f} in ({size:.2f} mm)" in said
    assert size == pytest.approx(max(distance(p, q) for p, q, bulge in segments(blank.outline) if not bulge))
    assert all(0 <= item.at[0] <= letter.size[0] for item in letter.items if isinstance(item, Text))
