"""What is measured on a part, as printed on the inspection sheet and kept in the book. Lengths mm, angles deg."""

from dataclasses import dataclass
from typing import Literal

Where = Literal["", "left", "middle", "right"]
WHERE: tuple[Where, ...] = ("left", "middle", "right")  # along a bend, seen from the leaf
FAULTS = ("miscut", "misdrilled", "cracked", "bent wrong", "wrong hand", "scratched", "lost")


@dataclass(frozen=True, slots=True)
class Check:
    """One size to measure. ``number`` is how the sheet and the book call it; ``stop`` the stop that sets it, if any.

    An angle is measured along the bend: left, middle and right are entries of their own.
    """

    number: int
    what: str
    kind: Literal["length", "angle"]
    nominal: float
    lower: float
    upper: float
    instrument: str
    stop: str = ""
    bend: str = ""
    leg: tuple[str, ...] = ()  # the face and the bends that the size runs between
    across: tuple[str, ...] = ()  # bends that a blank is measured across before it is bent
    setting: float = 0.0  # of stop [mm] or leaf [deg] by which it is made, 0: none

    @property
    def places(self) -> tuple[Where, ...]:
        """Where along the bend it is measured; nothing but itself for a size taken once."""
        return WHERE if self.kind == "angle" else ("",)


@dataclass(frozen=True, slots=True)
class Checklist:
    """All checks of one part and the pieces to make them on."""

    part: str
    title: str
    drawing: str
    revision: str
    material: str
    thickness: float
    quantity: int
    checks: tuple[Check, ...]
    samples: tuple[int, ...]
    accept: int  # bad pieces among the samples with which the batch is still accepted
    plan: str  # the published plan, its level and its numbers, in words

    def check(self, number: int) -> Check:
        """The check with this number; KeyError when there is none."""
        for check in self.checks:
            if check.number == number:
                return check
        raise KeyError(number)
