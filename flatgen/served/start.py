"""The bench page begun and ended: a free port of this machine, a token, the address for the browser."""

import asyncio
import secrets
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from flatgen.errors import FlatgenError
from flatgen.served.app import bench_app
from flatgen.served.files import Desk
from flatgen.served.guard import Door, Guard, Prompt

LOOPBACK = "127.0.0.1"
MOST_AT_ONCE = 64  # connections


def job_file(what: Path) -> Path:
    """The job's file of a name: the file itself, or job.toml in a folder."""
    return (what / "job.toml" if what.is_dir() or not what.suffix else what).absolute()


def serve(job: Path, port: int, opened: Callable[[str], None]) -> None:
    """Serve the bench page of a job until Ctrl-C; see :func:`serving`."""
    asyncio.run(serving(job, port, opened))


async def serving(job: Path, port: int, opened: Callable[[str], None]) -> None:
    """Serve the bench page of a job.

    port : 0 for any that is free
    opened : told the address once the page answers

    Raises FlatgenError where the port is taken.
    """
    job.parent.mkdir(parents=True, exist_ok=True)
    with _listening(LOOPBACK, port) as own:
        number = own.getsockname()[1]
        door = Door(frozenset({f"{LOOPBACK}:{number}", f"localhost:{number}"}), secrets.token_urlsafe(32))
        server = Quiet(config(bench_app(Desk(job), door)))
        task = asyncio.create_task(server.serve(sockets=[own]))
        while not (server.started or task.done()):
            await asyncio.sleep(0.02)
        opened(f"http://{LOOPBACK}:{number}/?token={door.token}")
        await task


class Quiet(uvicorn.Server):
    """A server that leaves Ctrl-C to whoever began it."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Capture nothing."""
        yield


def _listening(host: str, port: int) -> socket.socket:
    own = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    own.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        own.bind((host, port))
        own.listen(MOST_AT_ONCE)
    except (OSError, OverflowError) as error:
        own.close()
        raise FlatgenError(f"port {port} cannot be used ({error}); leave --port out for one that is free") from None
    return own


def config(app: Guard) -> uvicorn.Config:
    """How uvicorn serves an app of ours: quietly, with no word about itself, ending at once."""
    return uvicorn.Config(
        app,
        http=Prompt,
        ws="none",
        lifespan="off",
        log_level="critical",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        limit_concurrency=MOST_AT_ONCE,
        timeout_graceful_shutdown=1,
    )
