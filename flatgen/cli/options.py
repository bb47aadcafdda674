"""Arguments and options that several commands share, so that each means the same everywhere."""

import functools
from collections.abc import Callable
from dataclasses import field, fields
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

IN_MM = click.Choice(["in", "mm"])
FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, file_okay=False)
JOB = click.argument("job", type=click.Path(path_type=Path))
UNITS = click.option("--units", type=IN_MM, help="Units of the answer; the job's by default.")
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


def ask(*names: Any, **how: Any) -> Any:
    """A field of a form: an option of click's by its names and what click takes with them, or a shared one."""
    return field(metadata={"names": names, "how": how})


def form(kind: type[Any]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Hand a command all that it is asked as one value: a dataclass whose fields ``ask``."""
    own = fields(kind)

    def decorate(function: Callable[..., None]) -> Callable[..., None]:
        @functools.wraps(function)
        def wrapper(**given: Any) -> None:
            function(kind(**{one.name: given.pop(one.name) for one in own}), **given)

        for one in reversed(own):
            names = one.metadata["names"]
            shared = callable(names[0])
            wrapper = (names[0] if shared else click.option(*names, one.name, **one.metadata["how"]))(wrapper)
        return wrapper

    return decorate
