"""Sheets and remnants come in, are cut up, leave remnants; a job's log holds what was made of what."""

import csv
import json
import sqlite3
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from from_book import packet, sheets_in

from flatgen.errors import InputError, RecordError
from flatgen.model.plan import Nest, Offcut, Placement
from flatgen.model.shop import Sheet
from flatgen.records import log, stock
from flatgen.records.book import open_book
from flatgen.records.coupons import record_coupons
from flatgen.records.export import export_csv
from flatgen.records.log import log_run
from flatgen.records.runs import LoggedFinding, MadePart, RunRecord, run_from_results
from flatgen.records.stock import StockSheet, add_sheets, find_again, give_up

ALLOY = "2024-T3-clad"
NEW = StockSheet("", ALLOY, 1.016, 1219.2, 609.6, batch="H-1947", stock_size="040-24x48", cost=80.0)
JOB = "Oxbow float fittings"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "book.sqlite"


def nest(sheet_id: str = "040-24x48", part: str = "TF-101", count: int = 3, **more: Any) -> Nest:
    sheet = Sheet(sheet_id, ALLOY, 1.016, 1219.2, 609.6)
    places = tuple(Placement(part, k + 1, 10.0 * k, 0.0, 0.0) for k in range(count))
    values: dict[str, Any] = {"offcuts": (Offcut("off-1", 600.0, 0.0, 619.2, 609.6),)}
    values |= more
    return Nest(ALLOY, 1.016, "shear", "shear", sheet, places, (), utilisation=0.5, **values)


def record(*nests: Nest, digest: str = "d1") -> RunRecord:
    made = MadePart("TF-101", "bulkhead clip", "TF-1", "B", ALLOY, 1.016, 3, "handbook")
    waived = LoggedFinding("TF-101", "least-radius", "forbid", "B1", "below the table", "designer's letter")
    return RunRecord(JOB, "B", digest, (made,), (waived,), nests, packet(JOB, digest, nests))


def on_hand(path: Path) -> list[str]:
    return [sheet.id for sheet in sheets_in(path)]


def test_sheets_get_marks_in_turn(path: Path) -> None:
    assert ("S001", "S002") == add_sheets(path, NEW, copies=2)
    assert ("S003",) == add_sheets(path, NEW)
    assert ("rack-7",) == add_sheets(path, replace(NEW, mark="rack-7"))
    assert ["S001", "S002", "S003", "rack-7"] == on_hand(path)
    with pytest.raises(InputError, match="marks are never used twice"):
        add_sheets(path, replace(NEW, mark="S002"))


@pytest.mark.parametrize(
    ("sheet", "copies", "sentence"),
    [
        (replace(NEW, width=0.0), 1, "length is 0 mm"),
        (replace(NEW, material=""), 1, "material is missing"),
        (NEW, 0, "copies must be 1 or more"),
        (replace(NEW, mark="a"), 2, "1 where a mark is given"),
    ],
)
def test_impossible_sheets_are_refused(path: Path, sheet: StockSheet, copies: int, sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        add_sheets(path, sheet, copies)
    assert not path.exists() or [] == on_hand(path)


def test_nest_uses_the_oldest_sheet_and_leaves_a_remnant(path: Path) -> None:
    add_sheets(path, NEW, copies=2)
    booking = log_run(path, record(nest()))
    assert (("S001",), ["R001"]) == (booking.used, [sheet.mark for sheet in booking.remnants])
    assert ["S002", "R001"] == on_hand(path)
    remnant = sheets_in(path)[1]
    assert (619.2, 609.6, "H-1947", True) == (remnant.width, remnant.height, remnant.batch, remnant.remnant)


def test_margin_of_the_stock_size_stays_with_sheet_and_remnant(path: Path) -> None:
    add_sheets(path, NEW, copies=2)
    log_run(path, record(nest()))
    size = Sheet("040-24x48", ALLOY, 1.016, 1219.2, 609.6, margin=6.35)
    assert [6.35, 6.35] == [sheet.margin for sheet in sheets_in(path, [size])]
    assert [0.0, 0.0] == [sheet.margin for sheet in sheets_in(path)]


def test_remnant_of_a_remnant_is_traced_to_the_sheet_and_batch(path: Path) -> None:
    add_sheets(path, NEW)
    log_run(path, record(nest()))
    second = nest("R001", count=2, offcuts=(Offcut("off-1", 0.0, 0.0, 300.0, 300.0),))
    booking = log_run(path, record(second, digest="d2"))
    assert (("R001",), ["R002"]) == (booking.used, [sheet.mark for sheet in booking.remnants])
    with open_book(path) as book:
        chain = stock.traced(book, "R002")
        assert ["R002", "R001", "S001"] == [sheet.mark for sheet in chain]
        assert {"H-1947"} == {sheet.batch for sheet in chain}


def test_sheet_that_was_bought_for_the_nest_is_entered_with_it(path: Path) -> None:
    booking = log_run(path, record(nest(), nest()))
    assert ("S001", "S002") == booking.used
    with open_book(path) as book:
        assert ["received", "received", "cut up", "cut up"] == sorted(
            (row["why"] for row in book.rows("SELECT why FROM stock_entry WHERE why <> 'left over'")), reverse=True
        )


def test_same_run_is_entered_once(path: Path) -> None:
    log_run(path, record(nest()))
    with pytest.raises(RecordError, match="was entered on .* already .run 1.; if it was cut once more"):
        log_run(path, record(nest()))
    log_run(path, record(nest()), again=True)
    assert ["R001", "R002"] == on_hand(path)


def test_sheet_that_is_gone_cannot_be_cut_again_and_nothing_is_entered(path: Path) -> None:
    add_sheets(path, NEW)
    log_run(path, record(nest()))
    with pytest.raises(RecordError, match="sheet S001 is not on hand any more"):
        log_run(path, record(nest(), nest("S001"), digest="d2"))
    with open_book(path) as book:
        assert 1 == book.rows("SELECT count(*) FROM run")[0][0]
    assert ["R001"] == on_hand(path)


def test_given_up_and_found_again(path: Path) -> None:
    add_sheets(path, NEW)
    give_up(path, "S001", "bent by the forklift")
    assert [] == on_hand(path)
    with pytest.raises(InputError, match="is not on hand already"):
        give_up(path, "S001", "again")
    with pytest.raises(InputError, match="needs a reason in writing"):
        find_again(path, "S001", "  ")
    find_again(path, "S001", "was under the other rack")
    assert ["S001"] == on_hand(path)
    with pytest.raises(InputError, match='no sheet "S01" in the book. Did you mean "S001"?'):
        give_up(path, "S01", "typo")


def test_job_log_holds_it_all(path: Path, coupon) -> None:
    add_sheets(path, NEW)
    record_coupons(path, [coupon(material=ALLOY, thickness=1.016, measured_thickness=1.016, leg_b=38.6)])
    log_run(path, record(nest()), by="tester")
    log.add_note(path, JOB, "first article shown to the inspector", by="tester")
    with open_book(path) as book:
        found = log.job_log(book, JOB)
        assert (JOB,) == log.jobs(book)
        with pytest.raises(InputError, match="nothing about job"):
            log.job_log(book, "Oxbow float fitting")
    (run,) = found.runs
    assert ("B", "tester") == (run.revision, run.recorded_by)
    assert (("TF-101", "S001", "H-1947", 3),) == run.cut_from
    assert "designer's letter" == run.findings[0].waived
    assert "first article shown to the inspector" == found.notes[0][3]
    assert 1 == len(found.coupons)


def results(path: Path) -> dict:
    own = packet(JOB, "abc", [nest()]).parts["TF-101"]
    return {
        "schema": "flatgen-results/1",
        "job": JOB,
        "input_digest": "abc",
        "parts": [
            {"id": "TF-101", "kind": "part", "material": ALLOY, "thickness": 1.016, "method": "handbook", "bends": []}
            | own,
            {"id": "TF-102", "kind": "part", "material": ALLOY, "thickness": 1.016, "method": "handbook", "bends": []},
        ],
        "findings": [
            {"rule": "r", "severity": "warn", "part": "TF-101", "where": "B1", "message": "m", "waived": "because"}
        ],
        "nests": [
            {
                "material": ALLOY,
                "thickness": 1.016,
                "method": "shear",
                "sheet": {"id": "040-24x48", "width": 1219.2, "height": 609.6, "margin": 5.0},
                "placements": [
                    {"part": "TF-101", "copy": k, "x": 0.0, "y": 0.0, "rotation": 0.0, "mirrored": False}
                    for k in (1, 2)
                ],
                "cuts": [],
                "utilisation": 0.4,
                "offcuts": [{"id": "off-1", "x": 0.0, "y": 0.0, "width": 500.0, "height": 600.0}],
            }
        ],
    }


def test_run_is_read_from_the_results(tmp_path: Path) -> None:
    (tmp_path / "results.json").write_text(json.dumps(results(tmp_path)))
    run = run_from_results(tmp_path)
    assert (JOB, "abc", [("TF-101", 2)]) == (run.job, run.digest, [(made.part, made.pieces) for made in run.parts])
    booking = log_run(tmp_path / "book.sqlite", run)
    assert 1 == len(booking.remnants)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "cannot be read as JSON"),
        ("[]", '"schema" is missing'),
        ('{"schema": "flatgen-results/1", "job": "j", "parts": [], "findings": []}', "lacks something"),
    ],
)
def test_what_is_no_result_is_refused(tmp_path: Path, text: str, sentence: str) -> None:
    (tmp_path / "results.json").write_text(text)
    with pytest.raises(InputError, match=sentence):
        run_from_results(tmp_path / "results.json")
    with pytest.raises(InputError, match="no such file"):
        run_from_results(tmp_path / "nowhere.json")


def test_everything_is_exported_and_nothing_written_over(path: Path, tmp_path: Path, coupon) -> None:
    record_coupons(path, [coupon(mark='odd, "quoted" mark'), coupon()])
    add_sheets(path, NEW)
    log_run(path, record(nest()))
    files = export_csv(path, tmp_path / "export")
    connection = sqlite3.connect(path)
    for file in files:
        with file.open(newline="", encoding="utf-8") as lines:
            rows = list(csv.reader(lines))
        count = connection.execute(f"SELECT count(*) FROM {file.stem}").fetchone()[0]
        assert count == len(rows) - 1, file.stem
    connection.close()
    assert {"coupon", "piece", "measurement", "sheet", "stock_entry", "run", "cut_part"} <= {f.stem for f in files}
    with (tmp_path / "export" / "coupon.csv").open(newline="", encoding="utf-8") as lines:
        assert 'odd, "quoted" mark' == next(csv.DictReader(lines))["mark"]
    assert files == export_csv(path, tmp_path / "export")
    (tmp_path / "theirs").mkdir()
    (tmp_path / "theirs" / "coupon.csv").write_text("mine")
    for into, why in ((False, "holds files that flatgen did not write"), (True, "coupon.csv: flatgen did not write")):
        with pytest.raises(InputError, match=why):
            export_csv(path, tmp_path / "theirs", into=into)
    assert "mine" == (tmp_path / "theirs" / "coupon.csv").read_text()


def test_no_cell_of_an_export_is_a_formula(path: Path, tmp_path: Path, coupon) -> None:
    """Texts of somebody else come into the book; a spreadsheet would run what begins like a formula."""
    marks = ["=HYPERLINK(1)", "+1+1", "-1+1", "@SUM(1)", "\t=1", "-0.25"]
    record_coupons(path, [coupon(mark=f"C{k}", note=mark) for k, mark in enumerate(marks)])
    export_csv(path, tmp_path / "export")
    with (tmp_path / "export" / "coupon.csv").open(newline="", encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    assert [f"'{mark}" for mark in marks[:5]] + ["-0.25"] == [row["note"] for row in rows]


def test_nothing_to_export(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="nothing to export"):
        export_csv(tmp_path / "none.sqlite", tmp_path / "other")
