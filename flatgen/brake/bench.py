"""Every stroke of the leaf that one blank might need on one brake, tried when asked for and remembered.

A stroke is named by the bends already made, the fold to make, and which side goes under the nose. Lengths mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from flatgen.brake.gauge import StopSetting, gauge
from flatgen.brake.meets import Contact
from flatgen.brake.section import Body, Known, Laid, Piece, lay
from flatgen.brake.simulate import Stroke, WayOut, stroke, way_out
from flatgen.brake.tools import HEM, Setting, setting_for
from flatgen.develop.allowance import SAME_LENGTH
from flatgen.develop.strokes import Fold, bend_groups
from flatgen.model.blank import BendLine, Blank
from flatgen.model.shop import Brake, NoseBar, least_land

COARSE_STEP = 5.0
FINE_STEP = 1.5

# side that has too little flat metal, what it has and what it needs [mm]
Short = tuple[Literal["leaf", "nose"], float, float]
# a stroke that is free, how the part leaves, the fingers that it needs and the room for them
Course = tuple[Stroke, WayOut, tuple[float, ...], tuple[float, float] | None]


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a stroke cannot be made: a collision, walls that need a nose of fitting width, or a part that is trapped.

    window : least and greatest width of nose that would fit between the walls
    """

    fold: Fold
    clamped_hub: bool
    contact: Contact | None = None
    window: tuple[float, float] | None = None
    trapped: bool = False

    @property
    def depth(self) -> float:
        """How far from possible, for comparing refusals [mm]."""
        return self.contact.depth if self.contact else 0.0


@dataclass(frozen=True, slots=True)
class Trial:
    """A stroke that can be made.

    short : the side that has too little flat metal; ``swung`` : metal the leaf swings over metal that is clamped
    """

    laid: Laid
    setting: Setting
    stroke: Stroke
    stops: StopSetting
    leaves: WayOut
    fingers: tuple[float, ...]
    window: tuple[float, float] | None
    short: Short | None
    swung: float


class Bench:
    """One blank at one brake; strokes are computed once each."""

    def __init__(self, blank: Blank, brake: Brake, *, fitted: bool = False, known: Known | None = None) -> None:
        """Sort the blank's bends into strokes of the leaf; ``fitted``: fingers are as wide as the walls ask; ``known``:
        what was found of this blank on other brakes."""
        self.blank = blank
        self.brake = brake
        self.fitted = fitted
        self.folds = bend_groups(blank)
        noses = [nose_for(brake, fold.lead, fold.length) for fold in self.folds]
        self.settings = tuple(
            setting_for(brake, nose, fold.lead, blank.thickness) for nose, fold in zip(noses, self.folds, strict=True)
        )
        self.known = known or Known()
        self._bodies: dict[int, Body] = {}
        self._courses: dict[tuple[int, int, bool], Course | Refusal] = {}
        self._tried: dict[tuple[int, int, bool], Trial | Refusal] = {}
        self._proved: dict[tuple[object, ...], Course | Refusal] = {}

    def body(self, made: int) -> Body:
        """The part with the folds in a bit mask made."""
        if made not in self._bodies:
            ids = {i for k, fold in enumerate(self.folds) if made >> k & 1 for i in fold.ids}
            self._bodies[made] = Body(self.blank, ids)
        return self._bodies[made]

    def attempt(self, made: int, fold: int, clamp_hub: bool) -> Trial | Refusal:
        """A stroke or why it cannot be made."""
        key = (made, fold, clamp_hub)
        if key not in self._tried:
            self._tried[key] = self._try(made, fold, clamp_hub)
        return self._tried[key]

    def goes(self, made: int, fold: int, clamp_hub: bool) -> bool:
        """Whether a stroke can be made."""
        return not isinstance(self._course(made, fold, clamp_hub), Refusal)

    def prove(self, trial: Trial, real: Laid) -> Trial | Refusal:
        """The stroke again in fine steps, with the part as it really lies by then."""
        key = (real.still, real.moving, real.strips, trial.setting)
        if key not in self._proved:
            self._proved[key] = self._follow(trial.laid.fold, real, trial.setting, FINE_STEP)
        found = self._proved[key]
        if isinstance(found, Refusal):
            return found
        run, leaves, fingers, window = found
        return replace(trial, stroke=run, leaves=leaves, fingers=fingers, window=window)

    def refuse(self, made: int, fold: int, why: Refusal) -> None:
        """Keep a stroke that fails in fine steps from being tried again."""
        key = (made, fold, why.clamped_hub)
        self._tried[key] = self._courses[key] = why

    def bends_as_developed(self, tolerance: float) -> bool:
        """Whether every nose has the radius, within a tolerance [mm], that its bend was developed for."""
        pairs = zip(self.folds, self.settings, strict=True)
        made = [(fold.lead, setting.nose.radius + math.fsum(setting.wraps)) for fold, setting in pairs]
        return all(abs(radius - bend.bent.inside_radius) <= tolerance for bend, radius in made if bend.angle < HEM)

    @property
    def tried(self) -> int:
        """Number of strokes followed so far."""
        return len(self._courses)

    def refusals(self) -> list[tuple[int, Refusal]]:
        """All strokes tried and refused, with the bends that were made before."""
        return [(key[0], found) for key, found in self._courses.items() if isinstance(found, Refusal)]

    def _try(self, made: int, index: int, clamp_hub: bool) -> Trial | Refusal:
        found = self._course(made, index, clamp_hub)
        if isinstance(found, Refusal):
            return found
        run, leaves, fingers, window = found
        fold, setting, body = self.folds[index], self.settings[index], self.body(made)
        laid = lay(body, fold, clamp_hub, self.known)
        stops = gauge(body, laid, setting)
        return Trial(laid, setting, run, stops, leaves, fingers, window, _short(laid, setting), _swung(laid))

    def _course(self, made: int, index: int, clamp_hub: bool) -> Course | Refusal:
        key = (made, index, clamp_hub)
        if key not in self._courses:
            fold = self.folds[index]
            laid = lay(self.body(made), fold, clamp_hub, self.known)
            self._courses[key] = self._follow(fold, laid, self.settings[index], COARSE_STEP, self.known)
        return self._courses[key]

    def _follow(
        self, fold: Fold, laid: Laid, setting: Setting, step: float, known: Known | None = None
    ) -> Course | Refusal:
        clamp_hub = laid.clamped_hub
        found = stroke(laid, setting, step, known)
        window: tuple[float, float] | None = None
        if found.walled:
            ease = self.brake.end_clearance
            low, high = laid.joint
            window = (high - low - ease, found.room[1] - found.room[0] - ease)
        if found.contact is not None:
            return Refusal(fold, clamp_hub, contact=found.contact, window=window)
        fingers: tuple[float, ...] = ()
        if window is not None:
            chosen = self._nose_between(setting.nose, window)
            if chosen is None:
                return Refusal(fold, clamp_hub, window=window)
            fingers = chosen
        # a way out is looked for where it may be barred; else it only matters once the order is known
        leaves = way_out(laid, setting, found.room) if found.walled or step <= FINE_STEP else WayOut("endways")
        if leaves is None:
            return Refusal(fold, clamp_hub, trapped=True)
        return found, leaves, fingers, window

    def _nose_between(self, nose: NoseBar, window: tuple[float, float]) -> tuple[float, ...] | None:
        """Fingers whose widths together fit between walls, or the bar itself where it is that short."""
        if self.fitted:
            return (math.fsum(window) / 2.0,) if 0.0 < window[0] <= window[1] else None
        if self.brake.fingers:
            return choose_fingers(self.brake.fingers, window)
        length = nose.length if nose.length is not None else self.brake.length
        return (length,) if window[0] <= length <= window[1] else None


def nose_for(brake: Brake, bend: BendLine, length: float = 0.0) -> NoseBar:
    """The nose bar that the bend was developed for, or the one whose radius is nearest: one as long as the
    stroke first, larger before smaller."""
    for nose in brake.noses:
        if nose.name == (bend.first.bar if bend.first else bend.bent.bar):
            return nose
    radius = bend.bent.inside_radius

    def badly(nose: NoseBar) -> tuple[float, bool, float]:
        off = abs(_nearest_radius(nose, radius) - radius)
        return round(off, 2), brake.usable(nose) < length - SAME_LENGTH, -nose.radius

    return min(brake.noses, key=badly)


def _nearest_radius(nose: NoseBar, radius: float) -> float:
    from flatgen.brake.tools import wraps_for

    return nose.radius + math.fsum(wraps_for(nose, radius))


@lru_cache(maxsize=1024)
def choose_fingers(widths: tuple[float, ...], window: tuple[float, float]) -> tuple[float, ...] | None:
    """Fewest fingers whose widths sum into a window, the widest sum of those; None when none do [mm].

    Sums are told apart by a hundredth of a millimetre; for each the fewest fingers that make it are kept.
    """
    low, high = window[0] - 1e-6, window[1] + 1e-6
    alone = [width for width in widths if low <= width <= high]
    if alone or low > high:
        return (max(alone),) if alone else None
    made: dict[int, tuple[float, ...]] = {0: ()}
    for width in sorted(widths, reverse=True):
        for chosen in list(made.values()):
            more = (*chosen, width)
            total = math.fsum(more)
            key = round(total * 100.0)
            if total <= high and (key not in made or len(more) < len(made[key])):
                made[key] = more
    fitting = [chosen for chosen in made.values() if chosen and math.fsum(chosen) >= low]
    return min(fitting, key=lambda chosen: (len(chosen), -math.fsum(chosen), chosen), default=None)


def _short(laid: Laid, setting: Setting) -> Short | None:
    """Which side has too little flat metal to be worked, with what it has and what it needs; None when neither.

    The leaf needs 0.19 in or three thicknesses in front of the bed's edge (common practice, no source), or what makes
    the flange as long as the brake's stated smallest; the nose needs the same to hold.
    """
    t = setting.thickness
    least = least_land(t)
    flat = [p for p in laid.moving if all(-0.01 < z < t + 0.01 for _, z in p.section)]
    ahead = max((x for p in flat for x, _ in p.section), default=0.0) - setting.bed_edge
    stated = setting.brake.smallest_flange
    needs = least
    if stated is not None:
        # the stated flange's outside size as a stretch of flat metal in front of the bed's edge
        needs = setting.making.flat(stated) + setting.making.arc - setting.bed_edge
    if ahead < needs - 1e-6:
        return "leaf", ahead, needs
    held = [p for p in laid.still if all(-0.01 < z < t + 0.01 for _, z in p.section)]
    under = -min((x for p in held for x, _ in p.section), default=0.0)
    return ("nose", under, least) if under < least - 1e-6 else None


def _swung(laid: Laid) -> float:
    """Metal that the leaf swings, over metal that is clamped."""
    return _seen_area(laid.moving) / max(1.0, _seen_area(laid.still))


def _seen_area(pieces: Sequence[Piece]) -> float:
    """Length of the faces' sections across the bend, times their width [mm²]."""
    return math.fsum(
        (max(x for x, _ in p.section) - min(x for x, _ in p.section)) * (p.span[1] - p.span[0])
        for p in pieces
        if p.kind == "face"
    )
