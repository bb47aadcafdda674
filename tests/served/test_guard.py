"""Who does not come in at the bench page: nothing is served to them, nothing is written for them."""

import http.client
import socket
import time
from contextlib import suppress
from urllib.parse import urlencode

import pytest
from served_guard import FORM, ask, state
from serving import Served


def change(at: Served) -> bytes:
    """A form that would change the title."""
    from flatgen.served.files import Desk

    revision = Desk(at.folder / "job.toml").text("job.toml").revision
    return urlencode({"file": "job.toml", "revision": revision, '["title"]': "taken over"}).encode()


def test_the_page_with_its_token_and_policy(clips: Served) -> None:
    status, heads, text = ask(clips)
    assert 200 == status and "first clips" in text
    assert "script-src 'self'" in heads["content-security-policy"] and "unsafe" not in heads["content-security-policy"]
    assert ("nosniff", "DENY", "no-store") == tuple(
        heads[name] for name in ("x-content-type-options", "x-frame-options", "cache-control")
    )
    first, heads, _ = ask(clips, f"/?token={clips.token}", cookie="-", origin="-")
    assert (303, "/") == (first, heads["location"])
    assert "HttpOnly" in heads["set-cookie"] and "samesite=strict" in heads["set-cookie"].lower()


@pytest.mark.parametrize(
    "heads",
    [
        {"host": "evil.example"},
        {"host": "evil.example:80", "origin": "http://evil.example:80"},
        {"host": "-"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:1"},
        {"sec_fetch_site": "cross-site"},
        {"token": "wrong"},
        {"token": ""},
        {"cookie": "-"},
        {"cookie": "bench-=;;;\x01"},
        {"method": "DELETE"},
        {"method": "OPTIONS"},
    ],
    ids=str,
)
def test_strangers_get_nothing_and_change_nothing(clips: Served, heads: dict[str, str]) -> None:
    before = state(clips.folder)
    for path in ("/", "/text/shop.toml", "/files/page.css", "/events"):
        status, _, text = ask(clips, path, **heads)
        assert status in (400, 403, 405, 421) and "clips" not in text and "brake" not in text
    asked = {"method": "POST", **heads}
    assert ask(clips, "/set", body=change(clips), content_type=FORM, **asked)[0] in (400, 403, 405, 421)
    assert before == state(clips.folder)


def test_a_form_without_an_origin_is_not_taken(clips: Served) -> None:
    before = state(clips.folder)
    assert 403 == ask(clips, "/set", "POST", change(clips), content_type=FORM, origin="-")[0]
    assert before == state(clips.folder)
    assert 303 == ask(clips, "/set", "POST", change(clips), content_type=FORM)[0]
    assert 'title = "taken over"' in (clips.folder / "job.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "path",
    [
        "/text/../shop.toml",
        "/text/..%2f..%2fetc/passwd",
        "/text/%2e%2e/%2e%2e/etc/hostname",
        "/text//etc/passwd",
        "/text/%2fetc%2fpasswd",
        "/text/..\\shop.toml",
        "/files/..%2fshell.py",
        "/files/%2e%2e%2fshell.py",
        "/text/shop.toml%00",
        "/text/.hidden.toml",
        "/thumb/..%2f..%2fx",
        "/text/" + "a" * 300 + ".toml",
        "/text/" + "a/" * 3000 + "a.toml",
        "/part/" + "9" * 5000,
    ],
)
def test_no_path_leads_out_of_the_folder(clips: Served, path: str) -> None:
    (clips.folder / ".hidden.toml").write_text("secret = 1", encoding="utf-8")
    (clips.folder.parent / "shop.toml").write_text("secret = 2", encoding="utf-8")
    status, _, text = ask(clips, path)
    assert status in (400, 404, 422, 200) and "root:" not in text and "secret" not in text and "def " not in text


def test_a_file_outside_is_not_written_by_name(clips: Served) -> None:
    for name in ("../job.toml", "/tmp/x.toml", "out/../../x.toml", "x.html", ".x.toml", "x\0.toml"):
        body = urlencode({"file": name, "revision": "", '["title"]': "x"}).encode()
        assert 422 == ask(clips, "/set", "POST", body, content_type=FORM)[0]
    assert ["job"] == [path.name for path in clips.folder.parent.iterdir()]


@pytest.mark.parametrize("told", [None, "9000000", "5", "-1", "x"])
def test_ten_megabytes_are_not_taken(clips: Served, told: str | None) -> None:
    before, body = state(clips.folder), change(clips) + b"&a=" + b"x" * 10_000_000
    began = time.monotonic()
    heads = {} if told is None else {"content_length": told}
    with suppress(OSError, http.client.HTTPException):  # the line may be cut
        assert ask(clips, "/set", "POST", body, content_type=FORM, **heads)[0] in (303, 400, 413, 422)
    assert before == state(clips.folder) and time.monotonic() - began < 20
    assert 200 == ask(clips)[0]


@pytest.mark.parametrize(
    "body",
    [b"", b"\xff\xfe\x00", b"file=job.toml&[=1", b'["title"', b"&".join(b"a=1" for _ in range(90_000))],
    ids=["nothing", "no text", "no name", "cut", "many"],
)
def test_what_is_no_form_changes_nothing(clips: Served, body: bytes) -> None:
    before = state(clips.folder)
    assert ask(clips, "/set", "POST", body, content_type=FORM)[0] in (303, 422)
    assert before == state(clips.folder)


@pytest.mark.parametrize(
    "name",
    [
        "[]",
        '["part"]',
        '["part", 99, "id"]',
        '["part", -1, "id"]',
        "[1]",
        '["a", "b"]',
        '[["x"]]',
        '[{"a": 1}]',
        '["__class__"]',
        "[null]",
        "[1e400]",
        "{}",
    ],
)
def test_a_field_of_no_key_changes_nothing(clips: Served, name: str) -> None:
    from flatgen.served.files import Desk

    before = state(clips.folder)
    revision = Desk(clips.folder / "job.toml").text("job.toml").revision
    body = urlencode({"file": "job.toml", "revision": revision, name: "x"}).encode()
    assert ask(clips, "/set", "POST", body, content_type=FORM)[0] in (303, 422)
    assert before == state(clips.folder)


def test_hundreds_that_say_nothing_keep_nobody_out(clips: Served) -> None:
    begun = f"POST /set HTTP/1.1\r\nhost: 127.0.0.1:{clips.port}\r\norigin: {clips.origin}\r\ncontent-length: 9\r\n"
    begun += f"cookie: bench-{clips.port}={clips.token}\r\n\r\nx"
    for said in (b"", b"GET / HT", begun.encode()):
        waiting = [socket.create_connection(("127.0.0.1", clips.port), timeout=10) for _ in range(90)]
        for one in waiting:
            with suppress(OSError):
                one.sendall(said)
        assert 200 == ask(clips, "/files/page.css")[0]
        for one in waiting:
            one.close()
        assert 200 == ask(clips, "/files/page.css")[0]


@pytest.mark.parametrize("said", [b"\x16\x03\x01\r\n\r\n", b"GET / HTTP/1.1\r\na: " + b"x" * 90_000])
def test_what_is_no_request_gets_the_policy_too(clips: Served, said: bytes) -> None:
    told = b""
    for _ in range(5):  # an answer can be lost where the rest of the request was not read any more
        with suppress(OSError), socket.create_connection(("127.0.0.1", clips.port), timeout=10) as line:
            line.sendall(said)
            line.shutdown(socket.SHUT_WR)
            told = told or line.recv(4000)
    assert b" 400 " in told and b"default-src 'none'" in told and b"nosniff" in told and b"no-store" in told


def test_too_many_at_once_are_told_so(clips: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    from flatgen.served import guard

    monkeypatch.setattr(guard, "MOST_INSIDE", 0)
    status, heads, _ = ask(clips)
    assert 503 == status and heads["content-security-policy"]


def test_slow_ones_are_sent_away_and_hold_nobody_up(clips: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    from flatgen.served import guard

    monkeypatch.setattr(guard, "HEAD_TIME", 0.5)
    monkeypatch.setattr(guard, "BODY_TIME", 0.5)
    before = state(clips.folder)
    body = change(clips)
    heads = f"POST /set HTTP/1.1\r\nhost: 127.0.0.1:{clips.port}\r\norigin: {clips.origin}\r\n"
    heads += f"cookie: bench-{clips.port}={clips.token}\r\ncontent-length: {len(body)}\r\n"
    waiting = [socket.create_connection(("127.0.0.1", clips.port), timeout=10) for _ in range(30)]
    for k, one in enumerate(waiting):
        one.sendall((b"", b"GET / HT", heads.encode(), heads.encode() + b"\r\n" + body[:5])[k % 4])
    assert 200 == ask(clips)[0]
    answers = []
    for one in waiting:
        with one, suppress(ConnectionResetError):  # sent away while something of it was not read yet
            answers.append(one.recv(4000))
    assert all(b"200" not in answer[:20] and b"303" not in answer[:20] for answer in answers)
    assert before == state(clips.folder)
