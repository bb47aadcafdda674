"""What happens while a page stands: files that others changed, and how far the work is; told as server-sent events."""

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import suppress

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from flatgen import budget
from flatgen.errors import FlatgenError
from flatgen.served.shell import desk_of, file_revisions

PAUSE = 0.5  # between looks [s]


def _events(request: Request) -> Response:
    return StreamingResponse(_told(request), media_type="text/event-stream")


async def _told(request: Request) -> AsyncIterator[str]:
    desk, work = desk_of(request), request.app.state.work
    before: tuple[object, object] = (None, None)
    quiet = 0
    yield ": the bench page\n\n"
    while not await request.is_disconnected():
        names = list(file_revisions(desk))
        stamps = [budget.stamp(desk.path(name)) for name in names]
        now = (stamps, work.stage)
        quiet += 1
        if now[0] != before[0]:
            with suppress(FlatgenError):
                yield _event("files", json.dumps(file_revisions(desk)))
        if now[1] != before[1]:
            stage = work.stage
            yield _event("work", json.dumps({"what": stage.what, "done": stage.done, "of": stage.of}))
        elif quiet % 20 == 0:
            yield ": still here\n\n"
        before = now
        await asyncio.sleep(PAUSE)


def _event(name: str, data: str) -> str:
    return f"event: {name}\ndata: {data}\n\n"


ROUTES = [Route("/events", _events)]
