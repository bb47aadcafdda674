"""Whole orders as strips on sheets of one sort, and how the last sheet is drawn in. Lengths in mm.

A layout starts from the cheapest strips shared out to sheets; its last two sheets are also reckoned together with their
strips in other directions. Then some strips, the last sheet's among them, are taken off again and again and what lay in
them is laid anew by a small integer programme: in the room that came free on the other sheets at no cost, on the last
sheet as short as can be.
"""

import itertools
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.nest.beam import Beam, Look, Room
from flatgen.nest.stripwise import StripPool, height_of, share_out
from flatgen.nest.strips import Strip

FREED = (5, 12)  # fewest and most strips laid anew in one turn
COLUMNS = 120  # most strips that one integer programme picks from
GAP = 0.003  # share by which it may miss the best
TOGETHER = 2  # sheets, the last ones, that are laid anew blank by blank
IMPROVED = 4  # layouts, the best ones, of which strips are laid anew
RANKS = ((0.1, 1.0), (0.03, 1.0), (0.3, 0.5), (0.1, 0.5), (0.03, 0.5), (0.0, 1.0), (0.0, 0.0))
WIDTHS = (100, 50, 200)
ALIKE = (2, 1, 4)
MOST_LOOKS = 1000
FAST = True
PICKED = 12  # every how many turns strips are picked by an integer programme, else they are filled blank by blank
SAME = 1e-6  # mm


@dataclass(frozen=True, slots=True)
class Layout:
    """Strips on sheets, each sheet with the direction that its strips run along; the last sheet is the short one."""

    sheets: tuple[tuple[str, tuple[Strip, ...]], ...]

    def reach(self, pool: StripPool) -> tuple[int, float]:
        """How many sheets, and the share of the last that is taken: what there should be less of."""
        if not self.sheets:
            return 0, 0.0
        along, strips = self.sheets[-1]
        return len(self.sheets), round(height_of(strips) / pool.size[along][1], 9)


@dataclass(frozen=True, slots=True)
class Budget:
    """How much is tried, in counts.

    nodes : branches of an integer programme over a few strips
    turns : times that some strips are laid anew, over all layouts
    work : states looked at blank by blank, times the ways that a blank may lie
    seconds : tells the time left, None where only counts matter
    """

    nodes: int
    turns: int
    work: float
    seed: int
    seconds: Callable[[], float | None]

    def over(self) -> bool:
        """Whether the time is up."""
        left = self.seconds()
        return left is not None and left <= 0.0


def layouts_of(pool: StripPool, budget: Budget) -> list[Layout]:
    """Layouts of a whole order worth comparing, the best first."""
    found = list(_shared_out(pool, budget))
    if found:
        found.sort(key=lambda layout: layout.reach(pool))
        found += _beamed(found[0], pool, budget)
    return _improved(found, pool, budget)


def _shared_out(pool: StripPool, budget: Budget) -> Iterator[Layout]:
    """Strips of the least height in each direction, put on sheets."""
    for along, (_, depth) in pool.size.items():
        first = pool.dive(along)
        if first is None:
            continue
        found = first if FAST else pool.choose(along, nodes=budget.nodes, gap=GAP, seconds=budget.seconds(), columns=COLUMNS)
        if found is not None and found[1]:
            yield Layout(tuple((along, tuple(strips)) for strips in share_out(found[1], depth)))


def _beamed(layout: Layout, pool: StripPool, budget: Budget) -> list[Layout]:
    """The last sheets of a layout laid anew blank by blank, with strips that run alike or differently on the last.

    Two looks for every pair of directions, five more for the better half of them, all that are left for the best.
    """
    kept, ends = layout.sheets[:-TOGETHER], layout.sheets[-TOGETHER:]
    demand = _content(ends, len(pool.demand))
    ways = [(a,) * (len(ends) - 1) + (b,) for a, b in itertools.product(pool.size, pool.size) if len(ends) > 1 or a == b]
    best: dict[tuple[str, ...], Layout] = {}
    looks = _looks(budget.seed)
    work = budget.work / max(1, sum(demand) * max(len(o) for o in pool.options.values()))
    for rounds, most in ((2, len(ways)), (5, max(1, len(ways) // 2)), (MOST_LOOKS, 1)):
        ways = sorted(ways, key=lambda way: best[way].reach(pool) if way in best else (len(ends) + 9, 0.0))[:most]
        for how in itertools.islice(looks, rounds):
            for way in ways:
                if budget.over() or work <= 0.0:
                    return list(best.values())
                work -= how.width
                spare = (*way, way[-1])
                found = Beam([_room(pool, along) for along in spare], demand, pool.rules).run(how)
                if found is not None:
                    new = _clean([*kept, *((a, tuple(strips)) for a, strips in zip(spare, found, strict=True))])
                    best[way] = min(best.get(way, new), new, key=lambda layout: layout.reach(pool))
    return list(best.values())


def _room(pool: StripPool, along: str, depth: float | None = None) -> Room:
    """A sheet with strips that run one way, or as much of its depth [mm] as is free."""
    length, whole = pool.size[along]
    return Room(length, whole if depth is None else depth, pool.options[along])


def _looks(seed: int) -> Iterator[Look]:
    """Ways to rank, without end: the same again wider or narrower, keeping more or fewer alike, shaken anew."""
    for turn in itertools.count():
        for number, (base, power) in enumerate(RANKS):
            width, alike = WIDTHS[(number + turn) % len(WIDTHS)], ALIKE[(number + 2 * turn) % len(ALIKE)]
            yield Look(base, power, width, alike, 1000 * seed + len(RANKS) * turn + number)


def _improved(layouts: Sequence[Layout], pool: StripPool, budget: Budget) -> list[Layout]:
    """Strips of the best layouts laid anew by turns: a few turns for each, more for the better half, and so on."""
    ranked = sorted(layouts, key=lambda layout: layout.reach(pool))
    some, others = ranked[:IMPROVED], ranked[IMPROVED:]
    turns, number, most = budget.turns, 0, len(some)
    while most:
        each = turns if most == 1 else turns // (2 * most)
        turns -= each * most
        for place, layout in enumerate(some[:most]):
            for _ in range(each):
                if budget.over():
                    break
                number += 1
                layout = relaid(layout, pool, budget.seed * 1000 + number, budget.nodes) or layout
            some[place] = layout
        some.sort(key=lambda layout: layout.reach(pool))
        most //= 2
    return some + others


def relaid(layout: Layout, pool: StripPool, turn: int, nodes: int) -> Layout | None:
    """The layout with some strips, picked by the number of the turn, laid anew; None when that gives nothing better.

    One that reaches as far as before is taken too: other strips may lead on.
    """
    rng = random.Random(turn)
    freed = _freed(layout, rng)
    kept = [
        (along, tuple(s for place, s in enumerate(strips) if (number, place) not in freed))
        for number, (along, strips) in enumerate(layout.sheets)
    ]
    need = [
        max(0, many - have)
        for many, have in zip(pool.demand, _content(kept, len(pool.demand)), strict=True)
    ]
    if not any(need):
        return _clean(kept)
    last, strips = layout.sheets[-1]
    room = height_of(strips) - height_of(kept[-1][1])  # what the last sheet's new strips may take
    fulls = [(along, pool.size[along][1] - height_of(strips)) for along, strips in kept[:-1]]
    part = replace(pool, strips={}, demand=need)
    if turn % PICKED:
        new = _filled(part, fulls, (last, room), turn, rng)
    else:
        for number, place in sorted(freed):
            part.enter(layout.sheets[number][0], layout.sheets[number][1][place])
        new = _picked(part, fulls, (last, room), nodes)
    if new is None:
        return None
    return _clean([(along, (*strips, *more)) for (along, strips), more in zip(kept, new, strict=True)])


def _filled(
    part: StripPool, fulls: Sequence[tuple[str, float]], end: tuple[str, float], turn: int, rng: random.Random
) -> list[list[Strip]] | None:
    """Rooms on sheets, the last one's at the end, filled blank by blank."""
    look = Look(*rng.choice(RANKS), rng.choice(WIDTHS), rng.choice(ALIKE), turn)
    return Beam([_room(part, along, depth) for along, depth in [*fulls, end]], part.demand, part.rules).run(look)


def _picked(
    part: StripPool, fulls: Sequence[tuple[str, float]], end: tuple[str, float], nodes: int
) -> list[list[Strip]] | None:
    """The same rooms with strips that an integer programme picks."""
    last, room = end
    if part.least(last, fulls, rounds=12) > room - SAME:
        return None
    part.dive(last, fulls, rounds=2)
    found = part.choose(last, fulls, room + SAME, nodes, gap=GAP, columns=COLUMNS)
    return None if found is None else [*found[0], found[1]]


def _freed(layout: Layout, rng: random.Random) -> set[tuple[int, int]]:
    """Which strips (sheet, place) to lay anew: one of the last sheet at least, the others from anywhere."""
    end = len(layout.sheets) - 1
    spots = [(number, place) for number, (_, strips) in enumerate(layout.sheets) for place in range(len(strips))]
    first = rng.choice([spot for spot in spots if spot[0] == end])
    others = [spot for spot in spots if spot != first]
    many = rng.randrange(FREED[0], FREED[1] + 1) - 1
    return {first, *rng.sample(others, min(many, len(others)))}


def _content(sheets: Sequence[tuple[str, Sequence[Strip]]], kinds: int) -> list[int]:
    """How many blanks of each kind the strips hold."""
    found = [0] * kinds
    for _, strips in sheets:
        for strip in strips:
            for kind, many in strip.counts:
                found[kind] += many
    return found


def _clean(sheets: Sequence[tuple[str, tuple[Strip, ...]]]) -> Layout:
    return Layout(tuple((along, strips) for along, strips in sheets if strips))
