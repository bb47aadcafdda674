"""What the commands print: results to standard output, findings and errors to standard error.

Colour only where a person reads it on a terminal and NO_COLOR is not set, and never as the only sign. Lines are folded
to the terminal's width; into a pipe every row goes whole, on a line of its own.
"""

import contextlib
import functools
import json
import os
import shutil
import sys
import textwrap
import warnings
from collections.abc import Callable, Iterator, Sequence
from typing import Any, ParamSpec, TextIO, TypeVar

import click

from flatgen.errors import FlatgenError, LettersMissing, NoBackup

P = ParamSpec("P")
T = TypeVar("T")
LEAST_WIDTH, MOST_WIDTH = 40, 120
TRACEBACK = "FLATGEN_TRACEBACK"  # set to let our own mistakes show where they are


def guarded(function: Callable[P, T]) -> Callable[P, T]:
    """Turn errors into one clean sentence and their exit status; the work is left whole on Ctrl-C."""

    @functools.wraps(function)
    def wrapper(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            with _warnings_told():
                return function(*args, **kwargs)
        except FlatgenError as error:
            complain(error)
            sys.exit(error.exit_status)
        except BrokenPipeError:  # the reader of a pipe has seen enough
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(1)
        except OSError as error:
            name = f"{error.filename}: " if error.filename else ""
            click.echo(f"flatgen: {name}{error.strerror or error}", err=True)
            sys.exit(1)
        except (KeyboardInterrupt, click.Abort):
            click.echo("flatgen: stopped; what was there before is whole", err=True)
            sys.exit(1)
        except (click.ClickException, click.exceptions.Exit):
            raise
        except Exception as error:
            if os.environ.get(TRACEBACK):
                raise
            what = harmless(f"{type(error).__name__}: {error}")
            click.echo(f"flatgen: a mistake of flatgen's own, not of yours ({what}).", err=True)
            click.echo(f"Nothing was left half written. {TRACEBACK}=1 shows where it was; please report it.", err=True)
            sys.exit(1)

    return wrapper


@contextlib.contextmanager
def _warnings_told() -> Iterator[None]:
    """At the end one note for all letters that pages had to leave out, and of a book without its copy of the day."""
    left_out: dict[str, None] = {}
    with warnings.catch_warnings():
        others = warnings.showwarning
        warnings.simplefilter("always", LettersMissing)
        warnings.simplefilter("always", NoBackup)

        def show(message: Warning | str, *more: Any, **other: Any) -> None:
            if isinstance(message, LettersMissing):
                left_out.update(dict.fromkeys(message.letters))
            elif isinstance(message, NoBackup):
                said = f"no copy of the shop's book was kept today: {message}. The entry was made all the same"
                click.echo(folded(said, sys.stderr, "note    "), err=True)
            else:
                others(message, *more, **other)

        warnings.showwarning = show
        try:
            yield
        finally:
            if left_out:
                click.echo(folded(str(LettersMissing("".join(left_out))), sys.stderr, "note    "), err=True)


CONTROLS = dict.fromkeys((*range(9), *range(11, 32), *range(127, 160)), "\ufffd")


def harmless(text: str) -> str:
    """Text from a file without the characters that would steer the terminal."""
    return text.translate(CONTROLS)


def complain(error: FlatgenError) -> None:
    """Print an error as the person should read it."""
    click.echo(f"{styled('flatgen:', sys.stderr, fg='red', bold=True)} {harmless(str(error))}", err=True)


def as_json(value: Any) -> None:
    """Print a value as JSON on standard output."""
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def reads_a_person(stream: TextIO) -> bool:
    """Whether a stream ends at a terminal."""
    return stream.isatty()


def styled(text: str, stream: TextIO, **style: Any) -> str:
    """The text with colour or weight, where a stream may have it."""
    plain = not reads_a_person(stream) or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return text if plain else click.style(text, **style)


def width_of(stream: TextIO) -> int | None:
    """Columns to fold to; None in a pipe."""
    if not reads_a_person(stream):
        return None
    return max(LEAST_WIDTH, min(MOST_WIDTH, shutil.get_terminal_size().columns))


def folded(text: str, stream: TextIO, head: str = "") -> str:
    """Text under a hanging head, folded where a person reads it; the head's width is that of its plain letters."""
    plain, text = click.unstyle(head), harmless(text)
    width = width_of(stream)
    if width is None:
        return head + text
    lines = textwrap.wrap(text, max(20, width - len(plain)), break_on_hyphens=False) or [""]
    return head + ("\n" + " " * len(plain)).join(lines)


def table(rows: Sequence[tuple[str, ...]], heads: tuple[str, ...], right: tuple[int, ...] = ()) -> str:
    """Rows in aligned columns under their heads; the columns named in ``right`` are set to the right.

    On a terminal the widest column that is set to the left is folded until the table fits.
    """
    rows = [tuple(harmless(cell) for cell in row) for row in rows]
    widths = [max(len(row[k]) for row in [heads, *rows]) for k in range(len(heads))]
    room = width_of(sys.stdout)
    if room is not None:
        _narrow(widths, room, right)

    def line(cells: tuple[str, ...]) -> str:
        split = [_split(cell, width) for cell, width in zip(cells, widths, strict=True)]
        lines = []
        for n in range(max(len(part) for part in split)):
            out = []
            for k, (part, w) in enumerate(zip(split, widths, strict=True)):
                cell = part[n] if n < len(part) else ""
                out.append(cell.rjust(w) if k in right else cell.ljust(w))
            lines.append("  ".join(out).rstrip())
        return "\n".join(lines)

    return "\n".join([line(heads), line(tuple("-" * w for w in widths)), *(line(row) for row in rows)])


def _split(cell: str, width: int) -> list[str]:
    return [cell] if len(cell) <= width else textwrap.wrap(cell, width, break_on_hyphens=False)


def _narrow(widths: list[int], room: int, right: tuple[int, ...]) -> None:
    """Take from the widest column until all fit, numbers last."""
    while sum(widths) + 2 * (len(widths) - 1) > room:
        words = [k for k in range(len(widths)) if k not in right and widths[k] > 8]
        if not words:
            return
        widths[max(words, key=lambda k: widths[k])] -= 1
