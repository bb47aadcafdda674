"""Ruin and recreate: whole orders as strips on sheets of one sort, and how the last sheet is drawn in. Lengths in mm.

A layout starts from strips that cost little, shared out to sheets. Its last sheets are also filled blank by blank, with
strips along the sheet on the one and across it on the other where that does better. Then some strips, one of the last
sheet's among them, are taken off again and again, and what lay in them is laid anew in the room that came free.

References
----------
[1] G. Schrimpf and others, "Record breaking optimization results using the ruin and recreate principle", Journal of
    Computational Physics 159, 2000 (from memory)
"""

import itertools
import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.nest.guillotine.beam_search import Beam, Ranking, Room
from flatgen.nest.guillotine.column_generation import StripPool, height_of, share_out
from flatgen.nest.guillotine.knapsacks import Strip, blank_area

TAIL = 4  # sheets, the last ones, that anything is changed on
TOGETHER = 2  # sheets, the last ones, that are filled blank by blank
FIRST = 0.2  # share of the work that goes to that; the rest to strips laid anew
IMPROVED = 3  # layouts, the best ones, of which strips are laid anew
FREED = (6, 12)  # fewest and most strips of one turn
RANKS = ((0.1, 1.0), (0.03, 1.0), (0.3, 0.5), (0.1, 0.5), (0.03, 0.5), (0.0, 1.0), (0.0, 0.0))
WIDTHS = (100, 50, 200)
CALM = 0.1  # share of waste that every strip counts as having, so that the full ones have their turn too
ALIKE = (2, 1, 4)


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


@dataclass(slots=True)
class Budget:
    """How much may still be tried.

    work : states looked at, times the blanks to lay, times the ways that a blank may lie
    least : what one search counts for at least, so that few blanks are not searched longer than they deserve
    seconds : tells the time left, None where only counts matter; no work is left when it is up
    """

    work: float
    seed: int
    least: float
    seconds: Callable[[], float | None]

    def spend(self, look: Ranking, part: StripPool) -> bool:
        """Count one search for a pool's order; whether there is still work to spend and time."""
        options = max(len(o) for o in part.options.values())
        self.work -= max(1.0, self.least, float(look.width * sum(part.demand) * options))
        left = self.seconds()
        if left is not None and left <= 0.0:
            self.work = 0.0
        return self.work > 0.0


def layouts_of(pool: StripPool, budget: Budget) -> list[Layout]:
    """Layouts of a whole order worth comparing, the best first."""
    found = sorted(shared_out_all(pool), key=lambda layout: layout.reach(pool))
    if not found:
        return []
    kept, ends = found[0].sheets[:-TAIL], Layout(found[0].sheets[-TAIL:])
    part = replace(pool, demand=_content(ends.sheets, len(pool.demand)))
    some = [ends, *([] if kept else found[1:])]
    rest = (1.0 - FIRST) * budget.work
    budget.work *= FIRST
    some += _filled_up(ends, part, budget)
    budget.work += rest
    better = [Layout((*kept, *layout.sheets)) for layout in _improved(some, part, budget)]
    return better + (found[1:] if kept else [])


def shared_out_all(pool: StripPool) -> Iterator[Layout]:
    """Strips of little height in each direction, put on sheets."""
    for along, (_, depth) in pool.size.items():
        strips = pool.dive(along)
        if strips:
            yield Layout(tuple((along, tuple(some)) for some in share_out(strips, depth)))


def _filled_up(layout: Layout, pool: StripPool, budget: Budget) -> list[Layout]:
    """The last sheets of a layout filled blank by blank, with strips that run alike or differently on the last.

    Two searches for every pair of directions, five more for the better half of them, all that are left for the best.
    """
    kept, ends = layout.sheets[:-TOGETHER], layout.sheets[-TOGETHER:]
    part = replace(pool, demand=_content(ends, len(pool.demand)))
    ways = [
        (a,) * (len(ends) - 1) + (b,) for a, b in itertools.product(pool.size, pool.size) if len(ends) > 1 or a == b
    ]
    best: dict[tuple[str, ...], Layout] = {}
    looks = _looks(budget.seed)
    for rounds, most in ((2, len(ways)), (5, max(1, len(ways) // 2)), (None, 1)):
        ways = sorted(ways, key=lambda way: best[way].reach(pool) if way in best else (len(ends) + 9, 0.0))[:most]
        for look in itertools.islice(looks, rounds):
            for way in ways:
                rooms = [(along, pool.size[along][1]) for along in (*way, way[-1])]
                found = _search(part, rooms, look)
                if found is not None:
                    new = _clean(
                        [*kept, *((along, tuple(some)) for (along, _), some in zip(rooms, found, strict=True))]
                    )
                    best[way] = min(best.get(way, new), new, key=lambda layout: layout.reach(pool))
                if not budget.spend(look, part):
                    return list(best.values())
    return list(best.values())


def _looks(seed: int) -> Iterator[Ranking]:
    """Ways to rank, without end: the same again wider or narrower, keeping more or fewer alike, shaken anew."""
    for turn in itertools.count():
        for number, (base, power) in enumerate(RANKS):
            width, alike = WIDTHS[(number + turn) % len(WIDTHS)], ALIKE[(number + 2 * turn) % len(ALIKE)]
            yield Ranking(base, power, width, alike, 1000 * seed + len(RANKS) * turn + number)


def _improved(layouts: Sequence[Layout], pool: StripPool, budget: Budget) -> list[Layout]:
    """Strips of the best layouts laid anew by turns: a few turns for each, more for the better half, and so on."""
    ranked = sorted(layouts, key=lambda layout: layout.reach(pool))
    some, others = ranked[:IMPROVED], ranked[IMPROVED:]
    most, turn = len(some), 1000 * budget.seed
    while most and budget.work > 0.0:
        end = 0.0 if most == 1 else budget.work / 2.0
        while budget.work > end:
            for place, layout in enumerate(some[:most]):
                turn += 1
                some[place] = relaid(layout, pool, turn, budget) or layout
        some.sort(key=lambda layout: layout.reach(pool))
        most //= 2
    return some + others


def relaid(layout: Layout, pool: StripPool, turn: int, budget: Budget) -> Layout | None:
    """The layout with some strips, picked by the number of the turn, laid anew; None when that reaches farther.

    One that reaches as far as before is taken too: other strips may lead on.
    """
    rng = random.Random(turn)
    freed = _freed(layout, pool, rng)
    kept = [
        (along, tuple(s for place, s in enumerate(strips) if (number, place) not in freed))
        for number, (along, strips) in enumerate(layout.sheets)
    ]
    have = _content(kept, len(pool.demand))
    part = replace(pool, demand=[max(0, many - laid) for many, laid in zip(pool.demand, have, strict=True)])
    look = Ranking(*rng.choice(RANKS), rng.choice(WIDTHS), rng.choice(ALIKE), turn)
    if not budget.spend(look, part):
        return None
    rooms = [(along, pool.size[along][1] - height_of(strips)) for along, strips in kept[:-1]]
    last, strips = layout.sheets[-1]
    rooms.append((last, height_of(strips) - height_of(kept[-1][1])))
    found = _search(part, rooms, look)
    if found is None:
        return None
    return _clean([(along, (*strips, *some)) for (along, strips), some in zip(kept, found, strict=True)])


def _search(part: StripPool, rooms: Sequence[tuple[str, float]], look: Ranking) -> list[list[Strip]] | None:
    """An order laid blank by blank into rooms (direction of the strips, free depth); None when it does not fit."""
    places = [Room(part.size[along][0], depth, part.options[along]) for along, depth in rooms]
    return Beam(places, part.demand, part.rules).run(look)


def _freed(layout: Layout, pool: StripPool, rng: random.Random) -> set[tuple[int, int]]:
    """Which strips (sheet, place) to lay anew: at least one of the last sheet, others likelier the more they waste."""
    end = len(layout.sheets) - 1
    drawn = []
    for number, (along, strips) in enumerate(layout.sheets):
        for place, strip in enumerate(strips):
            whole = pool.size[along][0] * strip.block.height
            share = 1.0 - math.fsum(blank_area(pool.options[along], kind) * many for kind, many in strip.counts) / whole
            drawn.append((rng.random() ** (1.0 / (share + CALM)), number, place))
    drawn.sort(reverse=True)
    first = next(spot for spot in drawn if spot[1] == end)
    some = [first, *(spot for spot in drawn if spot != first)][: rng.randrange(FREED[0], FREED[1] + 1)]
    return {(number, place) for _, number, place in some}


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
