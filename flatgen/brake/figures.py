"""Figures of a brake that may be too large or too small for a part, and how little a change would let it be made.

A change is tried out: each figure is first made as kind as it gets, and then let come back as far as the part allows,
by halving. Lengths mm, angles deg.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flatgen.brake.bench import Bench
from flatgen.brake.meets import BEAM, BED, LEAF, NOSE
from flatgen.brake.order import makeable
from flatgen.brake.tools import FRAME
from flatgen.model.shop import Brake, NoseBar
from flatgen.said import Text, filled, size

HALVINGS = 5
MOST_TRIALS = 800  # strokes followed in search of a way out
TRAPPED = "trapped"
FARTHEST = 2000.0  # throats are tried up to this depth
HIGHEST = 120.0  # nose bars are tried up to this height
DEEPEST = 90.0  # and feet up to this depth


class Trials:
    """Whether changed brakes make a part; counts the strokes tried, since a part of many bends could take for ever."""

    def __init__(self, bench: Bench, *, fitted: bool = False) -> None:
        """Nothing tried yet; ``fitted``: whatever fingers it takes are there."""
        self.bench, self.fitted = bench, fitted
        self.strokes = 0

    @property
    def over(self) -> bool:
        """Whether enough has been tried."""
        return self.strokes > MOST_TRIALS

    def makes(self, brake: Brake) -> bool:
        """Whether the part can be made on a brake."""
        bench = Bench(self.bench.blank, brake, fitted=self.fitted, known=self.bench.known)
        made = makeable(bench)
        self.strokes += bench.tried
        return made


@dataclass(frozen=True)
class Figure:
    """A figure of the brake or of its nose bars, and the way in which a change of it is kind to a part.

    words : what would do, with places for that value and the present one
    tools : what must be in the way for the change to be worth a trial
    sign : 1 where smaller is kinder, -1 where larger is
    kindest : of a brake or nose bar, the value that no change goes beyond
    shown : a value in words
    """

    key: str
    words: str
    tools: frozenset[str]
    sign: int
    kindest: Callable[[Brake | NoseBar], float]
    of_a_nose: bool = False
    instead: str = ""  # the section that is used in its place, where there is one
    limits_unset: bool = True  # whether it limits something when left out
    shown: Callable[[float], Text] = size

    def _owners(self, brake: Brake, *, guessed: bool) -> list[Brake | NoseBar]:
        owners: list[Brake | NoseBar] = [*brake.noses] if self.of_a_nose else [brake]
        return [
            one
            for one in owners
            if (self.key in one.guessed or not guessed)
            and (self.limits_unset or getattr(one, self.key) is not None)
            and not (self.instead and getattr(one, self.instead) and (guessed or not self.of_a_nose))
        ]

    def now(self, brake: Brake, *, guessed: bool = False) -> float | None:
        """The least kind value that the brake has, of those that are guesses if asked for; None without any."""
        values = [self._value(one) for one in self._owners(brake, guessed=guessed)]
        return self.sign * max(self.sign * value for value in values) if values else None

    def _value(self, one: Brake | NoseBar) -> float:
        value = getattr(one, self.key)
        # a beam of no stated depth is as deep as the nose bar
        return float(value) if value is not None else max(nose.depth for nose in getattr(one, "noses", ()))

    def least(self, brake: Brake, *, guessed: bool = False) -> float:
        """The kindest value for all of them."""
        return self.sign * max(self.sign * self.kindest(one) for one in self._owners(brake, guessed=guessed))

    def changed(self, brake: Brake, value: float, *, guessed: bool = False) -> Brake:
        """The brake with this figure no less kind than a value."""
        owners = self._owners(brake, guessed=guessed)

        def kinder(one: Brake | NoseBar) -> dict[str, Any]:
            return {self.key: self.sign * min(self.sign * self._value(one), self.sign * value)}

        if not self.of_a_nose:
            return replace(brake, **kinder(brake)) if owners else brake
        # a bar that is known by its section gives way to a plain one
        noses = tuple(replace(nose, **kinder(nose), section=()) if nose in owners else nose for nose in brake.noses)
        return replace(brake, noses=noses)


def _narrowest_foot(nose: Brake | NoseBar) -> float:
    assert isinstance(nose, NoseBar)
    return nose.radius + math.fsum(nose.shoes[:1]) + 2.0


FIGURES = (
    Figure(
        "bed_depth",
        "a bed no deeper than {0} behind its edge (now {1}, bed_depth of [[brake]])",
        frozenset({BED}),
        1,
        lambda _: 12.0,
        instead="bed_section",
    ),
    Figure(
        "leaf_land",
        "a leaf no wider than {0} (now {1}, leaf_land of [[brake]])",
        frozenset({LEAF}),
        1,
        lambda _: 5.0,
        instead="leaf_section",
    ),
    Figure(
        "depth",
        "a nose bar with a foot no deeper than {0} (now {1}, depth of [[brake.nose]])",
        frozenset({NOSE, BEAM}),
        1,
        _narrowest_foot,
        of_a_nose=True,
        instead="section",
    ),
    Figure(
        "height",
        "a nose bar at least {0} high under the beam (now {1}, height of [[brake.nose]])",
        frozenset({BEAM}),
        -1,
        lambda _: HIGHEST,
        of_a_nose=True,
        instead="section",
    ),
    Figure(
        "beam_depth",
        "a beam no deeper than {0} from the nose tip (now {1}, beam_depth of [[brake]])",
        frozenset({BEAM}),
        1,
        lambda _: 5.0,
        instead="beam_section",
    ),
    Figure(
        "largest_opening",
        "a nose that lifts at least {0} (now {1}, largest_opening of [[brake]])",
        frozenset({BEAM, TRAPPED}),
        -1,
        lambda _: HIGHEST,
    ),
    Figure(
        "leaf_depth",
        "a leaf no higher than {0} (now {1}, leaf_depth of [[brake]])",
        frozenset({LEAF}),
        1,
        lambda _: 12.0,
        instead="leaf_section",
    ),
    Figure(
        "bed_height",
        "a bed no higher than {0} (now {1}, bed_height of [[brake]])",
        frozenset({BED}),
        1,
        lambda _: 12.0,
        instead="bed_section",
    ),
    Figure(
        "front_angle",
        "a front face of the nose bar at no more than {0} from the bed (now {1}, front_angle of [[brake.nose]])",
        frozenset({NOSE, BEAM}),
        1,
        lambda _: 25.0,
        of_a_nose=True,
        instead="section",
        shown="{:.0f}°".format,
    ),
    Figure(
        "throat",
        "a throat at least {0} deep (now {1}, throat of [[brake]])",
        frozenset({FRAME}),
        -1,
        lambda _: FARTHEST,
        limits_unset=False,
    ),
)
# the body of a bar whose foot is deep stands farther back, out of the way of a bend that is closed far
DEEPER = Figure(
    "depth",
    "a nose bar with a foot at least {0} deep, its body far behind the tip (now {1}, depth of [[brake.nose]])",
    frozenset({NOSE, BEAM}),
    -1,
    lambda _: DEEPEST,
    of_a_nose=True,
    instead="section",
)


EVERY_TOOL = frozenset().union(*(one.tools for one in FIGURES))


def worth_trying(brake: Brake, in_the_way: frozenset[str], *, guessed: bool = False) -> list[Figure]:
    """Figures that are in the way and can be kinder than they are, of those that are guesses if asked for."""
    found = []
    for one in (*FIGURES, DEEPER):
        now = one.now(brake, guessed=guessed)
        if now is not None and in_the_way & one.tools and one.sign * (now - one.least(brake, guessed=guessed)) > 1e-6:
            found.append(one)
    return found


def kindest(brake: Brake, figures: Sequence[Figure]) -> tuple[Brake, list[Text]]:
    """The brake with the guesses among these figures as kind as they get, and that in words."""
    changed = brake
    words: list[Text] = []
    for one in figures:
        now, least = one.now(brake, guessed=True), one.least(brake, guessed=True)
        assert now is not None
        changed = one.changed(changed, least, guessed=True)
        words.append(filled(one.words, one.shown(least), one.shown(now)))
    return changed, words


def smallest_change(
    brake: Brake, figures: Sequence[Figure], trials: Trials, *, guessed: bool = False
) -> tuple[list[Text], Brake] | None:
    """Which of these figures must be kinder, and by how little, with the brake so changed; None when none would do."""
    values = {one: one.least(brake, guessed=guessed) for one in figures}

    def with_values(chosen: dict[Figure, float]) -> Brake:
        tried = brake
        for one, value in chosen.items():
            tried = one.changed(tried, value, guessed=guessed)
        return tried

    def goes(one: Figure, value: float) -> bool:
        return trials.makes(with_values({**values, one: value}))

    if not figures or trials.over or not goes(figures[0], values[figures[0]]):
        return None
    words: list[Text] = []
    for one in figures:
        now = one.now(brake, guessed=guessed)
        assert now is not None
        if not trials.over and goes(one, now):
            values[one] = now
            continue
        kind, other = values[one], now
        for _ in range(HALVINGS):
            if trials.over:
                break
            middle = 0.5 * (kind + other)
            kind, other = (middle, other) if goes(one, middle) else (kind, middle)
        values[one] = kind
        words.append(filled(one.words, one.shown(kind), one.shown(now)))
    if trials.over and len(words) == len(figures) > 1 and not guessed:
        return None  # a figure that could not be tried at what it is now may be named without need
    return words, with_values(values)
