"""Forms of the bench page: what was typed is kept, what is wrong says so beside its field, others' changes stand."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlencode

import pytest
from served_guard import FORM, ask
from serving import Served

from flatgen.served.files import Desk

Serving = Callable[[Path], Served]

EVERY = (
    *("/", "/metal", "/sheets", "/sheets/nests", "/brake", "/brake/plan", "/nose", "/bends", "/tally", "/records"),
    *("/print", "/shop", "/begin", "/begin/brake", "/part/0", "/part/new", "/decide"),
)


def post(at: Served, path: str, **fields: str) -> tuple[int, str]:
    status, _, text = ask(at, path, "POST", urlencode(fields).encode(), content_type=FORM)
    return status, text


def revision(at: Served, name: str = "job.toml") -> str:
    return Desk(at.folder / "job.toml").text(name).revision


def job(at: Served) -> dict:
    return tomllib.loads((at.folder / "job.toml").read_text(encoding="utf-8"))


def test_a_whole_form_of_an_older_page_undoes_nobodys_change(clips: Served) -> None:
    """Its other fields say what the file said then; only what differs from that was asked for."""
    ask(clips)  # the page is shown
    shown, file = revision(clips), clips.folder / "job.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('revision = "A"', 'revision = "B"'), encoding="utf-8")
    fields = {'["title"]': "mine", '["revision"]': "A", '["drawing"]': "OXBOW-3"}
    assert 303 == post(clips, "/set", file="job.toml", revision=shown, **fields)[0]
    assert ("mine", "B") == (job(clips)["title"], job(clips)["revision"])


def test_what_cannot_be_stays_in_its_field_with_the_sentence(clips: Served) -> None:
    before = job(clips)
    fields = {'["part", 0, "quantity"]': "0", '["part", 1, "quantity"]': "11"}
    post(clips, "/set", file="job.toml", revision=revision(clips), **fields)
    text = ask(clips)[2]
    assert "&#34;0&#34; is too small" in text or "0 is too small; it must be at least 1" in text
    assert (before["part"][0]["quantity"], 11) == (job(clips)["part"][0]["quantity"], job(clips)["part"][1]["quantity"])
    post(clips, "/set", file="job.toml", revision=revision(clips), **{'["part", 0, "quantity"]': "16"})
    assert "too small" not in ask(clips)[2]


@pytest.mark.parametrize(
    ("typed", "kept"), [("1 1/2 in", "1 1/2 in"), ("38 mm", "38 mm"), ("1.5", 1.5), ("2", 2), ('1-1/2"', '1-1/2"')]
)
def test_every_spelling_of_a_length_is_written_as_typed(clips: Served, typed: str, kept: object) -> None:
    post(clips, "/set", file="job.toml", revision=revision(clips), **{'["part", 0, "length"]': typed})
    assert kept == job(clips)["part"][0]["length"]


def test_rows_of_a_spreadsheet_change_and_add_parts(clips: Served) -> None:
    rows = "Part\tProfile\tPieces\tLength\nOX-4\tchannel\t9\t4 in\nOX-7\tzed\t3\t2 1/4 in\n"
    shown = revision(clips)
    assert 303 == post(clips, "/paste", file="job.toml", revision=shown, place='["part"]', rows=rows)[0]
    parts = {part["id"]: part for part in job(clips)["part"]}
    assert (9, 3, "2 1/4 in") == (parts["OX-4"]["quantity"], parts["OX-7"]["quantity"], parts["OX-7"]["length"])
    wrong = rows.replace("zed", "zeds").replace("OX-7", "OX-8")
    status, text = post(clips, "/paste", file="job.toml", revision=revision(clips), place='["part"]', rows=wrong)
    assert 422 == status and "Did you mean" in text and 7 == len(job(clips)["part"])


def test_a_row_more_and_a_row_less(clips: Served) -> None:
    post(clips, "/set", file="shop.toml", revision=revision(clips, "shop.toml"), add='["sheet"]')
    shop = tomllib.loads((clips.folder / "shop.toml").read_text(encoding="utf-8"))
    assert ["6061-040-2x4", "6061-040-2x4 2"] == [sheet["id"] for sheet in shop["sheet"]]
    post(clips, "/set", file="job.toml", revision=revision(clips), drop='["part", 1]')
    assert ["OX-1", "OX-3"] == [part["id"] for part in job(clips)["part"]][:2]
    post(clips, "/undo")
    assert "Undone in job.toml: part &#34;OX-2&#34; is back" in ask(clips)[2] and "Undone" not in ask(clips)[2]
    assert 6 == len(job(clips)["part"])


def test_the_same_key_changed_by_two_is_shown_side_by_side(clips: Served) -> None:
    ask(clips)
    shown, file = revision(clips), clips.folder / "job.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("quantity = 16", "quantity = 20"), encoding="utf-8")
    status, text = post(clips, "/set", file="job.toml", revision=shown, **{'["part", 0, "quantity"]': "17"})
    assert 409 == status and all(f"<pre>{value}</pre>" in text for value in ("16", "20", "17"))
    assert 20 == job(clips)["part"][0]["quantity"]


@pytest.mark.parametrize("name", ["job.toml", "shop.toml"])
@pytest.mark.parametrize("spoilt", ["bytes", "folder", "gone", "nothing", "deep"])
def test_files_that_cannot_be_read_are_told_on_every_page(clips: Served, name: str, spoilt: str) -> None:
    file = clips.folder / name
    file.unlink()
    if spoilt == "folder":
        file.mkdir()
    elif spoilt != "gone":
        file.write_bytes({"bytes": b'title = "\xff"', "nothing": b"", "deep": b"a = " + b"[" * 3000}[spoilt])
    for path in EVERY:
        status, _, text = ask(clips, path)
        assert status < 500 and "flatgen's own" not in text and "flatgen&#39;s own" not in text, (path, text)


def test_what_a_hand_broke_in_the_file_is_told_with_its_line(clips: Served) -> None:
    file = clips.folder / "job.toml"
    whole = file.read_text(encoding="utf-8")
    file.write_text(whole.replace("quantity = 16", "quantity = sixteen"), encoding="utf-8")
    status, _, text = ask(clips, "/tally")
    assert 422 == status and "line 16" in text and "line 16" in ask(clips)[2]
    file.write_text(whole, encoding="utf-8")
    assert 200 == ask(clips, "/tally")[0]


def test_a_part_s_form_of_an_older_page_undoes_nobody_s_change(clips: Served) -> None:
    ask(clips)
    shown, file = revision(clips), clips.folder / "job.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("quantity = 16", "quantity = 20"), encoding="utf-8")
    fields = {'["part", 0, "quantity"]': "16", '["part", 0, "title"]': "mine"}
    assert 303 == post(clips, "/part/0/keep", file="job.toml", revision=shown, **fields)[0]
    assert (20, "mine") == (job(clips)["part"][0]["quantity"], job(clips)["part"][0]["title"])


def test_a_sheet_called_by_its_metal_is_called_by_the_new_one(tmp_path: Path, serving: Serving) -> None:
    """A sheet's name is on its drawing and on the off-cuts: it never says another alloy than the row."""
    at = serving(tmp_path / "new" / "job.toml")
    post(at, "/choose", units="in")
    fields = {'["sheet", 0, "material"]': "2024-T3 clad", '["sheet", 0, "thickness"]': ".032"}
    shown = revision(at, "shop.toml")
    assert 303 == post(at, "/set", file="shop.toml", revision=shown, sure="/begin/metal", **fields)[0]
    shown = revision(at, "shop.toml")
    assert 303 == post(at, "/set", file="shop.toml", revision=shown, **{'["sheet", 0, "thickness"]': "0,04"})[0]
    shop = tomllib.loads((at.folder / "shop.toml").read_text(encoding="utf-8"))
    assert ["2024-T3 clad 0.032 in"] == [sheet["id"] for sheet in shop["sheet"]]


def test_right_answers_go_on_and_wrong_ones_stay(clips: Served) -> None:
    shown, name = revision(clips, "shop.toml"), '["brake", 0, "length"]'
    for text, to in (("40 in", "/begin/bars"), ("long", "/begin/brake")):
        told = {"file": "shop.toml", "revision": shown, "back": "/begin/brake", "sure": "/begin/bars", name: text}
        _, heads, _ = ask(clips, "/set", "POST", urlencode(told).encode(), content_type=FORM)
        assert to == heads["location"]
        shown = revision(clips, "shop.toml")


def test_an_older_packet_says_so_before_it_is_printed(clips: Served) -> None:
    post(clips, "/print")
    assert "older than the job" not in ask(clips, "/print")[2]
    post(clips, "/set", file="job.toml", revision=revision(clips), **{'["part", 0, "quantity"]': "17"})
    assert "older than the job" in ask(clips, "/print")[2]
    post(clips, "/print")
    assert "older than the job" not in ask(clips, "/print")[2]
    post(clips, "/tally/part/OX-1", what="cut", pieces="2")
    assert "older than the job" in ask(clips, "/print")[2]


@pytest.mark.parametrize("name", ["a" * 3000, "a" * 3000 + ".toml", "x\0y", "../zed", "zeds"])
def test_a_name_that_no_file_can_have_is_told(clips: Served, name: str) -> None:
    before = job(clips)
    fields = {'["part", 4, "profile"]': name}
    assert 303 == post(clips, "/set", file="job.toml", revision=revision(clips), **fields)[0]
    assert before == job(clips) and "there is no profile" in ask(clips)[2]


def test_a_field_of_a_table_is_called_as_its_column(clips: Served) -> None:
    """On a phone the heads of the columns are not seen: "margin" would be another word for the same."""
    text = ask(clips, "/metal")[2]
    assert all(f">{head}</label>" in text for head in ("Name", "Edge kept free", "On hand", "By micrometer"))
