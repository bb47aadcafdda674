"""Every stroke of the leaf that one blank might need on one brake, tried when asked for and remembered.

A stroke is named by the bends already made, the fold to make, and which side goes under the nose. Lengths mm.
"""

import math
from dataclasses import dataclass
from itertools import combinations

from flatgen.brake.gauge import StopSetting, gauge
from flatgen.brake.section import Body, Fold, Laid, bend_groups, lay
from flatgen.brake.simulate import Contact, Stroke, stroke, way_out
from flatgen.brake.tools import Setting, setting_for
from flatgen.model.blank import BendLine, Blank
from flatgen.model.shop import Brake, NoseBar

FINE_STEP = 1.0


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
    """A stroke that can be made."""

    laid: Laid
    setting: Setting
    stroke: Stroke
    stops: StopSetting
    leaves: str
    fingers: tuple[float, ...]
    window: tuple[float, float] | None

    @property
    def key(self) -> tuple[str, bool]:
        """Fold and clamped side."""
        return self.laid.fold.name, self.laid.clamped_hub


class Bench:
    """One blank at one brake; strokes are computed once each."""

    def __init__(self, blank: Blank, brake: Brake) -> None:
        """Sort the blank's bends into strokes of the leaf."""
        self.blank = blank
        self.brake = brake
        self.folds = bend_groups(blank)
        self.settings = tuple(
            setting_for(brake, nose_for(brake, fold.lead), fold.lead, blank.thickness) for fold in self.folds
        )
        self._bodies: dict[int, Body] = {}
        self._tried: dict[tuple[int, int, bool], Trial | Refusal] = {}
        self._proved: dict[tuple[int, int, bool], Trial | Refusal] = {}

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
            self._tried[key] = self._try(made, fold, clamp_hub, 4.0)
        return self._tried[key]

    def prove(self, made: int, fold: int, clamp_hub: bool) -> Trial | None:
        """The stroke again in fine steps; one that fails is refused from then on."""
        key = (made, fold, clamp_hub)
        if key not in self._proved:
            self._proved[key] = self._tried[key] = self._try(made, fold, clamp_hub, FINE_STEP)
        fine = self._proved[key]
        return fine if isinstance(fine, Trial) else None

    def refusals(self) -> list[tuple[int, Refusal]]:
        """All strokes tried and refused, with the bends that were made before."""
        return [(key[0], found) for key, found in self._tried.items() if isinstance(found, Refusal)]

    def _try(self, made: int, index: int, clamp_hub: bool, step: float) -> Trial | Refusal:
        fold, setting = self.folds[index], self.settings[index]
        body = self.body(made)
        laid = lay(body, fold, clamp_hub)
        found = stroke(laid, setting, step)
        if found.contact is not None:
            return Refusal(fold, clamp_hub, contact=found.contact)
        window: tuple[float, float] | None = None
        fingers: tuple[float, ...] = ()
        if found.walled:
            ease = self.brake.end_clearance
            low, high = laid.span
            window = (high - low - ease, found.room[1] - found.room[0] - ease)
            chosen = self._nose_between(setting.nose, window)
            if chosen is None:
                return Refusal(fold, clamp_hub, window=window)
            fingers = chosen
        # a way out is looked for where it may be barred; else it only matters once the order is known
        leaves = way_out(laid, setting, found.room) if found.walled or step <= FINE_STEP else "endways"
        if leaves is None:
            return Refusal(fold, clamp_hub, trapped=True)
        return Trial(laid, setting, found, gauge(body, laid, setting), leaves, fingers, window)

    def _nose_between(self, nose: NoseBar, window: tuple[float, float]) -> tuple[float, ...] | None:
        """Fingers whose widths together fit between walls, or the bar itself where it is that short."""
        if self.brake.fingers:
            return choose_fingers(self.brake.fingers, window)
        length = nose.length if nose.length is not None else self.brake.length
        return (length,) if window[0] <= length <= window[1] else None


def nose_for(brake: Brake, bend: BendLine) -> NoseBar:
    """The nose bar that the bend was developed for, or the one whose radius is nearest, larger before smaller."""
    for nose in brake.noses:
        if nose.name == bend.bent.nose:
            return nose
    radius = bend.bent.inside_radius
    return min(brake.noses, key=lambda nose: (abs(_nearest_radius(nose, radius) - radius), -nose.radius))


def _nearest_radius(nose: NoseBar, radius: float) -> float:
    from flatgen.brake.tools import wraps_for

    return nose.radius + sum(wraps_for(nose, radius))


def choose_fingers(widths: tuple[float, ...], window: tuple[float, float]) -> tuple[float, ...] | None:
    """Fewest fingers whose widths sum into a window, widest sum first; None when none do [mm]."""
    low, high = window
    usable = sorted((w for w in widths if w <= high + 1e-6), reverse=True)
    for count in range(1, min(len(usable), 8) + 1):
        best: tuple[float, ...] | None = None
        for chosen in combinations(usable, count):
            total = math.fsum(chosen)
            if low - 1e-6 <= total <= high + 1e-6 and (best is None or total > math.fsum(best) + 1e-9):
                best = chosen
        if best is not None:
            return best
    return None
