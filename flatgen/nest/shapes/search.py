"""Profile cutting: blanks laid into one another first, then into openings, then, as rectangles, on the sheets.

Several ways to pair the blanks up are tried and the best nest is kept. Lengths in mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from flatgen.core.outline import bounds, moved
from flatgen.core.points import laying
from flatgen.model.plan import Piece
from flatgen.model.shop import Sheet
from flatgen.nest.effort import CHOICE, SKETCH, Effort
from flatgen.nest.guillotine.cuts import CutPlan, Rect
from flatgen.nest.guillotine.greedy import Bin
from flatgen.nest.guillotine.knapsacks import Rules
from flatgen.nest.guillotine.regions import regions_of
from flatgen.nest.guillotine.search import Search
from flatgen.nest.kinds import Kind, Member, single_kind
from flatgen.nest.offcuts import area, free_rectangles
from flatgen.nest.shapes.clusters import Cluster, cluster_kind, clusters_of, is_rectangle
from flatgen.nest.shapes.fitted import TAIL, Fitting, Sheets, quick
from flatgen.nest.shapes.windows import Window, carried, fill_windows, groups_on, windows_of
from flatgen.nest.stock import prices, rank_of

FEW = 40  # pieces up to which sizes of sheets are chosen among by programme
SOME, MANY = 400, 700  # pieces beyond which fewer ways of pairing up, and no whole orders by true shapes, are tried


@dataclass(frozen=True, slots=True)
class Group:
    """So many clusters (or single blanks) of one piece."""

    piece: int
    cluster: Cluster | None
    many: int


@dataclass(frozen=True, slots=True)
class Profiled:
    """A profile-cut nest: score (lower is better), (sheet number, blanks) of each sheet, pieces left over, engine."""

    score: tuple[float, ...]
    sheets: list[tuple[int, list[Member]]]
    left: list[int]
    engine: str


def nest_profiles(pieces: Sequence[Piece], stock: Sequence[Sheet], gap: float) -> Profiled:
    """Every sheet used with its blanks in place, pieces left over, and how it was found.

    Blanks in pairs, rows and openings as rectangles, and blanks laid by their true shapes; the better nest counts.
    """
    best = by_rectangles(pieces, stock, gap, SKETCH)
    if not stock or not any(piece.quantity for piece in pieces):
        return best
    if sum(sheet.copies is None for sheet in stock) > 1 and sum(piece.quantity for piece in pieces) <= FEW:
        best = min(best, by_rectangles(pieces, stock, gap, CHOICE), key=lambda entry: entry.score)
    fitting, effort = Fitting(pieces, stock, gap), quick(pieces)

    def offer(sheets: Sheets, left: list[int], engine: str) -> None:
        nonlocal best
        best = min(best, profiled(sheets, left, pieces, stock, engine), key=lambda entry: entry.score)

    if not best.sheets or len(best.sheets) > TAIL and sum(piece.quantity for piece in pieces) <= MANY:
        offer(*fitting.whole(effort), "true shapes")
    if best.sheets:
        offer(*fitting.tail(best.sheets, best.left, effort), "true shapes")
    return best


def profiled(sheets: Sheets, left: list[int], pieces: Sequence[Piece], stock: Sequence[Sheet], engine: str) -> Profiled:
    """A nest with its score: blanks left over, cost to buy, cost of all, share of the emptiest sheet, which is last."""
    costs = prices(stock)
    sheets = [_cheapest(sheet, pieces, stock, costs) for sheet in sheets]
    order = sorted(sheets, key=lambda s: (rank_of(stock[s[0]]), -_share(s, pieces, stock)))
    buy = math.fsum(costs[n] for n, _ in order if rank_of(stock[n]) == 2)
    share = _share(order[-1], pieces, stock) if order else 0.0
    score = (float(sum(left)), round(buy, 6), round(math.fsum(costs[n] for n, _ in order), 6), round(share, 3))
    return Profiled(score, order, left, engine)


def _cheapest(
    sheet: tuple[int, list[Member]], pieces: Sequence[Piece], stock: Sequence[Sheet], costs: Sequence[float]
) -> tuple[int, list[Member]]:
    """A bought sheet's blanks as they lie, on the cheapest clean size that can be bought and takes them so."""
    number, members = sheet
    if rank_of(stock[number]) < 2 or len(stock) == 1:
        return sheet
    taken = [reach_of(pieces[m.piece], m) for m in members]
    x, y = min(r[0] for r in taken), min(r[1] for r in taken)
    width, height = max(r[2] for r in taken) - x, max(r[3] for r in taken) - y
    best = number
    for other, metal in enumerate(stock):
        same = metal.copies is None and not metal.remnant and not metal.bad_areas and metal.grain == stock[number].grain
        room = min(metal.width - 2 * metal.margin - width, metal.height - 2 * metal.margin - height)
        if same and room >= 0.0 and costs[other] < costs[best] - 1e-9:
            best = other
    if best == number:
        return sheet
    dx, dy = stock[best].margin - x, stock[best].margin - y
    return best, [replace(m, x=m.x + dx, y=m.y + dy) for m in members]


def _share(sheet: tuple[int, list[Member]], pieces: Sequence[Piece], stock: Sequence[Sheet]) -> float:
    """Share of a sheet that is not its largest off-cut."""
    number, members = sheet
    metal = stock[number]
    taken = [reach_of(pieces[m.piece], m) for m in members]
    rests = free_rectangles(metal.width, metal.height, taken, metal.bad_areas)
    return round(1.0 - area(rests[0]) / (metal.width * metal.height), 6)


def reach_of(piece: Piece, member: Member) -> Rect:
    """The rectangle about a blank where it lies."""
    x0, y0, x1, y1 = bounds([moved(piece.outline, laying(member.rotation, member.mirrored))])
    return (x0 + member.x, y0 + member.y, x1 + member.x, y1 + member.y)


def by_rectangles(pieces: Sequence[Piece], stock: Sequence[Sheet], gap: float, effort: Effort) -> Profiled:
    """Blanks laid into one another and into openings first, then nested as rectangles.

    Where clusters or openings leave a piece without a place, and in a longer search, single blanks are tried as well.
    """
    clusters = [
        clusters_of(piece, stock[0].grain, gap) if stock and piece.quantity > 1 and not is_rectangle(piece) else []
        for piece in pieces
    ]
    tried: list[tuple[Profiled, list[Group], bool]] = []
    few = 1 if sum(piece.quantity for piece in pieces) > SOME else 2
    for number, (largest, inner) in enumerate(_variants(clusters)):
        if number < (4 if effort.programmes else few) or tried[-1][0].score[0]:
            groups = grouped(pieces, clusters, largest, stock)
            tried.append((_try(pieces, stock, gap, groups, inner, SKETCH), groups, inner))
    tried.sort(key=lambda entry: entry[0].score)
    best = tried[0][0]
    for _, groups, inner in tried[:2] if effort.programmes else []:
        if not effort.over():
            found = _try(pieces, stock, gap, groups, inner, effort)
            best = min(best, found, key=lambda entry: entry.score)
    return best


def _variants(clusters: Sequence[Sequence[Cluster]]) -> list[tuple[int, bool]]:
    """Most blanks in a cluster, and whether room inside others is used; the plainest comes last."""
    return [*([(6, True), (2, True)] if any(clusters) else []), (1, True), (1, False)]


def grouped(
    pieces: Sequence[Piece], clusters: Sequence[Sequence[Cluster]], largest: int, stock: Sequence[Sheet]
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
    pieces: Sequence[Piece], stock: Sequence[Sheet], gap: float, groups: Sequence[Group], inner: bool, effort: Effort
) -> Profiled:
    rules = Rules(stages=99)
    bins = []
    for number, (sheet, cost) in enumerate(zip(stock, prices(stock), strict=True)):
        regions = tuple((r.width + gap, r.height + gap) for r in regions_of(sheet, CutPlan(kerf=gap)))
        rank = rank_of(sheet)
        kinds = kinds_of(pieces, groups, sheet.grain)
        bins.append(Bin(number, regions, sheet.copies, cost, kinds, rank))
    demand = [g.many for g in groups]
    inside: dict[int, list[list[Member]]] = {}
    windows: list[Window] = []
    if inner and bins:
        hosts = bins[0].kinds
        sides = [sorted((t.width, t.height)) for kind in hosts for t in kind.turns]
        least = (min((s[0] for s in sides), default=0.0), min((s[1] for s in sides), default=0.0))
        windows = windows_of(pieces, hosts, gap, least)
        # an opening's host must not be turned over, or what lies in it would be as well
        bins = [
            replace(b, kinds=tuple(_one_side(kind, first) for kind, first in zip(b.kinds, hosts, strict=True)))
            for b in bins
        ]
        every_turn = [[turn for b in bins for turn in b.kinds[n].turns] for n in range(len(hosts))]
        inside, demand = fill_windows(windows, pieces, hosts, every_turn, demand, gap)
    search = Search(bins, demand, gap, rules, effort)
    filled, left = search.run()
    sheets = []
    for sheet_filled in filled:
        corners = [(r.x, r.y) for r in regions_of(stock[sheet_filled.bin], CutPlan(kerf=gap))]
        members: list[Member] = []
        for kind, turn, x, y in groups_on(sheet_filled, bins[sheet_filled.bin], corners):
            members += [replace(m, x=m.x + x, y=m.y + y) for m in turn.members]
            for number, window in enumerate(windows):
                if window.host == kind and inside[number]:
                    members += carried(inside[number].pop(0), bins[0].kinds[kind].turns[0], turn, x, y)
        sheets.append((sheet_filled.bin, members))
    lost = [0] * len(pieces)
    for group, many in zip(groups, left, strict=True):
        lost[group.piece] += many * (len(group.cluster.places) if group.cluster else 1)
    for rest in inside.values():
        for forgotten in rest:  # hosts that found no place take their insides with them
            for member in forgotten:
                lost[member.piece] += 1
    return profiled(sheets, lost, pieces, stock, search.engine)


def _one_side(kind: Kind, first: Kind) -> Kind:
    if not first.turns:
        return kind
    sides = [m.mirrored for m in first.turns[0].members]
    return replace(kind, turns=tuple(t for t in kind.turns if [m.mirrored for m in t.members] == sides))
