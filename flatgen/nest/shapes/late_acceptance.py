"""True shapes laid one by one on sheets, each at the leftmost place that is left for it. Lengths mm.

References
----------
[1] E. K. Burke, Y. Bykov, "The late acceptance hill-climbing heuristic", European Journal of Operational Research 258,
    2017: a step counts against the score so many steps ago (from memory)
"""

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from flatgen.nest.shapes.lattice import Board, Group, Masks
from flatgen.nest.shapes.no_fit_polygon import Convexes

Order = Sequence[tuple[int, int]]  # (unit, how many) one after the other


class Rule(Enum):
    """Which of the ways that a blank may lie is taken."""

    LENGTHENS_LEAST = auto()
    ENDS_NEAREST = auto()
    MIDDLE_NEAREST = auto()
    SHORTEST = auto()
    LONGEST = auto()


RULES = tuple(Rule)
# ways to start: sorted by what, in clusters or not, along x (0) or y (1), rule; in this order each adds most to those
# before it on problems of the benchmark's generator (seeds 11 to 14), the last ones on strips
PLAIN = (
    ("box", True, 0, Rule.LENGTHENS_LEAST),
    ("height", True, 1, Rule.LENGTHENS_LEAST),
    ("area", False, 1, Rule.LENGTHENS_LEAST),
    ("box", False, 0, Rule.LONGEST),
    ("box", True, 1, Rule.LENGTHENS_LEAST),
    ("short", False, 1, Rule.LENGTHENS_LEAST),
    ("box", False, 0, Rule.MIDDLE_NEAREST),
    ("height", False, 1, Rule.LENGTHENS_LEAST),
    ("short", False, 0, Rule.LENGTHENS_LEAST),
    ("short", True, 1, Rule.LENGTHENS_LEAST),
    ("area", True, 1, Rule.LENGTHENS_LEAST),
    ("area", False, 0, Rule.SHORTEST),
    ("area", False, 0, Rule.LENGTHENS_LEAST),
    ("long", False, 0, Rule.MIDDLE_NEAREST),
    ("area", True, 0, Rule.MIDDLE_NEAREST),
    ("height", False, 0, Rule.LENGTHENS_LEAST),
)


@dataclass(frozen=True, slots=True)
class Unit:
    """What is laid as one: ``size`` blanks of a kind, in any of these groups."""

    kind: int
    groups: tuple[int, ...]
    size: int = 1


@dataclass(frozen=True, slots=True)
class Shapes:
    """Units to lay, and the metal in one blank of each kind [mm²]; the first units are the single blanks, by kind."""

    masks: Masks
    groups: Sequence[Group]
    units: Sequence[Unit]
    areas: Sequence[float]
    unit_of: Sequence[int]  # by group, one of the units that it belongs to

    def size(self, kind: int) -> tuple[float, float]:
        """Width and height of a blank the first way."""
        group = self.groups[self.units[kind].groups[0]]
        return group.width, group.height


def lay(board: Board, shapes: Shapes, order: Order, left: list[int], rule: Rule) -> list[int]:
    """Lay blanks in the given order, as far as ``left`` still asks for them, and count them down there.

    How many groups have been laid after each entry of the order comes back.
    """
    step = board.masks.step
    marks = []
    for number, many in order:
        unit = shapes.units[number]
        for _ in range(min(many, left[unit.kind] // unit.size)):
            best: tuple[tuple[float, ...], int, tuple[int, int]] | None = None
            for group in unit.groups:
                at = board.first(group)
                if at is None:
                    continue
                far, near = board.far_end(group, at), at[board.along] * step
                key: tuple[float, ...] = (far, near, at[1 - board.along])
                if rule is Rule.LENGTHENS_LEAST:
                    key = (max(board.reach, far), *key)
                elif rule is Rule.MIDDLE_NEAREST:
                    key = (0.5 * (near + far), *key)
                elif rule is Rule.SHORTEST:
                    key = (far - near, *key)
                elif rule is Rule.LONGEST:
                    key = (near - far, *key)
                if best is None or key < best[0]:
                    best = (key, group, at)
            if best is None:
                break
            board.put(*best[1:])
            left[unit.kind] -= unit.size
        marks.append(len(board.placed))
    return marks


@dataclass(frozen=True, slots=True)
class Plan:
    """How one sheet is filled: units in this order, along x (0) or y (1), ways picked by this rule."""

    order: tuple[tuple[int, int], ...]
    along: int
    rule: Rule


@dataclass(frozen=True, slots=True)
class Full:
    """A sheet filled by a plan: what was left before and after, groups laid after each entry of the plan's order."""

    plan: Plan
    board: Board
    before: tuple[int, ...]
    left: tuple[int, ...]
    marks: tuple[int, ...]

    def taken_over(self, plan: Plan, before: Sequence[int]) -> int:
        """Entries at the head of a plan's order that would come out as they did here."""
        mine = self.plan
        if (mine.along, mine.rule, self.before) != (plan.along, plan.rule, tuple(before)):
            return 0
        same = 0
        for a, b in zip(mine.order, plan.order, strict=False):
            if a != b:
                break
            same += 1
        return same


@dataclass(frozen=True, slots=True)
class Room:
    """A sheet's usable size, its margin, and the convex parts in its way."""

    width: float
    height: float
    margin: float = 0.0
    bad: Convexes | None = None

    def used(self, board: Board) -> float:
        """Share of the sheet that is not the rectangle beyond all that is laid."""
        return (board.reach + self.margin) / ((self.height if board.along else self.width) + 2.0 * self.margin)


@dataclass(frozen=True, slots=True)
class Trial:
    """Plans for all sheets and what came of them; score: metal left over, sheets, share of the last sheet."""

    plans: tuple[Plan, ...]
    fulls: tuple[Full, ...]
    score: tuple[float, int, float]


@dataclass(slots=True)
class Laying:
    """Sheets filled one after the other by plans that are bettered in small steps, counted, not timed.

    rooms : the sheets in the order in which they are used
    work : masks laid so far, a few more for each one made
    over : asked between steps whether to end early; a search that must repeat itself has none
    """

    shapes: Shapes
    rooms: Sequence[Room]
    demand: Sequence[int]
    seed: int = 1
    work: int = 0
    over: Callable[[], bool] = lambda: False

    def starts(self, work: int) -> list[Trial]:
        """The best of plain orders along each side of the sheet, as many as so much work allows, the better first."""
        best: dict[int, Trial] = {}
        until = self.work + work
        for plan in self.plain_plans():
            found = self.tried((plan,) * len(self.rooms))
            if plan.along not in best or found.score < best[plan.along].score:
                best[plan.along] = found
            if self.work >= until or self.over():
                break
        return sorted(best.values(), key=lambda trial: trial.score)

    def plain_plans(self) -> list[Plan]:
        """Blanks sorted by size, as they are and in clusters; those first that most often come out well."""
        kinds = [k for k, many in enumerate(self.demand) if many]
        plans = []
        for sort, clustered, along, rule in PLAIN:
            order = tuple((k, self.demand[k]) for k in sorted(kinds, key=lambda k: self._rank(sort, k)))
            plans.append(Plan(self._clustered(order) if clustered else order, along, rule))
        return list(dict.fromkeys(plans))

    def _rank(self, sort: str, kind: int) -> float:
        width, height = self.shapes.size(kind)
        sizes = {"box": width * height, "short": min(width, height), "long": max(width, height), "height": height}
        return -sizes[sort] if sort in sizes else -self.shapes.areas[kind]

    def _clustered(self, order: tuple[tuple[int, int], ...]) -> tuple[tuple[int, int], ...]:
        """The order with the largest cluster of each kind, where it has any."""
        units = self.shapes.units
        largest = {unit.kind: n for n, unit in reversed(list(enumerate(units))) if unit.size > 1}
        found = []
        for kind, many in order:
            if kind in largest:
                found.append((largest[kind], many // units[largest[kind]].size))
                many %= units[largest[kind]].size
            found.append((kind, many))
        return tuple(entry for entry in found if entry[1])

    def bettered(self, trial: Trial, work: int, lateness: int = 4) -> Trial:
        """The trial with its plans changed step by step, until so much more work is done."""
        rng = random.Random(self.seed)
        until = self.work + work
        best = now = trial
        past = [trial.score] * lateness
        turn = 0
        while self.work < until and now.fulls and not self.over():
            number = len(now.fulls) - 1 if rng.random() < 0.5 else rng.randrange(len(now.fulls))
            plans = list(now.plans)
            plans[number] = self._changed(plans[number], rng)
            found = self.tried(tuple(plans), now, number)
            if found.score <= max(now.score, past[turn % lateness]):
                now = found
            past[turn % lateness] = now.score
            if now.score < best.score:
                best = now
            turn += 1
            self.work += 1
        return best

    def tried(self, plans: tuple[Plan, ...], before: Trial | None = None, first: int = 0) -> Trial:
        """What comes of plans, the sheets before ``first`` taken over from the trial before."""
        fulls = list(before.fulls[:first]) if before else []
        left = list(fulls[-1].left) if fulls else list(self.demand)
        for number in range(len(fulls), len(plans)):
            if not any(left):
                break
            like = before.fulls[number] if before and number < len(before.fulls) else None
            full = self.full(number, plans[number], left, like)
            left = list(full.left)
            if not full.board.placed:
                break
            fulls.append(full)
        areas = self.shapes.areas
        rest = math.fsum(areas[k] * many for k, many in enumerate(left))
        share = self.rooms[len(fulls) - 1].used(fulls[-1].board) if fulls else 0.0
        return Trial(plans, tuple(fulls), (round(rest, 3), len(fulls), round(share, 9)))

    def full(self, number: int, plan: Plan, left: Sequence[int], like: Full | None = None) -> Full:
        """One sheet filled from what is left; what the plan does not name comes last, the largest first.

        like : the sheet filled before; the head of the order that is the same is taken over from it
        """
        shapes, room = self.shapes, self.rooms[number]
        board = Board(shapes.masks, shapes.groups, room.width, room.height, plan.along, room.bad)
        made = shapes.masks.made
        rest = list(left)
        same = like.taken_over(plan, left) if like else 0
        marks = list(like.marks[:same]) if like else []
        for group, x, y in like.board.placed[: marks[-1]] if like and marks else ():
            board.put(group, (x, y))
            unit = shapes.units[shapes.unit_of[group]]
            rest[unit.kind] -= unit.size
        marks += lay(board, shapes, plan.order[same:], rest, plan.rule)
        if any(rest):
            kinds = sorted((k for k, many in enumerate(rest) if many), key=lambda k: -shapes.areas[k])
            lay(board, shapes, [(k, rest[k]) for k in kinds], rest, plan.rule)
        self.work += board.work + 20 * (shapes.masks.made - made)
        return Full(plan, board, tuple(left), tuple(rest), tuple(marks))

    def _changed(self, plan: Plan, rng: random.Random) -> Plan:
        """The plan with a few blanks moved to another place in the order or laid as other units of their kind."""
        order = list(plan.order)
        for _ in range(rng.choice((1, 1, 2, 3))):
            i, j = rng.randrange(len(order)), rng.randrange(len(order))
            what, (unit, many) = rng.random(), order[i]
            if what < 0.3:
                order[i], order[j] = order[j], order[i]
                continue
            part = many if rng.random() < 0.4 else rng.randint(1, many)
            new = self._other(unit, part, rng) if what < 0.5 else [(unit, part)]
            order[i] = (unit, many - part)
            if what < 0.4:
                j = i
            order[j:j] = new
            order = [entry for entry in order if entry[1]]
        along, rule = plan.along, plan.rule
        if rng.random() < 0.1:
            along = rng.choice((0, 1))
        if rng.random() < 0.1:
            rule = rng.choice(RULES)
        return Plan(_merged(order), along, rule)

    def _other(self, unit: int, many: int, rng: random.Random) -> list[tuple[int, int]]:
        """So many of a unit as another unit of the same kind, with what is over as single blanks."""
        units = self.shapes.units
        same = [n for n, other in enumerate(units) if other.kind == units[unit].kind]
        other = rng.choice(same)
        groups, over = divmod(many * units[unit].size, units[other].size)
        return [(other, groups), (units[unit].kind, over)]


def _merged(order: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    merged: list[tuple[int, int]] = []
    for unit, many in order:
        if merged and merged[-1][0] == unit:
            many += merged.pop()[1]
        merged.append((unit, many))
    return tuple(merged)
