"""A job on the stock of a real shop: what one tool takes is gone for the next, remnants are one, prices add up."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from flatgen.cli import flatgen as program

SHOP = """
units = "mm"
[[brake]]
name = "bench"
length = 1000
[[brake.nose]]
name = "nose"
radius = 3
[[tool]]
name = "shear"
method = "shear"
[[tool]]
name = "router"
method = "profile-cut"
gap = 9
"""
SHEET = '[[sheet]]\nid = "{0}"\nmaterial = "5052-H32"\nthickness = 1\nlength = {1}\nwidth = {2}\n{3}\n'
HEAD = 'title = "job"\nunits = "mm"\nmaterial = "5052-H32"\nthickness = 1\nradius = 3\ncoupons = false\n'
PART = """
[[part]]
id = "{0}"
profile = "doubler"
quantity = {1}
length = {2}
width = {3}
corner_radius = 0
hole_diameter = 0
rivet = 0
tool = "{4}"
{5}
"""
ONE = PART.format("A", 1, 200, 100, "shear", "")


def run(*args: str | Path) -> Result:
    return CliRunner().invoke(program, [str(a) for a in args])


def job(folder: Path, stock: list[str], parts: list[str]) -> Path:
    (folder / "shop.toml").write_text(SHOP + "".join(stock))
    (folder / "job.toml").write_text(HEAD + "".join(parts))
    return folder / "job.toml"


def nested(folder: Path, stock: list[str], parts: list[str]) -> dict:
    result = run("nest", job(folder, stock, parts), "--json")
    assert result.exit_code in (0, 1), result.output
    return json.loads(result.stdout)


def test_a_sheet_that_the_shear_takes_is_gone_for_the_router(tmp_path: Path) -> None:
    """One sheet on hand, parts of the same metal for two tools: the second finds another sheet."""
    stock = [SHEET.format("own", 600, 400, "copies = 1\ncost = 20"), SHEET.format("new", 600, 400, "cost = 30")]
    parts = [PART.format("A", 2, 200, 100, "shear", ""), PART.format("B", 1, 560, 380, "router", "")]
    found = nested(tmp_path, stock, parts)
    assert [n["sheet"]["id"] for n in found["nests"]] == ["own", "new"]
    assert found["totals"]["sheets"] == {"new": 1, "own": 1}


def test_sheets_to_buy_for_two_tools_add_up(tmp_path: Path) -> None:
    """Two groups buy the same size: the total says two."""
    parts = [PART.format("A", 2, 200, 100, "shear", ""), PART.format("B", 1, 560, 380, "router", "")]
    assert nested(tmp_path, [SHEET.format("new", 600, 400, "")], parts)["totals"]["to_buy"] == {"new": 2}


def test_a_remnant_without_a_number_is_one(tmp_path: Path) -> None:
    """Nobody has as many of the same remnant as he likes."""
    stock = [SHEET.format("rest", 250, 120, "remnant = true"), SHEET.format("new", 600, 400, "cost = 30")]
    found = nested(tmp_path, stock, [PART.format("A", 3, 200, 100, "shear", "")])
    assert found["totals"]["sheets"] == {"new": 1, "rest": 1}


def test_a_remnant_has_no_price_and_hides_none(tmp_path: Path) -> None:
    """A remnant and a bought sheet cost what the sheet costs."""
    stock = [SHEET.format("rest", 250, 120, "remnant = true"), SHEET.format("new", 600, 400, "cost = 30")]
    assert nested(tmp_path, stock, [PART.format("A", 3, 200, 100, "shear", "")])["totals"]["cost"] == 30.0


@pytest.mark.parametrize("area", ["[10, 10, -5, 5]", "[700, 10, 5, 5]", "[-20, 10, 5, 5]"])
def test_a_bad_area_beside_the_sheet_is_refused(tmp_path: Path, area: str) -> None:
    """A scratch written with the wrong numbers must not count as none."""
    result = run("nest", job(tmp_path, [SHEET.format("S", 600, 400, f"bad_areas = [{area}]")], [ONE]))
    assert result.exit_code == 2 and "bad_areas" in result.output


WEDGE = """
title = "Wedge"
summary = "A plate that has no other side like itself."
units = "mm"
base = "plate"
grain = "x"
[face.plate]
points = [[0, 0], [400, 0], [400, 20], [0, 190]]
"""


def wedges(folder: Path, more: str) -> dict:
    """Either way round a wedge reaches the upper left corner, which is scratched; turned over it need not."""
    (folder / "profiles").mkdir(exist_ok=True)
    (folder / "profiles" / "wedge.toml").write_text(WEDGE)
    part = f'[[part]]\nid = "W"\nprofile = "wedge"\nquantity = 1\ntool = "router"\n{more}\n'
    scratches = "copies = 1\nbad_areas = [[0, 165, 30, 30]]"
    return nested(folder, [SHEET.format("S", 410, 195, scratches)], [part])


def test_a_blank_is_turned_over_only_where_the_job_allows_it(tmp_path: Path) -> None:
    """Mirrored it lies in a clean corner; else it is not nested, and that is said."""
    assert wedges(tmp_path, "")["nest_reports"][0]["unplaced"]
    (nest,) = wedges(tmp_path, "turn_over = true")["nests"]
    assert [p["mirrored"] for p in nest["placements"]] == [True]


def test_a_marked_blank_cannot_be_turned_over(tmp_path: Path) -> None:
    """The two keys contradict each other."""
    part = PART.format("A", 1, 200, 100, "shear", 'marked = "upper"\nturn_over = true')
    result = run("nest", job(tmp_path, [SHEET.format("S", 600, 400, "")], [part]))
    assert result.exit_code == 2 and "turned over" in result.output


def test_a_flag_comes_from_a_table_of_sizes(tmp_path: Path) -> None:
    """A spreadsheet writes TRUE."""
    (tmp_path / "sizes.csv").write_text("id,quantity,length,turn_over\nA,1,100,TRUE\nB,1,100,false\n")
    part = '[[part]]\nsizes = "sizes.csv"\nprofile = "doubler"\n'
    found = nested(tmp_path, [SHEET.format("S", 600, 400, "")], [part])
    assert [p["turn_over"] for p in found["parts"]] == [True, False]


def test_offcuts_of_a_job_have_names_of_their_own_and_the_cuts_say_when_they_are_free(tmp_path: Path) -> None:
    """Two tools, two sheets: by sheet and letter, so no two are alike; for the shear each is named beside one cut."""
    parts = [PART.format("A", 2, 200, 100, "shear", ""), PART.format("B", 2, 200, 100, "router", "")]
    shear, router = nested(tmp_path, [SHEET.format("new", 900, 600, "")], parts)["nests"]
    names = [o["id"] for nest in (shear, router) for o in nest["offcuts"]]
    assert ["1A", "1B", "2A", "2B"] == names
    for offcut in shear["offcuts"]:
        (cut,) = [c for c in shear["cuts"] if f"off-cut {offcut['id']} is free" in c["note"]]
        corners = {offcut["x"], offcut["x"] + offcut["width"], offcut["y"], offcut["y"] + offcut["height"]}
        assert corners & {cut["from"][0], cut["from"][1]}


def test_two_tools_share_a_sheet_and_each_piece_of_metal_gets_one_number(tmp_path: Path) -> None:
    """The router's blanks lie on what the shear leaves, the output says so, and the book follows the metal."""
    stock = [SHEET.format("new", 900, 600, "cost = 30")]
    parts = [PART.format("B", 2, 200, 100, "router", ""), PART.format("A", 2, 200, 100, "shear", "")]
    out, found = packet(tmp_path, stock, parts)
    shear, router = found["nests"]
    assert found["totals"]["sheets"] == {"new": 1} and found["totals"]["cost"] == 30
    (metal,) = [o for o in shear["offcuts"] if f"off-cut {o['id']}" == router["sheet"]["id"]]
    assert (metal["width"], metal["height"]) == (router["sheet"]["width"], router["sheet"]["height"])
    assert router["sheet"]["id"] in found["nest_reports"][1]["note"]
    said = run("stock", "book", out, "--shop", tmp_path / "shop.toml").output
    kept = {o["id"] for nest in found["nests"] for o in nest["offcuts"]} - {metal["id"]}
    assert kept and all(f"{letter} is R0" in said for letter in kept) and f"{metal['id']} is" not in said
    rows = json.loads(run("stock", "list", "--json", "--shop", tmp_path / "shop.toml").stdout)
    assert len(rows) == len(kept)


def packet(folder: Path, stock: list[str], parts: list[str]) -> tuple[Path, dict]:
    out = folder / "out"
    made = run("make", job(folder, stock, parts), "--out", out, "--quiet")
    assert made.exit_code == 0, made.output
    return out, json.loads((out / "results.json").read_text())


def test_the_same_job_is_booked_once_whatever_the_booking_did_to_the_stock(tmp_path: Path) -> None:
    """Made anew there is nothing left to cut; the same packet counts again only where somebody says so."""
    stock = [SHEET.format("new", 600, 400, "cost = 30")]
    shop = ("--shop", tmp_path / "shop.toml")
    out, first = packet(tmp_path, stock, [ONE])
    assert run("stock", "book", out, *shop).exit_code == 0
    again = run("stock", "book", out, *shop)
    assert again.exit_code == 1 and "--again" in again.output
    assert run("stock", "book", out, "--again", *shop).exit_code == 0
    out, second = packet(tmp_path, stock, [ONE])
    assert first["input_digest"] != second["input_digest"] and not second["nests"]
    assert "nothing was cut" in run("stock", "book", out, *shop).output


def test_booking_says_what_the_shop_file_still_counts(tmp_path: Path) -> None:
    """The file is its owner's; a remnant in it that the book says was cut up is not nested on again."""
    stock = [SHEET.format("rest", 250, 120, "remnant = true"), SHEET.format("own", 600, 400, "copies = 3\ncost = 30")]
    out, _ = packet(tmp_path, stock, [PART.format("A", 3, 200, 100, "shear", "")])
    said = run("stock", "book", out, "--shop", tmp_path / "shop.toml").output
    assert 'shop.toml: take the remnant "rest" out, it is cut up' in said
    assert 'shop.toml: "own" has copies = 3; 2 are left, write copies = 2' in said
    found = nested(tmp_path, stock, [PART.format("B", 1, 200, 100, "shear", "")])
    assert found["nests"][0]["sheet"]["id"].startswith("R0")
    cost = json.loads(run("stock", "list", "--all", "--json", "--shop", tmp_path / "shop.toml").stdout)
    assert {s["stock_size"]: s["cost"] for s in cost if s["stock_size"]} == {"rest": None, "own": 30.0}


def test_a_sheet_comes_in_with_its_scratch(tmp_path: Path) -> None:
    """No blank and no off-cut lies on it; one beside the sheet is refused."""
    path = job(tmp_path, [], [ONE])
    sheet = ["--material", "5052-H32", "--thickness", "1", "--length", "240", "--width", "130"]
    shop = ("--shop", tmp_path / "shop.toml")
    assert run("stock", "add", *sheet, "--bad-area", "300, 0, 10, 10", *shop).exit_code == 2
    assert run("stock", "add", *sheet, "--bad-area", "10, 10, 10", *shop).exit_code == 2
    assert run("stock", "add", *sheet, "--bad-area", "0, 0, 20 mm, 130", *shop).exit_code == 0
    (nest,) = json.loads(run("nest", path, "--json").stdout)["nests"]
    assert nest["sheet"]["bad_areas"] == [[0.0, 0.0, 20.0, 130.0]] and nest["placements"][0]["x"] >= 20.0


def test_the_report_says_what_is_cut_beside_the_pieces_wanted(tmp_path: Path) -> None:
    """5 % are spoiled: for 12 good ones 14 are cut (binomial, 95 % sure); a bend without record has coupons."""
    path = job(tmp_path, [SHEET.format("S", 1200, 900, "")], [PART.format("A", 12, 200, 100, "shear", "")])
    bent = '[[part]]\nid = "B"\nprofile = "angle"\nquantity = 4\n'
    path.write_text(path.read_text().replace("coupons = false", "coupons = true") + bent)
    (tmp_path / "shop.toml").write_text("spoilage = 0.05\n" + (tmp_path / "shop.toml").read_text())
    said = run("nest", path).output
    assert "16 wanted, 20 to cut: 1 coupon, 3 more for spoilage" in " ".join(said.split())
    assert "Besides the pieces wanted: 1 coupon, 3 more for spoilage" in said
    results = json.loads(run("make", path, "--out", tmp_path / "out", "--json").stdout)
    assert (16, 20) == (results["totals"]["pieces_wanted"], results["totals"]["pieces"])


@pytest.mark.parametrize("words", [["make"], ["check"], ["nest"], ["coupon", "plan"]])
def test_a_command_opens_the_book_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str]) -> None:
    from flatgen.records import book

    path = job(tmp_path, [], [ONE])
    shop = ("--shop", tmp_path / "shop.toml")
    sheet = ("--material", "5052-H32", "--thickness", "1", "--length", "600", "--width", "400")
    assert run("stock", "add", *sheet, *shop).exit_code == 0
    opened: list[Path] = []
    monkeypatch.setattr(book.Book, "__enter__", lambda self: (opened.append(self.path), self)[1])
    result = run(*words, path, *(["--out", tmp_path / "out"] if words == ["make"] else []))
    assert result.exit_code in (0, 1), result.output
    assert [tmp_path / "shop-book.sqlite"] == opened
