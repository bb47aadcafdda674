"""What the commands print: results to standard output, findings and errors to standard error."""

import functools
import json
import sys
from collections.abc import Callable, Sequence
from typing import Any, ParamSpec, TypeVar

import click

from flatgen.errors import FlatgenError

P = ParamSpec("P")
T = TypeVar("T")


def guarded(function: Callable[P, T]) -> Callable[P, T]:
    """Turn our own errors into one clean sentence and their exit status; the work is left whole on Ctrl-C."""

    @functools.wraps(function)
    def wrapper(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return function(*args, **kwargs)
        except FlatgenError as error:
            click.echo(f"flatgen: {error}", err=True)
            sys.exit(error.exit_status)
        except OSError as error:
            name = f"{error.filename}: " if error.filename else ""
            click.echo(f"flatgen: {name}{error.strerror or error}", err=True)
            sys.exit(1)
        except KeyboardInterrupt:
            click.echo("flatgen: stopped; what was there before is whole", err=True)
            sys.exit(1)

    return wrapper


def as_json(value: Any) -> None:
    """Print a value as JSON on standard output."""
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def table(rows: Sequence[tuple[str, ...]], heads: tuple[str, ...], right: tuple[int, ...] = ()) -> str:
    """Rows in aligned columns under their heads; the columns named in ``right`` are set to the right."""
    widths = [max(len(row[k]) for row in [heads, *rows]) for k in range(len(heads))]

    def line(cells: tuple[str, ...]) -> str:
        out = [c.rjust(w) if k in right else c.ljust(w) for k, (c, w) in enumerate(zip(cells, widths, strict=True))]
        return "  ".join(out).rstrip()

    return "\n".join([line(heads), line(tuple("-" * w for w in widths)), *(line(row) for row in rows)])
