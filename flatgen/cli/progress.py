"""A bar for work that takes longer than a second, on a terminal only.

The library that draws it (rich: a bar with a clock that moves on while one long call is running) is loaded only when
that second is over, by the timer that waits for it.
"""

import os
import sys
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar

from flatgen.track import Track, silent

T = TypeVar("T")
DELAY = 1.0


@contextmanager
def progress(quiet: bool = False) -> Iterator[Track]:
    """A tracker for the stages of one job."""
    if quiet or not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
        yield silent
        return
    bar = _Bar()
    try:
        yield bar
    finally:
        bar.close()


class _Bar:
    """Counts at once, shows after a second."""

    def __init__(self) -> None:
        """Start to wait."""
        self.lock = threading.Lock()
        self.shown: Any = None
        self.task: Any = None
        self.stage = ("", 0, 0)  # what, done, of
        self.timer = threading.Timer(DELAY, self._show)
        self.timer.daemon = True
        self.timer.start()

    def __call__(self, items: Sequence[T], what: str, /) -> Iterable[T]:
        """Hand on the items, counting them."""
        for done, item in enumerate(items):
            self._note(what, done, len(items))
            yield item
        self._note(what, len(items), len(items))

    def close(self) -> None:
        """Take the bar away, so that the summary stands alone."""
        self.timer.cancel()
        with self.lock:
            if self.shown is not None:
                self.shown.stop()
                self.shown = None

    def _note(self, what: str, done: int, of: int) -> None:
        with self.lock:
            self.stage = (what, done, of)
            if self.shown is not None:
                self.shown.update(self.task, description=what, completed=done, total=of)

    def _show(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        with self.lock:
            if self.timer.finished.is_set():
                return
            what, done, of = self.stage
            self.shown = Progress(*columns, console=Console(stderr=True), transient=True)
            self.task = self.shown.add_task(what, completed=done, total=of)
            self.shown.start()
