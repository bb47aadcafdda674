"""Choices of nose bars for a job: what each bar is, what a choice covers and what it costs. Lengths mm, minutes."""

import math
from dataclasses import dataclass
from typing import Literal

from flatgen.model.finding import Finding
from flatgen.model.shop import NoseBar

Made = Literal["on hand", "rod", "machined", "wrap"]


@dataclass(frozen=True, slots=True)
class Bar:
    """One thing to bend over: a bar on hand with its shoes, a round rod let in, a bar to make, a wrap over a bar.

    nose : as it would stand in the shop's file; of a wrap, the bar on hand with this shoe added
    """

    made: Made
    name: str
    nose: NoseBar
    radius: float
    minutes: float = 0.0
    wrap: float = 0.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What the bends of one metal ask for: radii on the drawing, and the least by each table (None: advises against).

    bends : bends of the job, counted over the pieces wanted
    """

    material: str
    thickness: float
    drawn: tuple[float, ...]
    tables: tuple[tuple[str, float | None], ...]
    bends: int


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice of bars with what comes of it.

    met : table -> bends whose radius it allows, and bends that it speaks of
    proved, unproved, below : bends that every table allows; that only some do (coupons and a look for cracks); none
    stopped : pieces that a finding forbids; ``findings`` : all of them, by the rules that a nose bar bears on
    price : part -> what a radius larger than the drawing's costs it, in words
    pull : greatest at the handle [N]; ``setback`` : least and greatest of the bare bars
    costs : reason -> minutes
    """

    bars: tuple[Bar, ...]
    met: tuple[tuple[str, int, int], ...]
    proved: int
    unproved: int
    below: int
    stopped: int
    decisions: int
    coupons: int
    changes: int
    findings: tuple[Finding, ...]
    pull: float
    setback: tuple[float, float] | None
    costs: tuple[tuple[str, float], ...]

    @property
    def minutes(self) -> float:
        """All that it costs."""
        return math.fsum(minutes for _, minutes in self.costs)
