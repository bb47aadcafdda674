"""Ticks from the packet's page to the book and back: every box of the page is known, nothing foreign gets in."""

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from making import Made

from flatgen.cli import flatgen
from flatgen.errors import InputError, InputErrors
from flatgen.records.book import open_book
from flatgen.records.ticks import current_ticks, enter_ticks, read_ticks, ticked


class Boxes(HTMLParser):
    """The fields that the page keeps, as its script finds them."""

    def __init__(self) -> None:
        super().__init__()
        self.fields: list[dict[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "input" and "data-keep" in dict(attrs) and dict(attrs)["type"] != "text":
            self.fields.append(dict(attrs))


@pytest.fixture
def saved(demo: Made) -> dict[str, Any]:
    """What the page saves with nothing ticked."""
    page = Boxes()
    page.feed((demo.folder / "index.html").read_text(encoding="utf-8"))
    entries = [
        {
            "key": f["data-keep"],
            "what": f.get("aria-label"),
            "where": "",
            "value": 0 if f["type"] == "number" else False,
        }
        for f in page.fields
    ]
    packet = demo.results
    return {
        "job": packet["job"],
        "digest": packet["input_digest"],
        "saved": "2026-11-25T15:59:00.000Z",
        "entries": entries,
    }


def written(saved: dict[str, Any], folder: Path, **values: Any) -> Path:
    """The file with some boxes ticked, by key."""
    known = {entry["key"] for entry in saved["entries"]}
    assert set(values) <= known
    entries = [entry | {"value": values.get(entry["key"], entry["value"])} for entry in saved["entries"]]
    (folder / "bench.json").write_text(json.dumps(saved | {"entries": entries}), encoding="utf-8")
    return folder / "bench.json"


def test_every_box_of_the_page_comes_back(demo: Made, saved: dict[str, Any], tmp_path: Path) -> None:
    """All of them ticked, every count full: as many stand in the book, each with its value."""
    most = {f["key"]: True for f in saved["entries"]}
    page = Boxes()
    page.feed((demo.folder / "index.html").read_text(encoding="utf-8"))
    most |= {str(f["data-keep"]): int(f["max"] or 0) for f in page.fields if f["type"] == "number"}
    found = read_ticks(written(saved, tmp_path, **most), demo.folder / "results.json")
    book = tmp_path / "book.sqlite"
    assert len(most) == enter_ticks(book, found, "bench") > 100
    with open_book(book, writing=False) as opened:
        kept = {tick.key: tick.value for tick in current_ticks(opened, found.job, found.digest)}
    assert kept == {key: int(value) for key, value in most.items()}


def keys(demo: Made) -> tuple[str, str, str]:
    """The first cut, the first piece and the first count of the demo."""
    op, nest = demo.results["setups"][0]["operations"][0], demo.results["nests"][0]
    return f"cut/1/{nest['sheet']['id']}/1", f"first/{op['part']}/{op['bend']}", f"bent/{op['part']}/{op['bend']}"


def test_only_changes_are_entered_and_a_tick_comes_off(demo: Made, saved: dict[str, Any], tmp_path: Path) -> None:
    book, results = tmp_path / "book.sqlite", demo.folder / "results.json"
    cut, right, bent = keys(demo)
    some = {cut: True, right: True, bent: 1}
    assert 3 == enter_ticks(book, read_ticks(written(saved, tmp_path, **some), results))
    assert 0 == enter_ticks(book, read_ticks(written(saved, tmp_path, **some), results))
    assert 2 == enter_ticks(book, read_ticks(written(saved, tmp_path, **{cut: True, bent: 2}), results))
    with open_book(book, writing=False) as opened:
        assert {cut: 1, bent: 2} == {t.key: t.value for t in current_ticks(opened, demo.results["job"])}
        lines = list(ticked(opened, demo.results["job"]))
    first = demo.results["setups"][0]["operations"][0]
    assert [
        ("2026-11-25", "", "setting 1", f"pieces bent: {first['part']} {first['bend']}, step {first['step']}: 2"),
        ("2026-11-25", "", f"sheet 1, {demo.results['nests'][0]['sheet']['id']}", "1 step of cutting done"),
    ] == lines


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"job": "Other"}, 'job is "Other"; the packet\'s is'),
        ({"digest": "0" * 64}, "Take the packet that it was ticked in"),
        ({"saved": 3}, "it has no time or no entries"),
        ({"entries": [{"key": "measured/SK-301", "value": 2}]}, 'entry 1: "measured/SK-301" is 2; it must be true'),
        ({"entries": [{"key": "bent/SK-301/b2", "value": 999}]}, '"bent/SK-301/b2" is 999; it must be a count from 0'),
        ({"entries": [{"key": "bent/SK-301/b2", "value": True}]}, '"bent/SK-301/b2" is True; it must be a count'),
        ({"entries": [{"key": "bent/SK-301/b99", "value": True}]}, 'the packet has nothing for "bent/SK-301/b99"'),
        ({"entries": [{"key": "rm -rf", "value": True}]}, 'the packet has nothing for "rm -rf"'),
        ({"entries": ["x"]}, 'the packet has nothing for "None"'),
        ({"entries": [{"key": "measured/SK-301", "value": True}] * 2}, '"measured/SK-301" stands there twice'),
    ],
)
def test_what_is_not_of_this_packet_is_refused(
    change: dict[str, Any], said: str, demo: Made, saved: dict[str, Any], tmp_path: Path
) -> None:
    (tmp_path / "bench.json").write_text(json.dumps(saved | change), encoding="utf-8")
    with pytest.raises((InputError, InputErrors)) as refused:
        read_ticks(tmp_path / "bench.json", demo.folder / "results.json")
    assert said in str(refused.value)


def test_the_command_enters_them_and_the_record_shows_them(demo: Made, saved: dict[str, Any], tmp_path: Path) -> None:
    file, book = written(saved, tmp_path, **{keys(demo)[1]: True}), tmp_path / "book.sqlite"
    run = CliRunner()
    done = run.invoke(flatgen, ["inspect", "ticks", str(demo.folder), str(file), "--book", str(book), "--by", "anna"])
    assert 0 == done.exit_code and "1 of " in done.output and "Entered: 1 change" in done.output, done.output
    log = run.invoke(flatgen, ["stock", "log", demo.results["job"], "--book", str(book)]).output
    assert "Ticked at the bench" in log and "first piece measured and right" in log and "anna" in log
    (tmp_path / "no.json").write_text("[", encoding="utf-8")
    bad = run.invoke(flatgen, ["inspect", "ticks", str(demo.folder), str(tmp_path / "no.json"), "--book", str(book)])
    assert 2 == bad.exit_code and "no.json: cannot be read as JSON" in bad.output
