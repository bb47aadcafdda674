"""Arguments and options that several commands share, so that each means the same everywhere."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

JOB = click.argument("job", type=click.Path(path_type=Path))
UNITS = click.option("--units", type=click.Choice(["in", "mm"]), help="Units of the answer; the job's by default.")
QUIET = click.option("--quiet", is_flag=True, help="Print nothing but errors.")
EFFORT = click.option(
    "--effort", type=click.FloatRange(0, 3600), help="Seconds to search for better nests of each alloy."
)

INTO = click.option(
    "--into",
    is_flag=True,
    help="Allow a folder that holds other files: new ones are put beside them, none is replaced.",
)


def json_option(what: str) -> Callable[[F], F]:
    """``--json``: print ``what`` for other programs."""
    return click.option("--json", "json_wanted", is_flag=True, help=f"Print {what} as JSON.")
