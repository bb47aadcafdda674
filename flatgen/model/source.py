"""Where a number comes from."""

from dataclasses import dataclass
from typing import Literal

Trust = Literal["read", "memory", "derived", "common practice", "shop", "assumed"]
TRUST_TEXT: dict[Trust, str] = {
    "read": "read in a copy",
    "memory": "from memory",
    "derived": "derived",
    "common practice": "common practice, no source",
    "shop": "the shop's own",
    "assumed": "assumed, to be confirmed",
}


@dataclass(frozen=True, slots=True)
class Source:
    """A publication and the place in it, or what stands in for one; ``trust`` says how the number was come by."""

    key: str
    title: str
    place: str = ""
    trust: Trust = "read"

    def __str__(self) -> str:
        """Title, place and trust in one phrase, as printed in findings and on drawings."""
        name = f"{self.title}, {self.place}" if self.place else self.title
        return name if self.trust in ("read", "common practice") else f"{name} ({TRUST_TEXT[self.trust]})"


PRACTICE = Source("practice", "common practice, no source", trust="common practice")
DERIVED = Source("derived", "derived from the geometry", trust="derived")
