"""What the packet's page saves goes into the tally, whatever was printed since; what does not fit is told."""

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from making import Made

from flatgen.errors import InputError
from flatgen.model.tally import Ordered
from flatgen.records.ticks import cut_to, events_of, read_saved


class Boxes(HTMLParser):
    """The fields that the page keeps, as its script finds them."""

    def __init__(self) -> None:
        super().__init__()
        self.fields: list[dict[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "input" and "data-keep" in dict(attrs) and dict(attrs)["type"] != "text":
            self.fields.append(dict(attrs))


ORDER = (Ordered("A/1", 6, ("b1", "b2"), drilled=True), Ordered("A", 3, ("b1",)))


def written(folder: Path, **more: Any) -> Path:
    values = {"job": "J", "digest": "d", "saved": "2026-11-25T15:59:00.000Z", "entries": []} | more
    (folder / "bench.json").write_text(json.dumps(values), encoding="utf-8")
    return folder / "bench.json"


def box(key: str, value: bool | int) -> dict[str, Any]:
    return {"key": key, "what": "", "where": "", "value": value}


def test_every_field_of_the_page_is_understood(demo: Made, tmp_path: Path) -> None:
    """All of it ticked and counted to the full: nothing is left out but what counts no pieces."""
    page = Boxes()
    page.feed((demo.folder / "index.html").read_text(encoding="utf-8"))
    entries = [box(str(f["data-keep"]), int(f["max"] or 0) if f["type"] == "number" else True) for f in page.fields]
    found = read_saved(written(tmp_path, job=demo.results["job"], entries=entries), demo.results["job"])
    order = [
        Ordered(p["id"], p["quantity"], tuple(b["id"] for b in p["bends"]), bool(p["blank"]["holes"]))
        for p in demo.results["parts"]
        if p["kind"] == "part"
    ]
    from flatgen.model.tally import Event

    cut = [Event("cut", p["id"], p["pieces"]) for p in demo.results["parts"] if p["kind"] == "part"]
    entered, unfit = events_of(found, order, cut, "")
    assert [] == unfit
    nests = demo.results["nests"]
    assert dict.fromkeys(range(1, len(nests) + 1)) == cut_to(found)
    good = {event.part: event.pieces for event in entered if event.kind == "good"}
    made = {op["part"] for setup in demo.results["setups"] for op in setup["operations"]}
    assert made <= set(good) and sum(good.values()) > 100


def test_counts_go_on_whatever_was_printed_since(tmp_path: Path) -> None:
    """A file says how many are done in all: taken twice, or after a later one, it enters nothing again."""
    from flatgen.model.tally import Event

    def lacks(*happened: Event, **values: int) -> list[tuple[str, str, int, str]]:
        entries = [box(key.replace("_", "/"), value) for key, value in values.items()]
        found = read_saved(written(tmp_path, entries=entries), "J")
        entered, _ = events_of(found, ORDER, happened, "anna")
        return [(e.kind, e.part, e.pieces, e.place) for e in entered]

    cut = Event("cut", "A/1", 6)
    first = lacks(cut, bent_A_1_b1=4, drilled_A_1=6)
    assert [("drilled", "A/1", 6, ""), ("bent", "A/1", 4, "b1")] == first
    done = (cut, Event("drilled", "A/1", 6), Event("bent", "A/1", 5, "b1"))
    assert [] == lacks(*done, bent_A_1_b1=4, drilled_A_1=6)
    assert [("bent", "A/1", 1, "b1"), ("bent", "A/1", 6, "b2")] == lacks(*done, **{"bent_A_1_b1+b2": 6})


def test_what_no_longer_fits_is_told(tmp_path: Path) -> None:
    entries = [box("bent/A/b1", 3), box("bent/B/b1", 2), box("bent/A/b7", 1), box("card/A/3", True)]
    entered, unfit = events_of(read_saved(written(tmp_path, entries=entries), "J"), ORDER, (), "")
    assert [] == entered
    assert ["bent/B/b1", "bent/A/b1", "bent/A/b7"] == [line.split(":")[0] for line in unfit]
    assert "nothing of this name" in unfit[0] and "0 of 0 cut wait" in unfit[1] and 'no bend "b7"' in unfit[2]


def test_a_sheet_is_cut_as_far_as_all_its_boxes_are_ticked(tmp_path: Path) -> None:
    keys = {"cut/1/S/1": True, "cut/1/S/4": True, "cut/1/S/9": False, "cut/2/S/1": True, "cut/3/S/1": False}
    entries = [box(key, value) for key, value in keys.items()]
    assert {1: 8, 2: None} == cut_to(read_saved(written(tmp_path, entries=entries), "J"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"job": "Other"}, 'it is of the job "Other"'),
        ({"saved": 3}, "it has no time or no entries"),
        ({"entries": ["x"]}, "entry 1: has no key"),
        ({"entries": [box("a", True)] * 2}, '"a" stands there twice'),
    ],
)
def test_what_no_page_saved_is_refused(change: dict[str, Any], said: str, tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        read_saved(written(tmp_path, **change), "J")
    assert said in str(refused.value)
