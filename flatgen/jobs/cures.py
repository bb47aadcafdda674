"""The smallest change of one key that takes a finding away and brings no other, found by trying on the real checks.

No rule is repeated here. A size goes up and down in the steps of a shop's rule, doubled until the finding is gone, then
halved back; keys of choices, noses on hand and words for a relief are tried one by one. What is offered was proved.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from flatgen.errors import CannotMake, InputError, InputErrors
from flatgen.jobs.trial import SIZES, Look, Trials, worse
from flatgen.model.finding import Finding
from flatgen.model.shop import Shop
from flatgen.read.keys import Table, TomlFile
from flatgen.read.parameters import fill_scope, usual_value
from flatgen.read.profile import Profile
from flatgen.read.scope import Scope
from flatgen.write.edits import Append, Edit, Place, Set

STEPS = {"in": 25.4 / 64.0, "mm": 0.5}  # of a shop's rule [mm]
DEGREE = 1.0
FARTHEST = 256  # steps that a size is changed by
TRIES, TRIES_AT_THE_BRAKE = 160, 48  # the latter parted by the bends, each of which takes its time
PATTERN = ("edge_distance", "first", "last", "pitch")
PLACES = ("at", "from", "to", "center", "along")
TO_DECIDE = ("stop", "decide")
# no size of the part has to do with these
NO_SIZE = frozenset(("grain-along-bend", "grain-not-stated", "hand", "sheet-thickness", "full-size-in-both"))


@dataclass(frozen=True, slots=True)
class Cure:
    """One change that settles a finding. ``key`` in words, ``was`` and ``becomes`` as they are written."""

    finding: Finding
    edit: Edit
    key: str
    was: str
    becomes: str

    @property
    def words(self) -> str:
        """What to change, for a button."""
        return f"{self.key}: {self.becomes}, not {self.was}" if self.was else f"{self.key}: {self.becomes}"


@dataclass(frozen=True, slots=True)
class Size:
    """A size that may be changed: where it is written, what it is now, and the step that it goes by [mm, deg]."""

    place: Place
    key: str
    value: float
    step: float
    written: str

    def at(self, steps: int) -> float:
        """The value so many steps up, or down, on the marks of the rule."""
        marks = self.value / self.step
        base = math.floor(marks + 1e-6) if steps > 0 else math.ceil(marks - 1e-6)
        return (base + steps) * self.step


def cures(
    trials: Trials,
    row: int,
    look: Look,
    findings: Sequence[Finding],
    profile: Profile,
    halted: Callable[[], bool] = lambda: False,
) -> Iterator[Cure | None]:
    """For each finding the change that cures it, None where no change of one key does.

    halted : whether nobody wants the answer any more
    """
    for finding in findings:
        yield _Search(trials, row, look, finding, profile, halted).found()


def as_written(value: float, units: str, step: float) -> str | int:
    """A size on the marks of the rule as a person writes it.

    >>> as_written(30.1625, "in", 25.4 / 64), as_written(20.5, "mm", 0.5), as_written(95.0, "in", 1.0)
    ('1 3/16 in', '20.5 mm', 95)
    """
    if step == DEGREE:
        return round(value)
    if units == "mm":
        return f"{value:g} mm"
    whole, rest = divmod(Fraction(round(value / STEPS["in"]), 64), 1)
    return " ".join(str(part) for part in (whole, rest, "in") if part or (part == 0 and not rest and part is whole))


class _Search:
    """The tries for one finding."""

    def __init__(
        self, trials: Trials, row: int, look: Look, finding: Finding, profile: Profile, halted: Callable[[], bool]
    ) -> None:
        self.trials, self.row, self.look, self.finding, self.profile = trials, row, look, finding, profile
        self.halted = halted
        self.at_the_brake = finding not in look.made.findings
        self.before = trials.braked(look)[1] if self.at_the_brake else look.findings
        self.left = TRIES_AT_THE_BRAKE // max(2, len(look.part.bends)) if self.at_the_brake else TRIES
        self.units = look.job.units
        self.own_row, self.cells = trials.cells(row, look.part.id)
        self.data = {key: value for key, value in trials.entry(row).items() if key != SIZES} | self.cells

    def _place(self, key: str) -> Place:
        """Where a key of the part is written: in its entry, or in its row of a table of sizes."""
        return (SIZES, self.own_row, key) if key in self.cells else ("part", self.row, key)

    def found(self) -> Cure | None:
        """A word or choice where one settles it by its nature, else the size that changes least, else any choice."""
        ready = [cure for cure in self._words() if self._settles(cure.edit)]
        if ready:
            return ready[0]
        return self._least() or next((cure for cure in self._choices() if self._settles(cure.edit)), None)

    def _settles(self, edit: Edit) -> bool:
        """Whether the finding is gone with this change, and nothing new stops or is to be decided."""
        if self.left <= 0 or self.halted():
            return False
        self.left -= 1
        try:
            look = self.trials.look(self.row, [edit], self.look.part.id)
            after = self.trials.braked(look)[1] if self.at_the_brake else look.findings
        except (InputError, InputErrors, CannotMake):
            return False
        same = [f for f in after if f.rule == self.finding.rule and f.state in TO_DECIDE]
        had = [f for f in self.before if f.rule == self.finding.rule and f.state in TO_DECIDE]
        gone = all(f.where != self.finding.where for f in same) and len(same) < len(had)
        return gone and not worse(self.before, after)

    def _least(self) -> Cure | None:
        """The size whose change is the smallest, in its own steps."""
        if self.finding.rule in NO_SIZE:
            return None
        sizes = [size for group in self._sizes() for size in group]
        reach = 1
        while reach <= FARTHEST and self.left > 0:
            reached = [
                (size, sign) for size in sizes for sign in (1, -1) if self._settles(self._edit(size, sign * reach))
            ]
            if reached:
                best = min(((self._halved(size, sign, reach), k) for k, (size, sign) in enumerate(reached)))
                size, sign = reached[best[1]]
                return self._cure(size, sign * best[0])
            reach *= 2
        return None

    def _halved(self, size: Size, sign: int, high: int) -> int:
        """The fewest steps that settle it, between half of those that do and these."""
        low = high // 2
        while high - low > 1:
            middle = (low + high) // 2
            if self._settles(self._edit(size, sign * middle)):
                high = middle
            else:
                low = middle
        return high

    def _edit(self, size: Size, steps: int) -> Set:
        return Set(size.place, as_written(size.at(steps), self.units, size.step))

    def _cure(self, size: Size, steps: int) -> Cure:
        becomes = as_written(size.at(steps), self.units, size.step)
        return Cure(self.finding, Set(size.place, becomes), size.key, size.written, str(becomes))

    def _sizes(self) -> Iterator[list[Size]]:
        """Sizes that may have to do with it: of its own hole where it is one, then those of the profile."""
        scope = self._scope()
        yield list(self._hole_sizes(scope))
        yield list(self._own_sizes(scope))

    def _scope(self) -> Scope:
        table = Table(TomlFile(self.trials.path, "", self.data), self.data, (), self.units, "")
        part = self.look.part
        radius = part.bends[0].radius if part.bends else 0.0
        return fill_scope(self.profile, table, self.units, part.thickness, radius)

    def _own_sizes(self, scope: Scope) -> Iterator[Size]:
        for name, parameter in self.profile.parameters.items():
            if parameter.kind not in ("length", "angle") or name not in scope.values:
                continue
            step = STEPS[self.units] if parameter.kind == "length" else DEGREE
            raw = self.data.get(name, usual_value(parameter, self.units, self.profile.units)[0])
            yield Size(self._place(name), name, scope.values[name].number, step, str(raw))

    def _hole_sizes(self, scope: Scope) -> Iterator[Size]:
        """Sizes of the pattern that the hole stands in, of a place of its own only that hole's."""
        hole = next((h for h in self.look.blank.holes if self.finding.where.startswith(f"hole {h.number},")), None)
        if hole is None:
            return
        step = STEPS[self.units]
        scope.units = self.units
        for k, data in enumerate(self.data.get("holes", ())):
            if not isinstance(data, dict) or data.get("face") != hole.hole.face:
                continue
            at: Place = ("part", self.row, "holes", k)
            for key in PATTERN:
                if key in data and not isinstance(data[key], list):
                    yield from self._size(scope, (*at, key), f"holes {k + 1}, {key}", data[key], step)
            for key in PLACES:
                yield from self._coordinates(
                    scope, (*at, key), f"holes {k + 1}, {key}", data.get(key), hole.hole.center
                )

    def _coordinates(self, scope: Scope, at: Place, key: str, raw: Any, center: tuple[float, float]) -> Iterator[Size]:
        step = STEPS[self.units]
        if not isinstance(raw, list):
            return
        many = bool(raw) and all(isinstance(one, list) for one in raw)
        for k, one in enumerate(raw):
            if not many:
                value = self._value(scope, one)
                if at[-1] != "along" or (value is not None and min(abs(value - c) for c in center) < 1e-6):
                    name = f"{key} {'xy'[k]}" if at[-1] != "along" and k < 2 else f"{key} {k + 1}"
                    yield from self._size(scope, (*at, k), name, one, step)
                continue
            place = [self._value(scope, number) for number in one]
            if all(value is not None and abs(value - c) < 1e-6 for value, c in zip(place, center, strict=False)):
                for axis, number in enumerate(one[:2]):
                    yield from self._size(scope, (*at, k, axis), f"{key} {k + 1}, {'xy'[axis]}", number, step)

    def _size(self, scope: Scope, place: Place, key: str, raw: Any, step: float) -> Iterator[Size]:
        value = self._value(scope, raw)
        if value is not None:
            yield Size(place, key, value, step, str(raw))

    @staticmethod
    def _value(scope: Scope, raw: Any) -> float | None:
        try:
            return scope.length(raw)
        except InputError:
            return None

    def _words(self) -> Iterator[Cure]:
        """Changes that are no size: a hole drilled later, a relief, the radius of a nose on hand, the grain's way."""
        rule, at = self.finding.rule, ("part", self.row)
        if rule == "hole-to-bend" and self.finding.state == "decide":
            number = self.finding.where.split(",")[0].removeprefix("hole ")
            face = next((h.hole.face for h in self.look.blank.holes if str(h.number) == number), "")
            for k, data in enumerate(self.data.get("holes", ())):
                if data.get("face") == face:
                    key = f"holes {k + 1}, drilled"
                    yield Cure(self.finding, Set((*at, "holes", k, "drilled"), "after"), key, "", "after bending")
        bends = [
            bend for bend in self.look.blank.bends if bend.id in self.finding.where.replace("bend ", "").split(", ")
        ]
        if rule == "bend-without-relief":
            # one relief more for each place would be one button more; all that are asked for are cut at once
            alike = {name for f in self.before if f.rule == rule for name in f.where.replace("bend ", "").split(", ")}
            flanges = [bend.child for bend in self.look.blank.bends if bend.id in alike]
            for kind in ("square-ended", "drilled"):
                edit = Append((*at, "relief"), {"flange": flanges, "kind": kind})
                yield Cure(self.finding, edit, f"relief at {', '.join(flanges)}", "", kind)
        if rule in ("minimum-radius", "nose-not-on-hand", "nose-differs"):
            radius = bends[0].bent.drawing_radius if bends else 0.0
            for nose in sorted(noses(self.look.job.shop), key=lambda r: abs(r - radius)):
                becomes = _radius(nose, self.units)
                yield Cure(
                    self.finding, Set(self._place("radius"), becomes), "radius", _radius(radius, self.units), becomes
                )
        if rule == "grain-along-bend":
            for bend in bends:
                across = Set(self._place("grain"), f"across {bend.child}")
                yield Cure(self.finding, across, "grain", str(self.data.get("grain", "")), f"across {bend.child}")

    def _choices(self) -> Iterator[Cure]:
        for name, parameter in self.profile.parameters.items():
            now = str(self.data.get(name, parameter.default))
            for choice in parameter.choices:
                if choice != now:
                    yield Cure(self.finding, Set(self._place(name), choice), name, now, choice)


def noses(shop: Shop) -> list[float]:
    """Radii that the shop's brakes can bend over [mm]."""
    return sorted({nose.radius for brake in shop.brakes for nose in brake.noses})


def _radius(mm: float, units: str) -> str:
    """A nose's radius as it is called: a fraction of an inch where it is one."""
    parts = mm / STEPS["in"]
    if units == "in" and abs(parts - round(parts)) < 1e-6:
        return str(as_written(mm, "in", STEPS["in"]))
    return f"{mm / (25.4 if units == 'in' else 1.0):.4f}".rstrip("0").rstrip(".") + f" {units}"
