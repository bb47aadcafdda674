"""The page for a phone: one device, after a code, and only tally and settings."""

import http.client
import shutil
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from urllib.parse import urlencode

import pytest
from served_guard import FORM, ask, state
from serving import Served


@pytest.fixture
def near(tmp_path: Path, root: Path, serving: Callable[..., Served]) -> Served:
    """The first clips with a phone's door, on another address of this machine."""
    shutil.copytree(root / "examples" / "first-clips", tmp_path / "job")
    return serving(tmp_path / "job" / "job.toml", "127.0.0.2")


def knock(at: Served, path: str, method: str = "GET", body: bytes = b"", **heads: str):
    assert at.phone is not None
    host = at.phone.host
    heads = {"host": host, "origin": f"http://{host}", "cookie": "-", "content_type": FORM, **heads}
    return ask(at, path, method, body, place=host, **heads)


def pair(at: Served, code: str | None = None) -> tuple[int, str]:
    """Status and the cookie that a phone gets for a code."""
    assert at.phone is not None
    body = urlencode({"code": at.phone.code if code is None else code}).encode()
    status, heads, _ = knock(at, "/pair", "POST", body)
    return status, (heads["set-cookie"] or "").partition(";")[0]


def test_off_unless_asked_for(clips: Served) -> None:
    assert clips.phone is None


def test_a_stranger_sees_the_question_only(near: Served) -> None:
    before = state(near.folder)
    for path in ("/", "/tally", "/text/shop.toml", "/brake/plan", "/events"):
        status, _, text = knock(near, path)
        assert (403, True) == (status, "Pair this phone" in text) and "OX-1" not in text and "bench-30" not in text
    for path in ("/tally/part/OX-1", "/set", "/undo"):
        assert 403 == knock(near, path, "POST", b"what=cut&pieces=1")[0]
    assert before == state(near.folder)


def test_the_pages_own_token_does_not_open_it(near: Served) -> None:
    assert near.phone is not None
    port = near.phone.host.rpartition(":")[2]
    assert 403 == knock(near, "/tally", cookie=f"bench-{port}={near.token}")[0]
    assert 403 == knock(near, f"/tally?token={near.token}")[0]


def test_a_paired_phone_enters_and_the_next_one_lets_it_go(near: Served) -> None:
    code = near.phone.code if near.phone else ""
    status, first = pair(near)
    assert 303 == status and code != (near.phone.code if near.phone else "")
    assert 403 == pair(near, code)[0]  # a code counts once
    assert 200 == knock(near, "/tally", cookie=first)[0]
    body = urlencode({"what": "cut", "pieces": "3", "place": ""}).encode()
    assert "3 cut" in knock(near, "/tally/part/OX-1", "POST", body, cookie=first)[2]
    _, second = pair(near)
    assert 403 == knock(near, "/tally", cookie=first)[0]
    assert 200 == knock(near, "/tally", cookie=second)[0]


def test_a_paired_phone_gets_nothing_else(near: Served) -> None:
    before, (_, own) = state(near.folder), pair(near)
    for path in ("/text/shop.toml", "/shop", "/metal", "/print", "/part/0", "/begin"):
        assert 403 == knock(near, path, cookie=own)[0]
    for path in ("/set", "/undo", "/print", "/choose", "/paste", "/nose/take", "/bends"):
        assert 403 == knock(near, path, "POST", b"file=job.toml", cookie=own)[0]
    assert 403 == knock(near, "/tally", cookie=own, origin="http://evil.example")[0]
    assert 421 == knock(near, "/tally", cookie=own, host="evil.example")[0]
    assert before == state(near.folder)


def test_a_question_of_many_fields_is_answered(near: Served) -> None:
    status, heads, _ = knock(near, "/pair", "POST", b"&".join([b"code=1"] * 50))
    assert 403 == status and heads["content-security-policy"]


def test_wrong_codes_make_it_another(near: Served) -> None:
    assert near.phone is not None
    code = near.phone.code
    for _ in range(5):
        assert 403 == pair(near, "0000 0001")[0]
    assert code != near.phone.code
    for _ in range(100):
        pair(near, "0000 0001")
    assert 403 == pair(near)[0]  # after very many nobody is paired any more


def test_what_a_phone_still_listens_to_ends_when_another_is_paired(near: Served) -> None:
    _, first = pair(near)
    assert near.phone is not None
    talk = http.client.HTTPConnection(near.phone.host, timeout=5)
    talk.request("GET", "/events", headers={"cookie": first})
    answer = talk.getresponse()
    pair(near)
    (near.folder / "job.toml").touch()  # something to tell
    with closing(talk), suppress(ConnectionError, http.client.HTTPException):
        while answer.read1(500):  # one that stays open is silent longer than is waited
            pass
