"""Requests as strangers and programs may send them, and what stands in a folder."""

import http.client
from contextlib import closing, suppress
from pathlib import Path

from serving import Served

FORM = "application/x-www-form-urlencoded"


def ask(
    at: Served,
    path: str = "/",
    method: str = "GET",
    body: bytes = b"",
    token: str | None = None,
    place: str = "",
    **heads: str,
):
    """An answer's status, heads and text; heads as a foreign page or program may set them."""
    own = {"host": f"127.0.0.1:{at.port}", "origin": at.origin, "content-length": str(len(body))}
    own["cookie"] = f"bench-{at.port}={at.token if token is None else token}"
    own |= {key.replace("_", "-"): value for key, value in heads.items()}
    host, _, port = (place or f"127.0.0.1:{at.port}").rpartition(":")
    talk = http.client.HTTPConnection(host, int(port), timeout=30)
    talk.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    for key, value in own.items():
        if value != "-":
            talk.putheader(key, value)
    with closing(talk):
        with suppress(OSError):  # it may be sent away before it has said all
            talk.endheaders(body)
        answer = talk.getresponse()
        return answer.status, answer.headers, answer.read().decode()


def state(folder: Path) -> dict[str, bytes]:
    return {str(path): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
