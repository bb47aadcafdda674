"""A plugin of pytest that notes which lines of the package each test runs: ``pytest -p covered``, from Python 3.12 on.

``COVERED`` names the folder for the notes, one file a process. What tests share (``making.once``) is noted alone and
counts for each that asks for it, since in a run by itself each would have to make it.
"""

import os
import pickle
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import making
import pytest

PACKAGE = str(Path(__file__).resolve().parents[2] / "flatgen") + os.sep
TOOL = 1  # ``sys.monitoring.COVERAGE_ID``


@dataclass
class Ran:
    """Lines that ran, a bit a line for each file; seconds of processor; names of what was shared."""

    lines: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    seconds: float = 0.0
    shared: set[str] = field(default_factory=set)


notes: dict[str, Ran] = {}
open_notes = [Ran()]  # the last one is written on; the first takes what runs outside of tests


def line_ran(code: Any, line: int) -> Any:
    """Note a line once, until ``restart_events``."""
    if code.co_filename.startswith(PACKAGE):
        open_notes[-1].lines[code.co_filename[len(PACKAGE) :]] |= 1 << line
    return sys.monitoring.DISABLE


def noted(name: str, work: Callable[[], Any]) -> Any:
    """Do ``work``, and note under ``name`` what ran."""
    ran, begun = Ran(), time.process_time()
    open_notes.append(ran)
    sys.monitoring.restart_events()
    try:
        return work()
    finally:
        open_notes.pop()
        ran.seconds = time.process_time() - begun
        notes[name] = ran
        open_notes[-1].seconds -= ran.seconds
        sys.monitoring.restart_events()


make_once = making.once


@pytest.hookimpl(tryfirst=True)
def pytest_load_initial_conftests() -> None:
    """Before any module of the tests takes ``once`` from ``making``."""
    making.once = once
    sys.monitoring.use_tool_id(TOOL, "covered")
    sys.monitoring.register_callback(TOOL, sys.monitoring.events.LINE, line_ran)
    sys.monitoring.set_events(TOOL, sys.monitoring.events.LINE)


def once(factory: Any, name: str, build: Callable[[Path], Any]) -> Any:
    """``making.once``, which notes who asks and, apart from that, what making it runs."""
    open_notes[-1].shared.add(f"shared {name}")
    return make_once(factory, name, lambda folder: noted(f"shared {name}", lambda: build(folder)))


def pytest_unconfigure() -> None:
    sys.monitoring.set_events(TOOL, 0)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Each test's own note."""
    ran, begun = Ran(), time.process_time()
    open_notes.append(ran)
    sys.monitoring.restart_events()
    try:
        return (yield)
    finally:
        open_notes.pop()
        ran.seconds += time.process_time() - begun
        notes[item.nodeid] = ran


def pytest_sessionfinish() -> None:
    file = Path(os.environ["COVERED"]) / f"{os.getpid()}.pickle"
    plain = {name: (dict(ran.lines), ran.seconds, ran.shared) for name, ran in notes.items()}
    file.write_bytes(pickle.dumps(plain))
