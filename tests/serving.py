"""A bench page that is served in this process, on a free port, for a copy of the first clips."""

import asyncio
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import pytest

from flatgen.served import start
from flatgen.served.phone import Phone


@dataclass
class Served:
    """Where the page is, and its job's folder."""

    address: str
    folder: Path
    phone: Phone | None = None

    @property
    def origin(self) -> str:
        return self.address.partition("/?")[0]

    @property
    def port(self) -> int:
        return int(self.origin.rpartition(":")[2])

    @property
    def token(self) -> str:
        return self.address.rpartition("=")[2]


@pytest.fixture(scope="session")
def serving() -> Iterator[Callable[[Path], Served]]:
    """Serve a job's page; every one ends with the tests."""
    ends: list[Callable[[], None]] = []

    def serve(job: Path, phone: str = "") -> Served:
        told: list[start.Opened] = []
        ready = threading.Event()
        running: list[tuple[asyncio.AbstractEventLoop, asyncio.Task[None]]] = []

        def opened(at: start.Opened) -> None:
            told.append(at)
            ready.set()

        async def main() -> None:
            task = asyncio.ensure_future(start.serving(start.Asked(job, 0, phone), opened))
            running.append((asyncio.get_running_loop(), task))
            with suppress(asyncio.CancelledError):
                await task

        thread = threading.Thread(target=lambda: asyncio.run(main()), daemon=True)
        thread.start()
        assert ready.wait(20)

        def end() -> None:
            loop, task = running[0]
            loop.call_soon_threadsafe(task.cancel)
            thread.join(5)

        ends.append(end)
        return Served(told[0].address, job.parent, told[0].phone)

    yield serve
    for end in ends:
        end()


@pytest.fixture
def clips(tmp_path: Path, root: Path, serving: Callable[[Path], Served]) -> Served:
    shutil.copytree(root / "examples" / "first-clips", tmp_path / "job")
    return serving(tmp_path / "job" / "job.toml")
