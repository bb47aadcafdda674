"""An independent check of a nest: its own geometry, nothing from the nester. Lengths in mm.

Blanks are read from outlines with bulges; arcs become many points on the true arc, so that a gap is measured against
the true curve to within a hundredth of a millimetre.
"""

import math
from collections import Counter, defaultdict

import shapely
from shapely import STRtree
from shapely.geometry import Polygon, box

TOLERANCE = 0.02
CUT_TOLERANCE = 1e-4


def ring(outline, step=0.03):
    points = []
    for (x, y, bulge), (x2, y2, _) in zip(outline, [*outline[1:], outline[0]], strict=True):
        points.append((x, y))
        if abs(bulge) < 1e-12:
            continue
        sweep = 4 * math.atan(bulge)
        chord = math.hypot(x2 - x, y2 - y)
        radius = chord / (2 * math.sin(sweep / 2))
        middle = ((x + x2) / 2, (y + y2) / 2)
        h = radius * math.cos(sweep / 2)
        cx, cy = middle[0] - (y2 - y) / chord * h, middle[1] + (x2 - x) / chord * h
        start = math.atan2(y - cy, x - cx)
        count = max(2, int(abs(sweep) / step) + 1)
        for k in range(1, count):
            a = start + sweep * k / count
            points.append((cx + abs(radius) * math.cos(a), cy + abs(radius) * math.sin(a)))
    return points


def laid(points, placement):
    if placement.mirrored:
        points = [(-x, y) for x, y in points]
    a = math.radians(placement.rotation)
    c, s = math.cos(a), math.sin(a)
    if placement.rotation % 90 == 0:
        c, s = round(c), round(s)
    return [(c * x - s * y + placement.x, s * x + c * y + placement.y) for x, y in points]


def check_result(result, pieces, sheets, tool):
    """Every rule of a nesting result; raises AssertionError with what is wrong."""
    check_counts(result, pieces)
    check_stock(result, sheets)
    by_part = {piece.part: piece for piece in pieces}
    for nest in result.nests:
        check_sheet(nest, by_part, tool)
        if tool.method == "shear":
            check_cuts(nest, by_part, tool)
    check_first(result.nests, by_part, tool)
    check_copies(result)
    assert 0.0 <= result.area_bound <= result.bound <= result.cost * (1 + 1e-8), "a bound above a nest"
    check_waste(result.waste)


def check_first(nests, by_part, tool):
    """What comes first is on the first sheets and first in their lists; edge to edge, it is cut before all others."""
    holders = [any(by_part[p.part].first for p in nest.placements) for nest in nests]
    assert holders == sorted(holders, reverse=True), "a sheet with what comes first after another"
    for nest in [n for n, holds in zip(nests, holders, strict=True) if holds]:
        firsts, others = [], []
        for p in nest.placements:
            shape = box(*Polygon(laid(ring(by_part[p.part].outline), p)).bounds)
            (firsts if by_part[p.part].first else others).append(shape)
            assert not (by_part[p.part].first and others), p
            assert by_part[p.part].first == (p.part in nest.first), p
        if tool.method == "shear":
            check_first_cuts(nest, firsts, others)


def check_first_cuts(nest, firsts, others):
    """Cut the sheet: the first cut parts them from all others, and these are not cut before they are free."""
    metal, made = [box(0.0, 0.0, nest.sheet.width, nest.sheet.height)], []
    for cut in nest.cuts:
        (x0, y0), (x1, _) = cut.start, cut.end
        line = shapely.LineString([cut.start, cut.end])
        piece = max(metal, key=lambda p, line=line: p.buffer(-1e-3).intersection(line).length)
        metal.remove(piece)
        a, b, c, d = piece.bounds
        upright = abs(x0 - x1) < CUT_TOLERANCE
        metal += [box(a, b, x0, d), box(x0, b, c, d)] if upright else [box(a, b, c, y0), box(a, y0, c, d)]
        made.append([sum(p.intersection(one).area > 0.5 * one.area for one in firsts) for p in (piece, *metal[-2:])])
        if made[0][0] and others and len(made) == 1:
            assert sorted(made[0][1:]) == [0, len(firsts)], "they are not parted by the first cut"
            low = metal[-2] if made[0][1] else metal[-1]
            assert not any(low.intersection(one).area > 0.5 * one.area for one in others), "on a strip with others"
    held = [entry[0] > 0 for entry in made]
    assert held == sorted(held, reverse=True), "another is cut before they are free"


def check_waste(w):
    """No kind of waste is less than nothing."""
    least = -1e-6 * w.sheets
    assert all(v >= least for v in (w.blanks, w.margin, w.kerf, w.gap, w.offcuts, w.scrap)), w


def check_counts(result, pieces):
    placed = Counter(p.part for nest in result.nests for p in nest.placements)
    lost = Counter()
    for entry in result.unplaced:
        assert entry.quantity > 0 and entry.reason
        lost[entry.part] += entry.quantity
    for piece in pieces:
        assert placed[piece.part] + lost[piece.part] == piece.quantity, (piece.part, placed, lost)
    assert set(placed) | set(lost) <= {piece.part for piece in pieces}


def check_copies(result):
    seen = set()
    for nest in result.nests:
        for p in nest.placements:
            assert (p.part, p.copy) not in seen
            seen.add((p.part, p.copy))


def check_stock(result, sheets):
    used = Counter(nest.sheet.id for nest in result.nests)
    for sheet in sheets:
        if sheet.copies is not None:
            assert used[sheet.id] <= sheet.copies, sheet.id
    assert set(used) <= {sheet.id for sheet in sheets}


def check_sheet(nest, by_part, tool):
    """In the sheet, margin and bad areas kept, turns allowed, no overlap, gap kept (openings included)."""
    sheet, gap = nest.sheet, (tool.gap if tool.method == "profile-cut" else 0.0)
    m = sheet.margin
    shapes = []
    for p in nest.placements:
        piece = by_part[p.part]
        check_turn(p, piece, sheet)
        outer = laid(ring(piece.outline), p)
        holes = [laid(ring(c), p) for c in piece.cutouts]
        shape = Polygon(outer, holes)
        assert shape.is_valid, p
        x0, y0, x1, y1 = shape.bounds
        assert x0 >= m - TOLERANCE and y0 >= m - TOLERANCE, p
        assert x1 <= sheet.width - m + TOLERANCE and y1 <= sheet.height - m + TOLERANCE, p
        for bx, by, bw, bh in sheet.bad_areas:
            assert shape.intersection(box(bx, by, bx + bw, by + bh)).area < 0.05, (p, "bad area")
        shapes.append(shape)
    tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in tree.query(shape.buffer(gap + 1)):
            if j <= i:
                continue
            assert shapely.intersection(shape, shapes[j], grid_size=1e-7).area < 0.05, (
                nest.placements[i],
                nest.placements[j],
            )
            if gap:
                assert shape.distance(shapes[j]) >= gap - TOLERANCE, (
                    nest.placements[i],
                    nest.placements[j],
                    shape.distance(shapes[j]),
                )
    for o in nest.offcuts:
        rest = box(o.x, o.y, o.x + o.width, o.y + o.height)
        assert o.x >= -1e-6 and o.y >= -1e-6
        assert o.x + o.width <= sheet.width + 1e-6 and o.y + o.height <= sheet.height + 1e-6
        for j in tree.query(rest.buffer(gap + 1)):
            assert shapely.intersection(shapes[j], rest, grid_size=1e-7).area < 0.05, (o, nest.placements[j])
            assert not gap or shapes[j].distance(rest) >= gap - TOLERANCE, (o, nest.placements[j])
        for bx, by, bw, bh in sheet.bad_areas:
            assert rest.intersection(box(bx, by, bx + bw, by + bh)).area < 0.05, (o, "bad area")
    for i, a in enumerate(nest.offcuts):
        for b in nest.offcuts[i + 1 :]:
            apart = (
                a.x + a.width <= b.x + 1e-6
                or b.x + b.width <= a.x + 1e-6
                or a.y + a.height <= b.y + 1e-6
                or b.y + b.height <= a.y + 1e-6
            )
            assert apart, (a, b)


def check_turn(p, piece, sheet):
    assert not p.mirrored or piece.may_mirror, p
    if piece.rotations is None:
        return
    allowed = [(sheet.grain - r if p.mirrored else sheet.grain + r) for r in piece.rotations]
    assert any(abs((p.rotation - r + 180) % 360 - 180) < 1e-6 for r in allowed), (p, piece.rotations)


def check_cuts(nest, by_part, tool):
    """Really cut the sheet, one cut after the other, and find every blank as a whole rectangle of metal at the end."""
    metal = [(0.0, 0.0, nest.sheet.width, nest.sheet.height)]
    wanted_boxes = [(o.x, o.y, o.x + o.width, o.y + o.height) for o in nest.offcuts]
    for p in nest.placements:
        points = laid(ring(by_part[p.part].outline), p)
        xs, ys = [q[0] for q in points], [q[1] for q in points]
        wanted_boxes.append((min(xs), min(ys), max(xs), max(ys)))
    assert [c.order for c in nest.cuts] == list(range(1, len(nest.cuts) + 1))
    for cut in nest.cuts:
        (x0, y0), (x1, y1) = cut.start, cut.end
        upright = abs(x0 - x1) < CUT_TOLERANCE
        assert upright or abs(y0 - y1) < CUT_TOLERANCE, cut
        length = abs(y1 - y0) if upright else abs(x1 - x0)
        if tool.longest_cut:
            assert length <= tool.longest_cut + CUT_TOLERANCE, cut
        at, low, high = (x0, *sorted((y0, y1))) if upright else (y0, *sorted((x0, x1)))
        a, b = (0, 1) if upright else (1, 0)
        hit = [
            r
            for r in metal
            if abs(r[b] - low) < CUT_TOLERANCE
            and abs(r[b + 2] - high) < CUT_TOLERANCE
            and r[a] < at - CUT_TOLERANCE / 10
            and at < r[a + 2] + CUT_TOLERANCE / 10
        ]
        assert len(hit) == 1, (cut, hit)
        piece = hit[0]
        metal.remove(piece)
        kept = at - piece[a]
        assert abs(cut.gauge - kept) < CUT_TOLERANCE, (cut, piece)
        near_end, far_start = (at - tool.kerf, at) if cut.trim else (at, at + tool.kerf)
        near, far = list(piece), list(piece)
        near[a + 2], far[a] = min(near_end, piece[a + 2]), max(far_start, piece[a])
        metal += [tuple(r) for r in (near, far) if r[a + 2] - r[a] > CUT_TOLERANCE / 10]
        frees = any(
            all(piece[k] - TOLERANCE <= w[k] and w[k + 2] <= piece[k + 2] + TOLERANCE for k in (0, 1))
            for w in wanted_boxes
        )
        assert frees, (cut, "frees nothing that is wanted")
        held = far if cut.hold == "rest" else near
        assert held[a + 2] - held[a] >= tool.smallest_strip - CUT_TOLERANCE, (cut, "too little under the hold-down")
    for o in nest.offcuts:
        rest = (o.x, o.y, o.x + o.width, o.y + o.height)
        assert any(all(abs(u - v) < CUT_TOLERANCE for u, v in zip(r, rest, strict=True)) for r in metal), o
    wanted = defaultdict(int)
    for p in nest.placements:
        points = laid(ring(by_part[p.part].outline), p)
        xs, ys = [q[0] for q in points], [q[1] for q in points]
        rect = (min(xs), min(ys), max(xs), max(ys))
        found = [r for r in metal if all(abs(u - v) < TOLERANCE for u, v in zip(r, rect, strict=True))]
        assert len(found) == 1, (p, rect, found)
        wanted[found[0]] += 1
    assert all(n == 1 for n in wanted.values())
