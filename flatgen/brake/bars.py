"""Nose bars that would make a radius: those on hand, round rods, bars filed or machined, wraps of sheet. Lengths mm."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from flatgen.model.nose import Bar
from flatgen.model.shop import GUESSED_OF_A_NOSE, Brake, Minutes, NoseBar

IN = 25.4
RODS = {"in": tuple(IN * n / 32.0 for n in range(2, 33)), "mm": tuple(0.5 * n for n in range(3, 51))}  # diameters
STEP = {"in": IN / 32.0, "mm": 0.5}  # radii that a bar is filed or machined to
LEAVES = 3  # of one sheet in a wrap, at the most
SAME = 1e-6


def on_hand(brake: Brake) -> tuple[Bar, ...]:
    """Bars that the shop has, those set aside too."""
    return tuple(Bar("on hand", nose.name, nose, nose.radius) for nose in (*brake.noses, *brake.aside))


def to_make(brake: Brake, radii: Iterable[float], sheets: Sequence[float], minutes: Minutes) -> tuple[Bar, ...]:
    """For each radius the rod, the machined bar and the wraps that give it, or the next larger one there is.

    sheets : thicknesses that a wrap may be folded of
    """
    units, found = brake.units, {}
    for radius in radii:
        rod = next((d / 2.0 for d in RODS[units] if d / 2.0 >= radius - SAME), None)
        filed = math.ceil(radius / STEP[units] - SAME) * STEP[units]
        bars = [_new("machined", filed, brake, minutes.bar)]
        bars += [_new("rod", rod, brake, minutes.rod)] if rod is not None else []
        bars += [wrap for one in on_hand(brake) if (wrap := _wrap(one.nose, radius, sheets, brake, minutes.wrap))]
        found.update({(bar.made, bar.name): bar for bar in bars if not _has(brake, bar)})
    return tuple(sorted(found.values(), key=lambda bar: (bar.radius, bar.minutes, bar.name)))


def _has(brake: Brake, bar: Bar) -> bool:
    """Whether a bar or a shoe on hand gives this radius already."""
    if bar.made == "wrap":
        return any(
            abs(bar.wrap - shoe) < 0.01
            for one in on_hand(brake)
            for shoe in one.nose.shoes
            if one.nose.name == bar.nose.name
        )
    return any(abs(bar.radius - one.radius) < 0.01 for one in on_hand(brake))


def _new(made: str, radius: float, brake: Brake, minutes: float) -> Bar:
    name = f"{'rod' if made == 'rod' else 'bar'} R {size_name(radius, brake.units)}"
    nose = NoseBar(name, radius, guessed=tuple(sorted(set(GUESSED_OF_A_NOSE) - {"length"})))
    return Bar("rod" if made == "rod" else "machined", name, nose, radius, minutes)


def _wrap(nose: NoseBar, radius: float, sheets: Sequence[float], brake: Brake, minutes: float) -> Bar | None:
    """The thinnest wrap of one to three leaves of one sheet that brings a bar to a radius."""
    if radius <= nose.radius + SAME:
        return None
    stacks = [(leaves * t, leaves, t) for t in sheets for leaves in range(1, LEAVES + 1)]
    wanted = radius - nose.radius
    fitting = [stack for stack in stacks if wanted - SAME <= stack[0] <= wanted + 0.5 * STEP[brake.units]]
    if not fitting:
        return None
    thick, leaves, sheet = min(fitting)
    one = f"{sheet / IN:.3f} in" if brake.units == "in" else f"{sheet:g} mm"
    name = f"{nose.name} + {f'{leaves} leaves of ' if leaves > 1 else 'wrap '}{one}"
    return Bar("wrap", name, replace(nose, shoes=(*nose.shoes, thick)), nose.radius + thick, minutes, thick)


def size_name(radius: float, units: str) -> str:
    """A radius as it is called in the shop: 5/32, 4 mm.

    >>> size_name(3.96875, "in"), size_name(4.0, "mm")
    ('5/32', '4 mm')
    """
    if units == "mm":
        return f"{radius:g} mm"
    top, bottom = round(radius / IN * 64), 64
    while top % 2 == 0 and bottom > 1:
        top, bottom = top // 2, bottom // 2
    return f"{top}/{bottom}" if bottom > 1 else f"{top}"


def mounted(bars: Sequence[Bar]) -> tuple[NoseBar, ...]:
    """The bars of a choice as a brake has them: a wrap goes over its bar, which is there too."""
    noses: dict[str, NoseBar] = {}
    for bar in bars:
        there = noses.get(bar.nose.name)
        if there is not None:
            shoes = tuple(dict.fromkeys((*there.shoes, *bar.nose.shoes)))
            noses[bar.nose.name] = replace(there, shoes=shoes)
        else:
            noses[bar.nose.name] = bar.nose
    return tuple(noses.values())
