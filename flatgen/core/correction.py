"""What to change now, from measured pieces: stop or over-bend by so much, or nothing, with the reasoning.

``advise`` looks at one dimension over the pieces in their order. It does not chase noise: a setting that follows every
piece makes the spread larger (by the square root of two when each deviation is taken back in full). Lengths mm, angles
deg.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from flatgen.core.stats import (
    Capability,
    ControlLimits,
    Drift,
    Estimate,
    capability,
    control_limits,
    drift,
    estimate,
    no_finer,
    outliers,
    signals,
)

Kind = Literal["length", "angle"]
Say = Callable[[Kind, float], str]  # a deviation in words, with sign and unit
Action = Literal[
    "measure more",
    "measure the odd piece again",
    "leave",
    "find the cause",
    "move the stop",
    "change the over-bend",
    "change the blank",
    "cut to the printed size",
    "change the deduction",
]
Left = Literal["blank", "cut", "deduction"]
LEAST_VALUES = 3
DRIFT_CONFIDENCE = 0.99  # a drift stops the work, so it has to be surer than a shift
FINEST = {"length": 0.05, "angle": 0.25}  # what stop and leaf can be set to; common practice, no source [mm, deg]
STEP = {"length": 0.0254, "angle": 0.25}  # of caliper and protractor: .001 in, a quarter of a degree [mm, deg]
USUAL_SPRINGBACK = 0.96  # released over leaf angle where no coupon tells; from memory


def plainly(kind: Kind, value: float) -> str:
    """A deviation in mm or deg.

    >>> plainly("length", -0.05)
    '-0.050 mm'
    """
    return f"{value:+.3f} mm" if kind == "length" else f"{value:+.2f}°"


@dataclass(frozen=True, slots=True)
class Series:
    """One dimension or one setting over measured pieces, in order; deviations are from nominal.

    on_stop : it is how far this stop is off (its label); empty, of a length: what ``left`` says is left
    left : what blank and deduction leave together; or, of blanks measured before bending, one of the two
    """

    kind: Kind
    lower: float  # limits as deviations
    upper: float
    places: tuple[float, ...]  # number of each piece in the batch
    deviations: tuple[float, ...]
    on_stop: str = ""
    left: Left = "blank"


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do: ``amount`` is to be added to the setting, ± ``half_width`` at 95 %; the reasons in words.

    effect : what that adds to the angle or length that the setting makes
    """

    action: Action
    amount: float
    half_width: float
    reasons: tuple[str, ...]
    effect: float = 0.0


@dataclass(frozen=True, slots=True)
class SeriesReport:
    """All that is said about one dimension, in deviations from nominal."""

    mean: Estimate
    limits: ControlLimits | None
    signs: tuple[str, ...]
    slope: Drift | None
    capability: Capability | None
    odd: tuple[int, ...]
    outside: int


def report(series: Series) -> SeriesReport:
    """Mean, spread, control limits, drift and capability for one dimension."""
    values = series.deviations
    return SeriesReport(
        mean=estimate(values),
        limits=control_limits(values),
        signs=signals(values),
        slope=drift(series.places, values, DRIFT_CONFIDENCE),
        capability=capability(values, series.lower, series.upper),
        odd=outliers(values, resolution=STEP[series.kind]),
        outside=sum(not series.lower <= v <= series.upper for v in values),
    )


def advise(series: Series, springback_ratio: float | None = None, say: Say = plainly) -> Advice:
    """The correction to make now for one dimension, and why.

    springback_ratio : of the bend (released over leaf angle), by which a deviation in angle becomes one of the leaf

    All values count. Where odd ones alone decide what is to be done, the advice is to measure those pieces again.
    """
    values = series.deviations
    if len(values) < LEAST_VALUES:
        missing = LEAST_VALUES - len(values)
        reason = f"{len(values)} measured; {missing} more before a setting is touched: one piece does not tell a shift"
        return Advice("measure more", 0.0, 0.0, (reason,))
    whole = _decide(series, springback_ratio or USUAL_SPRINGBACK, say)
    odd = outliers(values, resolution=STEP[series.kind])
    kept = [k for k in range(len(values)) if k not in odd]
    if not odd or len(kept) < LEAST_VALUES:
        return whole
    rest = replace(series, places=tuple(series.places[k] for k in kept), deviations=tuple(values[k] for k in kept))
    without = _decide(rest, springback_ratio or USUAL_SPRINGBACK, say)
    pieces = ", ".join(f"{series.places[k]:g}" for k in odd)
    told = say(series.kind, estimate(rest.deviations).mean)
    note = f"odd value at piece {pieces}, which counts in; without it the mean deviation is {told}"
    if without.action == whole.action:
        return replace(whole, reasons=(*whole.reasons, note))
    advice = f"it alone decides: with it, {whole.action}; without it, {without.action}"
    return Advice("measure the odd piece again", 0.0, 0.0, (whole.reasons[0], note, advice))


def _decide(series: Series, ratio: float, say: Say) -> Advice:
    """What three values or more ask for, taken as they are."""
    values = series.deviations

    def told(value: float) -> str:
        return say(series.kind, value)

    mean = no_finer(estimate(values), STEP[series.kind] / math.sqrt(12.0))
    slope = drift(series.places, values, DRIFT_CONFIDENCE)
    reasons = [f"mean deviation {told(mean.mean)}, known to ± {told(mean.half_width)[1:]} at 95 % (n = {mean.count})"]
    off, half = mean.mean, mean.half_width
    drifting = False
    if slope is not None and slope.real:
        drifting = abs(slope.slope) * (max(series.places) - min(series.places)) > 2.0 * FINEST[series.kind]
    if drifting and slope is not None:
        off = slope.start + slope.slope * series.places[-1]
        reasons.append(
            f"it drifts by {told(10 * slope.slope)} in ten pieces (99 %: {told(10 * slope.low)} to "
            f"{told(10 * slope.high)}) and stands at {told(off)} now. Before going on look for a loose "
            "clamp or stop screw, chips under the stop, a new sheet"
        )
    wide = _wide(series)
    still: Action = "find the cause" if wide else "leave"
    if not (drifting or mean.low > 0.0 or mean.high < 0.0):
        reasons.append("the interval holds zero: a correction would chase noise and widen the spread")
        return Advice(still, 0.0, 0.0, (*reasons, *wide))
    action, amount, half, why = _setting(series, off, half, ratio)
    step = FINEST[series.kind]
    if abs(amount) < step / 2.0:
        reasons.append(f"real, but finer than the setting can be made ({told(step)[1:]})")
        return Advice(still, 0.0, 0.0, (*reasons, *wide))
    return Advice(action, amount, half, (*reasons, why, *wide), -off)


def _setting(series: Series, off: float, half: float, ratio: float) -> tuple[Action, float, float, str]:
    """Which setting takes the deviation away, by how much, and why."""
    if series.kind == "angle":
        why = f"the bend opens to {ratio:.3f} of the leaf angle, so the leaf goes by the deviation divided by that"
        return "change the over-bend", -off / ratio, half / ratio, why
    if series.on_stop:
        why = "the leg that a stop sets grows by as much as the stop is moved away from nose or bed"
        return "move the stop", -off, half, why
    action, why = LEFT[series.left]
    return action, -off, half, why


LEFT: dict[Left, tuple[Action, str]] = {
    "blank": (
        "change the blank",
        "stops and angles being right, this is what blank and deduction leave; formed legs cannot tell the two apart. "
        "Measure three blanks before they are bent and enter their size with the legs: that parts them. Bend a coupon "
        "before cutting more",
    ),
    "cut": (
        "cut to the printed size",
        "the blanks were measured before they were bent: they are off by this, whatever the bends take",
    ),
    "deduction": (
        "change the deduction",
        "the blanks were measured before they were bent, so this is the deduction. Bend a coupon before cutting more",
    ),
}


def _wide(series: Series) -> list[str]:
    """A clause when no setting can bring the spread within the tolerance."""
    found = capability(series.deviations, series.lower, series.upper)
    if found is None or found.spread_high >= 1.0:
        return []
    return [
        f"the spread does not fit the tolerance (Cp {found.spread_index:.2f}, 95 %: {found.spread_low:.2f} to "
        f"{found.spread_high:.2f}): no setting cures that; look at creep on clamping, burrs, how pieces are measured"
    ]
