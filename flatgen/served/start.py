"""The bench page begun and ended: a free port of this machine, a token, the address for the browser."""

import asyncio
import secrets
import socket
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import uvicorn
from starlette.types import ASGIApp

from flatgen.errors import FlatgenError
from flatgen.served.app import bench_app
from flatgen.served.files import Desk
from flatgen.served.guard import MOST_INSIDE, Door, Guard, Prompt
from flatgen.served.phone import Phone

LOOPBACK = "127.0.0.1"


def job_file(what: Path) -> Path:
    """The job's file of a name: the file itself, or job.toml in a folder."""
    return (what / "job.toml" if what.is_dir() or not what.suffix else what).absolute()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is served: a job's page on a port of this machine (0: any that is free).

    phone : also the tally and the settings, on this address of the local network; "": not at all
    """

    job: Path
    port: int = 0
    phone: str = ""


@dataclass(frozen=True, slots=True)
class Opened:
    """Where the page answers; ``phone`` tells the address for a phone and the code that pairs one."""

    address: str
    phone: Phone | None


def serve(asked: Asked, opened: Callable[[Opened], None]) -> None:
    """Serve the bench page of a job until Ctrl-C; see :func:`serving`."""
    asyncio.run(serving(asked, opened))


async def serving(asked: Asked, opened: Callable[[Opened], None]) -> None:
    """Serve the bench page of a job; ``opened`` is told where once the page answers.

    Raises FlatgenError where the port is taken.
    """
    asked.job.parent.mkdir(parents=True, exist_ok=True)
    app = bench_app(Desk(asked.job))
    with ExitStack() as sockets:
        own = sockets.enter_context(_listening(LOOPBACK, asked.port))
        number = own.getsockname()[1]
        door = Door(frozenset({f"{LOOPBACK}:{number}", f"localhost:{number}"}), secrets.token_urlsafe(32))
        served: list[tuple[ASGIApp, socket.socket]] = [(Guard(app, door), own)]
        phone = None
        if asked.phone:
            near = sockets.enter_context(_listening(asked.phone, 0))
            phone = app.state.phone = Phone(app, f"{asked.phone}:{near.getsockname()[1]}")
            served.append((phone.guard, near))
        servers = [Quiet(config(one)) for one, _ in served]
        tasks = [asyncio.create_task(s.serve(sockets=[o])) for s, (_, o) in zip(servers, served, strict=True)]
        while not all(server.started for server in servers) and not any(task.done() for task in tasks):
            await asyncio.sleep(0.02)
        opened(Opened(f"http://{LOOPBACK}:{number}/?token={door.token}", phone))
        try:
            await asyncio.gather(*tasks)
        finally:
            app.state.work.close()


def own_address() -> str:
    """This machine's address on the local network; FlatgenError where it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737): nothing is sent
            found = str(probe.getsockname()[0])
        except OSError:
            found = LOOPBACK
    if found.startswith("127."):
        raise FlatgenError("this machine is on no local network, so no phone can reach the page")
    return found


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
        own.listen(MOST_INSIDE)
    except (OSError, OverflowError) as error:
        own.close()
        raise FlatgenError(f"port {port} cannot be used ({error}); leave --port out for one that is free") from None
    return own


def config(app: ASGIApp) -> uvicorn.Config:
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
        timeout_graceful_shutdown=1,
    )
