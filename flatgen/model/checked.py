"""Bars that the check sheet was done with, as the shop's book has it, and those that it is asked for again."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from flatgen.model.plan import Setup
from flatgen.model.shop import Brake, NoseBar

Figures = tuple[float, ...]  # of a bar: one that was filed, shortened or given a shoe is another


@dataclass(frozen=True, slots=True)
class Checked:
    """The newest check with a bar. ``since`` : the bar that was checked on this brake after it; empty: none."""

    brake: str
    nose: str
    day: str
    square: bool
    figures: Figures
    since: str = ""

    def changed(self, nose: NoseBar) -> str:
        """Why it does not count any more, in words; empty where it does."""
        if self.since:
            return f"{self.since} was fitted since {self.day}"
        other = bool(self.figures) and self.figures != figures(nose)
        return f"the figures of {self.nose} were changed since {self.day}" if other else ""


def figures(nose: NoseBar) -> Figures:
    """What tells a bar from itself as it was."""
    return tuple(round(one, 4) for one in (nose.radius, nose.length or 0.0, nose.front_angle, *nose.shoes))


def to_check(brakes: Iterable[Brake], checked: Sequence[Checked], setups: Iterable[Setup]) -> Iterator[str]:
    """Sentences for the bars with which the brake is still to be checked, or again, by their reason."""
    bars = {(brake.name, nose.name): nose for brake in brakes for nose in brake.noses}
    known = {(one.brake, one.nose): one for one in checked}
    asked: dict[tuple[str, str], list[str]] = {}
    for key in dict.fromkeys((setup.brake, setup.bar) for setup in setups if setup.stop_side != "squeeze"):
        one, nose = known.get(key), bars.get(key)
        if nose is None:
            continue
        why = "not done yet" if one is None else one.changed(nose)
        if one is not None and not why and not one.square:
            why = f"not yet square on {one.day}"
        if why:
            asked.setdefault((key[0], why), []).append(key[1])
    for (brake, why), noses in asked.items():
        yield f"Do the check sheet of {brake} with {', '.join(noses)} first (flatgen brake check): {why}"
