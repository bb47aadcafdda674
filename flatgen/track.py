"""How long work says how far it is: the stages call ``track``, and whoever started them decides what shows."""

from collections.abc import Iterable, Sequence
from typing import Protocol, TypeVar

T = TypeVar("T")


class Track(Protocol):
    """Hands on the items of one stage as they are taken up."""

    def __call__(self, items: Sequence[T], what: str, /) -> Iterable[T]:
        """The same items; ``what`` names the stage in a word or two."""


def silent(items: Sequence[T], what: str, /) -> Iterable[T]:
    """Show nothing."""
    return items
