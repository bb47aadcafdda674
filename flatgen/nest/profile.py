"""Profile cutting: blanks laid into one another first, then into openings, then, as rectangles, on the sheets.

Several ways to pair the blanks up are tried and the best nest is kept. Lengths in mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flatgen.core.points import after, move, shifted, turned
from flatgen.model.plan import Piece
from flatgen.model.shop import Sheet
from flatgen.nest.block import leaves, tidy
from flatgen.nest.clusters import Cluster, cluster_kind, clusters_of, is_rectangle
from flatgen.nest.greedy import Bin, Filled
from flatgen.nest.guillotine import QUICK, Search
from flatgen.nest.kinds import Kind, Member, single_kind
from flatgen.nest.stock import prices, regions_of
from flatgen.nest.strips import Rules
from flatgen.nest.windows import Window, window_bins, windows_of


@dataclass(frozen=True, slots=True)
class Group:
    """So many clusters (or single blanks) of one piece."""

    piece: int
    cluster: Cluster | None
    many: int


def nest_profiles(
    pieces: Sequence[Piece], stock: Sequence[Sheet], gap: float, seconds: float | None = None
) -> tuple[list[tuple[int, list[Member]]], list[int], str]:
    """(sheet number, blanks in place) for every sheet used, pieces left over, and how it was found.

    Where clusters or openings leave a piece without a place, single blanks are tried as well.
    """
    clusters = [
        clusters_of(piece, stock[0].grain, gap) if stock and piece.quantity > 1 and not is_rectangle(piece) else []
        for piece in pieces
    ]
    windows = windows_of(pieces, gap)
    best: tuple[tuple[float, ...], list[tuple[int, list[Member]]], list[int], str] | None = None
    for largest, use_windows in _variants(clusters, windows):
        groups = grouped(pieces, clusters, largest, stock, gap)
        found = _try(pieces, stock, gap, groups, windows if use_windows else [], seconds)
        if best is None or found[0] < best[0]:
            best = found
        if not any(best[2]) and largest > 0 and not use_windows:
            break
    assert best is not None
    return best[1], best[2], best[3]


def _variants(clusters: Sequence[Sequence[Cluster]], windows: Sequence[Window]) -> list[tuple[int, bool]]:
    """Most blanks in a cluster, and whether openings are used; the plainest comes last."""
    found = []
    if any(clusters):
        found += [(6, bool(windows)), (2, bool(windows))]
    if windows:
        found.append((1, True))
    return [*dict.fromkeys(found), (1, False)]


def grouped(
    pieces: Sequence[Piece], clusters: Sequence[Sequence[Cluster]], largest: int, stock: Sequence[Sheet], gap: float
) -> list[Group]:
    """Every piece as clusters of at most ``largest`` blanks that fit on the largest sheet, and single blanks."""
    groups = []
    room = max((max(s.width, s.height) - 2 * s.margin for s in stock), default=0.0)
    for index, piece in enumerate(pieces):
        left = piece.quantity
        for cluster in clusters[index]:
            size = len(cluster.places)
            if size > largest or max(cluster.width, cluster.height) > room / 2.0:
                continue
            if left // size:
                groups.append(Group(index, cluster, left // size))
                left %= size
        if left:
            groups.append(Group(index, None, left))
    return groups


def kinds_of(pieces: Sequence[Piece], groups: Sequence[Group], grain: float) -> tuple[Kind, ...]:
    """The groups as kinds for a sheet with this grain."""
    return tuple(
        single_kind(pieces[g.piece], g.piece, grain, g.many)
        if g.cluster is None
        else cluster_kind(pieces[g.piece], g.piece, g.cluster, grain, g.many)
        for g in groups
    )


def _try(
    pieces: Sequence[Piece],
    stock: Sequence[Sheet],
    gap: float,
    groups: Sequence[Group],
    windows: Sequence[Window],
    seconds: float | None,
) -> tuple[tuple[float, ...], list[tuple[int, list[Member]]], list[int], str]:
    rules = Rules(stages=99)
    bins = []
    for number, (sheet, cost) in enumerate(zip(stock, prices(stock), strict=True)):
        regions = tuple((r.width + gap, r.height + gap) for r in regions_of(sheet))
        rank = 0 if sheet.remnant else (2 if sheet.copies is None else 1)
        kinds = kinds_of(pieces, groups, sheet.grain)
        bins.append(Bin(number, regions, sheet.copies, cost, sheet.width * sheet.height, kinds, rank))
    demand = [g.many for g in groups]
    inside: dict[int, list[list[Member]]] = {number: [] for number in range(len(windows))}
    if windows and bins:
        holes = window_bins(windows, pieces, kinds_of(pieces, groups, stock[0].grain), gap)
        filled, demand = Search(holes, demand, gap, rules, QUICK).run()
        for sheet_filled in filled:
            window = windows[sheet_filled.bin]
            members = _members(sheet_filled, holes[sheet_filled.bin], [(window.x, window.y)])
            inside[sheet_filled.bin].append(members)
    search = Search(bins, demand, gap, rules, QUICK)
    filled, left = search.run()
    sheets = []
    for sheet_filled in filled:
        corners = [(r.x, r.y) for r in regions_of(stock[sheet_filled.bin])]
        members = _members(sheet_filled, bins[sheet_filled.bin], corners)
        sheets.append((sheet_filled.bin, _with_insides(members, windows, inside)))
    lost = [0] * len(pieces)
    for group, many in zip(groups, left, strict=True):
        lost[group.piece] += many * (len(group.cluster.places) if group.cluster else 1)
    for rest in inside.values():
        for members in rest:  # hosts that found no place take their insides with them
            for member in members:
                lost[member.piece] += 1
    score = search.score(filled, left, bins) if bins else (0.0,)
    return (float(sum(lost) > 0), float(sum(lost)), *score), sheets, lost, search.engine


def _members(filled: Filled, bin_: Bin, corners: Sequence[tuple[float, float]]) -> list[Member]:
    """Every blank of a sheet in its place."""
    found = []
    for (cx, cy), block in zip(corners, filled.blocks, strict=True):
        if block is None:
            continue
        for kind, turn, x, y in leaves(tidy(block)):
            for m in bin_.kinds[kind].turns[turn].members:
                found.append(replace(m, x=m.x + cx + x, y=m.y + cy + y))
    return found


def _with_insides(
    members: list[Member], windows: Sequence[Window], inside: dict[int, list[list[Member]]]
) -> list[Member]:
    """The blanks of a sheet, each host followed by what lies in its openings."""
    found = []
    for host in members:
        found.append(host)
        for number, window in enumerate(windows):
            if window.host == host.piece and not host.mirrored and inside[number]:
                motion = after(shifted(host.x, host.y), turned(host.rotation))
                for m in inside[number].pop(0):
                    x, y = move(motion, (m.x, m.y))
                    found.append(replace(m, x=x, y=y, rotation=(m.rotation + host.rotation) % 360.0))
    return found
