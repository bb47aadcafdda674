"""What leads out of the job's folder, what others write just then, what no file can hold: nothing of it is written."""

import http.client
from pathlib import Path
from urllib.parse import urlencode

import pytest
from served_guard import FORM, ask, state
from serving import Served

from flatgen.errors import InputError
from flatgen.served.files import Append, Conflict, Desk, Set
from flatgen.write.edits import applied


def post(at: Served, to: str, /, **fields: str) -> tuple[int, http.client.HTTPMessage, str]:
    revision = Desk(at.folder / "job.toml").text("job.toml").revision
    body = urlencode({"file": "job.toml", "revision": revision, **fields}).encode()
    return ask(at, to, "POST", body, content_type=FORM)


@pytest.mark.parametrize("lost", [True, False], ids=["same key", "other key"])
def test_what_is_saved_while_a_change_is_looked_at_is_kept(
    clips: Served, monkeypatch: pytest.MonkeyPatch, lost: bool
) -> None:
    desk = Desk(clips.folder / "job.toml")
    before = desk.text("job.toml")
    theirs = before.text.replace("quantity = 16", "quantity = 18")
    if not lost:
        theirs = before.text.replace('revision = "A"', 'revision = "C"')
    own = Desk.check

    def meanwhile(self: Desk, texts: dict[str, str]) -> None:
        own(self, texts)
        monkeypatch.setattr(Desk, "check", own)
        desk.job_path.write_text(theirs, encoding="utf-8")

    monkeypatch.setattr(Desk, "check", meanwhile)
    found = desk.change("job.toml", before.revision, [Set(("part", 0, "quantity"), 17)])
    wanted = theirs if lost else theirs.replace("quantity = 16", "quantity = 17")
    assert lost == isinstance(found, Conflict) and wanted == desk.job_path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["new.toml", "profiles/new.toml", "a/b.csv", "ring.toml", "x" * 300 + ".toml"])
def test_a_form_makes_no_file(clips: Served, name: str) -> None:
    (clips.folder / "ring.toml").symlink_to("ring.toml")
    before = sorted(clips.folder.rglob("*"))
    for path in ("/set", "/paste"):
        fields = {"file": name, "revision": "", '["title"]': "x", "place": '["part"]', "rows": "id,title\nA,B"}
        assert post(clips, path, **fields)[0] in (303, 422)
    assert before == sorted(clips.folder.rglob("*"))


def test_no_field_names_a_file_outside(clips: Served) -> None:
    (clips.folder.parent / "secret.csv").write_text("known-only-here\n", encoding="utf-8")
    before = state(clips.folder)
    for name in ("../secret.csv", str(clips.folder.parent / "secret.csv")):
        for path in ("/set", "/part/2/try"):
            _, _, text = post(clips, path, **{'["part", 2, "sizes"]': name})
            assert "known-only" not in text + ask(clips, "/part/2")[2]
    shop = Desk(clips.folder / "job.toml").text("shop.toml").revision
    post(clips, "/set", file="shop.toml", revision=shop, **{'["book"]': "../book.sqlite"})
    assert before == state(clips.folder)


@pytest.mark.parametrize(
    "text",
    ["part = 5", "part = [1, 2]", "[part]\nid = 1", 'units = [1]\n[[part]]\nprofile = "angle"', "a = " + "[" * 5000],
    ids=lambda text: text[:9],
)
def test_a_description_of_another_shape_is_told_on_every_page(clips: Served, text: str) -> None:
    for name in ("job.toml", "shop.toml"):
        whole = (clips.folder / name).read_text(encoding="utf-8")
        own = text if name == "job.toml" else text.replace("part", "brake")
        (clips.folder / name).write_text(own, encoding="utf-8")
        for path in ("/", "/shop", "/brake", "/part/0", "/part/new", "/begin/cut", "/tally/part/OX-1"):
            status, _, shown = ask(clips, path)
            assert 500 != status and "own, not of yours" not in shown
        assert 'class="stop"' in ask(clips)[2]
        (clips.folder / name).write_text(whole, encoding="utf-8")


@pytest.mark.parametrize(
    "value",
    [
        "[" * 90_000,
        "NaN",
        "1e400",
        '"\\ud800"',
        "null",
        "{}",
        "true",
        '{"a\\u0000": 1}',
        "[" * 900 + "]" * 900,
        '{"a": {"a": 1}}',
    ],
    ids=lambda v: v[:9],
)
@pytest.mark.parametrize("key", ["quantity", "holes"])
def test_a_cure_of_no_sense_is_told_in_a_sentence(clips: Served, key: str, value: str) -> None:
    before = state(clips.folder)
    status, _, text = post(clips, "/part/0/cure", path=f'["part", 0, "{key}"]', value=value)
    assert 422 == status and "own, not of yours" not in text and before == state(clips.folder)


@pytest.mark.parametrize("place", ['["part", 0]', '["title"]', '["title", 0]', '["part", 0, "\\ud800"]'])
def test_rows_for_what_is_no_list_are_not_taken(clips: Served, place: str) -> None:
    before = state(clips.folder)
    assert 422 == post(clips, "/paste", place=place, rows="id,title\nA,B")[0]
    assert 422 == post(clips, "/set", add=place)[0]
    assert 422 == post(clips, "/paste", place='["part"]', rows="id,title\nA," + "x" * 200_000)[0]
    assert before == state(clips.folder)


def test_changes_of_what_is_no_key_are_refused() -> None:
    for edit in (Set(("part", 0), "x"), Set(("title", 0), "x"), Append(("title",), {"a": 1})):
        with pytest.raises(InputError):
            applied('title = "x"\n[[part]]\nid = "A"\n', [edit])
    assert "at = [[1, 3]]\n" == applied("at = [[1, 2]]\n", [Set(("at", 0, 1), 3)])


def test_a_link_in_the_packet_is_not_followed(clips: Served, tmp_path: Path) -> None:
    from flatgen.output import manifest

    secret, out = tmp_path / "secret.csv", clips.folder / "out"
    secret.write_text("known only here", encoding="utf-8")
    out.mkdir()
    (out / "cut-list.csv").symlink_to(secret)
    files = {"cut-list.csv": manifest.written(out / "cut-list.csv", "make")}
    (out / manifest.NAME).write_text(manifest.Manifest(files, ()).as_text(), encoding="utf-8")
    status, _, text = ask(clips, "/out/cut-list.csv")
    assert 422 == status and "known only" not in text
