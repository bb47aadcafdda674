"""Pieces sawn from lengths: as few lengths as can be. Lengths mm.

Patterns of one length are listed whole where they are few; the integer programme over them is then the exact answer.
Where they are many, those are made that the linear programme's prices ask for, which leaves a length too many at times.

References
----------
[1] P. C. Gilmore, R. E. Gomory, "A linear programming approach to the cutting-stock problem", Operations Research 9,
    1961 (from memory)
"""

from collections.abc import Sequence

from flatgen.nest.guillotine.knapsacks import Knapsack
from flatgen.nest.programs import Programme

MOST_PATTERNS = 6000
CELL = 0.05  # of the knapsack that makes patterns; pieces are rounded up to it [mm]
ROUNDS = 300
Pattern = tuple[int, ...]  # pieces of each kind


def cut_lengths(
    pieces: Sequence[float], wanted: Sequence[int], length: float, kerf: float
) -> tuple[tuple[int, Pattern], ...]:
    """How many lengths are cut by which pattern; together they give the pieces wanted and no more.

    Parameters
    ----------
    pieces, wanted : sizes of each kind, and how many
    length : that may be used of each, its end trims taken off
    kerf : lost between two pieces

    Raises ValueError where a piece is longer than a length.
    """
    if any(piece > length + 1e-6 for piece, many in zip(pieces, wanted, strict=True) if many):
        raise ValueError("a piece is longer than a length")
    if not any(wanted):
        return ()
    room, sizes = length + kerf, [piece + kerf for piece in pieces]
    patterns = _all_patterns(sizes, wanted, room) or _asked_patterns(sizes, wanted, room)
    return _exact(_chosen(patterns, wanted), wanted)


def _all_patterns(sizes: Sequence[float], wanted: Sequence[int], room: float) -> list[Pattern]:
    """Every pattern that no piece can be added to; empty where they are too many."""
    order = sorted(range(len(sizes)), key=lambda kind: -sizes[kind])
    found: list[Pattern] = []

    def fill(at: int, left: float, taken: list[int]) -> bool:
        if len(found) > MOST_PATTERNS:
            return False
        if at == len(order):
            full = all(taken[k] >= wanted[k] or sizes[k] > left + 1e-6 for k in order)
            if full:
                found.append(tuple(taken))
            return True
        kind = order[at]
        most = min(wanted[kind], int((left + 1e-6) / sizes[kind]))
        for many in range(most, -1, -1):
            taken[kind] = many
            if not fill(at + 1, left - many * sizes[kind], taken):
                return False
        taken[kind] = 0
        return True

    return found if fill(0, room, [0] * len(sizes)) else []


def _asked_patterns(sizes: Sequence[float], wanted: Sequence[int], room: float) -> list[Pattern]:
    """Patterns that the prices ask for, begun with as many of one kind as a length takes."""
    kinds = range(len(sizes))
    patterns = [
        tuple(min(wanted[k], int((room + 1e-6) / sizes[k])) if k == kind else 0 for k in kinds)
        for kind in kinds
        if wanted[kind]
    ]
    programme = Programme()
    rows = [programme.row(float(many), None) for many in wanted]

    def enter(pattern: Pattern) -> None:
        programme.column(1.0, [(rows[k], float(many)) for k, many in enumerate(pattern) if many])

    for pattern in patterns:
        enter(pattern)
    for _ in range(ROUNDS):
        found = programme.relaxed()
        if found is None:
            break
        worth = [max(0.0, price) for price in found.prices[: len(sizes)]]
        pattern, value = _dearest(sizes, worth, wanted, room)
        if value <= 1.0 + 1e-7 or pattern in patterns:
            break
        patterns.append(pattern)
        enter(pattern)
    return patterns


def _dearest(
    sizes: Sequence[float], worth: Sequence[float], wanted: Sequence[int], room: float
) -> tuple[Pattern, float]:
    """The dearest filling of a length, no more of a kind than wanted."""
    pack = Knapsack(room, CELL)
    for kind, size in enumerate(sizes):
        if worth[kind] > 0.0:
            pack.offer(kind, size, worth[kind], wanted[kind])
    held = pack.held(pack.cells)
    return tuple(held.get(kind, 0) for kind in range(len(sizes))), float(pack.best[pack.cells])


def _chosen(patterns: Sequence[Pattern], wanted: Sequence[int]) -> list[tuple[int, Pattern]]:
    """The fewest patterns that hold what is wanted."""
    programme = Programme()
    rows = [programme.row(float(many), None) for many in wanted]
    for pattern in patterns:
        programme.column(1.0, [(rows[k], float(many)) for k, many in enumerate(pattern) if many])
    found = programme.whole(nodes=2000, step=1.0)
    assert found is not None, "every kind has a pattern of its own"
    return [(round(many), pattern) for many, pattern in zip(found.values, patterns, strict=True) if round(many)]


def _exact(chosen: Sequence[tuple[int, Pattern]], wanted: Sequence[int]) -> tuple[tuple[int, Pattern], ...]:
    """The same lengths without the pieces that nobody wants, taken from the last ones."""
    over = [sum(many * pattern[k] for many, pattern in chosen) - one for k, one in enumerate(wanted)]
    lengths = [list(pattern) for many, pattern in sorted(chosen, key=lambda one: -one[0]) for _ in range(many)]
    for pattern in reversed(lengths):
        for kind, surplus in enumerate(over):
            less = min(surplus, pattern[kind])
            pattern[kind] -= less
            over[kind] -= less
    alike: dict[Pattern, int] = {}
    for pattern in lengths:
        if any(pattern):
            alike[tuple(pattern)] = alike.get(tuple(pattern), 0) + 1
    return tuple((many, pattern) for pattern, many in alike.items())
