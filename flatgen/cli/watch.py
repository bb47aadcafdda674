"""Make again whenever a file of the job is saved."""

import time
from collections.abc import Callable
from pathlib import Path

import click

from flatgen import budget
from flatgen.cli.say import complain
from flatgen.errors import FlatgenError

PAUSE = 0.5  # between looks [s]
SUFFIXES = (".toml", ".csv")


def again_and_again(job: Path, out: Path, once: Callable[[], object]) -> None:
    """Run ``once`` now and after each change, until Ctrl-C; an error is said and the next saving waited for."""
    while True:
        before = _state(job, out)
        try:
            once()
        except FlatgenError as error:
            complain(error)
        click.echo(f"Watching the files of {job.parent}; Ctrl-C ends.", err=True)
        try:
            _wait(job, out, before)
        except KeyboardInterrupt:
            return


def _wait(job: Path, out: Path, before: dict[Path, tuple[int, int]]) -> None:
    """Until something was saved, and the folder has then been still for one pause: editors may write in steps."""
    while _state(job, out) == before:
        time.sleep(PAUSE)
    while True:
        now = _state(job, out)
        time.sleep(PAUSE)
        if _state(job, out) == now:
            return


def _state(job: Path, out: Path) -> dict[Path, tuple[int, int]]:
    """Time and size of every description in the job's folder and of its shop file, wherever that lies."""
    own, away = job.parent.resolve(), out.resolve()
    files = {path for suffix in SUFFIXES for path in own.rglob(f"*{suffix}") if away not in path.resolve().parents}
    files.add(_shop_of(job))
    found = {}
    for path in files:
        try:
            about = path.stat()
        except OSError:
            continue
        found[path] = (about.st_mtime_ns, about.st_size)
    return found


def _shop_of(job: Path) -> Path:
    """The shop file that the job names, as far as it can be read."""
    import tomllib

    try:
        name = tomllib.loads(budget.text(job)).get("shop", "shop.toml")
    except (ValueError, RecursionError):  # also what is no plain file
        name = "shop.toml"
    return job.parent / str(name)
