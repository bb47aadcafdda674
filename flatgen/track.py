"""How long work says how far it is: the stages call ``track``, and whoever started them decides what shows."""

from collections.abc import Callable, Iterable, Sequence
from typing import Protocol, TypeVar

T = TypeVar("T")


class Track(Protocol):
    """Hands on the items of one stage as they are taken up."""

    def __call__(self, items: Sequence[T], what: str, /) -> Iterable[T]:
        """The same items; ``what`` names the stage in a word or two."""


def silent(items: Sequence[T], what: str, /) -> Iterable[T]:
    """Show nothing."""
    return items


def by_share(track: Track, what: str) -> Callable[[float, str], None]:
    """For work that tells its share (0 to 1) instead of handing out items: a stage of a hundred steps."""
    steps = iter(track(range(100), what))
    taken = 0

    def tell(share: float, _words: str = "") -> None:
        nonlocal taken
        while taken <= 100 and taken <= 100.0 * share:
            next(steps, None)
            taken += 1

    return tell
