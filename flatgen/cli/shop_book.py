"""Where the commands find the shop's book and in which units they speak: from --book, --shop, or shop.toml here."""

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from flatgen.cli.options import FILE, IN_MM
from flatgen.jobs.shop_place import Place, job_place, place

__all__ = ["FILE", "Place", "at_the_book", "book_options", "job_place", "place"]

F = TypeVar("F", bound=Callable[..., Any])


def book_options(function: F) -> F:
    """--shop, --book and --units."""
    for option in (
        click.option("--units", type=IN_MM, help="Units to read bare numbers in and to print."),
        click.option("--book", type=FILE, help="The shop's book; the one of the shop file by default."),
        click.option("--shop", type=FILE, help="Shop file; shop.toml here by default."),
    ):
        function = option(function)
    return function


def at_the_book(function: Callable[..., None]) -> Callable[..., None]:
    """--shop, --book and --units as one ``at``; goes under ``guarded``, which tells of what is wrong with them."""

    @functools.wraps(function)
    def wrapper(*args: Any, shop: Path | None, book: Path | None, units: str | None, **more: Any) -> None:
        function(*args, at=place(shop, book, units), **more)

    return book_options(wrapper)
