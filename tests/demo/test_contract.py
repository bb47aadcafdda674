"""The demo's results.json by an independent reckoning: nothing here uses flatgen's own geometry."""

import math
from collections import Counter

import pytest

TERMS = ("allowance", "deduction", "outside_setback", "neutral_axis_ratio")


def ring(outline, step: float = 0.002):
    """Points of an outline, arcs by fine chords."""
    points = []
    for (x1, y1, bulge), (x2, y2, _) in zip(outline, [*outline[1:], outline[0]], strict=True):
        points.append((x1, y1))
        if bulge:
            sweep = 4 * math.atan(bulge)
            chord = math.dist((x1, y1), (x2, y2))
            radius = chord / 2 / math.sin(abs(sweep) / 2)
            # from the middle of the chord to the centre, to the left for a counter-clockwise arc below a half circle
            away = radius * math.cos(sweep / 2) * math.copysign(1, sweep)
            ux, uy = (x2 - x1) / chord, (y2 - y1) / chord
            cx, cy = (x1 + x2) / 2 - uy * away, (y1 + y2) / 2 + ux * away
            start = math.atan2(y1 - cy, x1 - cx)
            n = max(2, math.ceil(abs(sweep) * radius / step))
            points += [
                (cx + radius * math.cos(start + sweep * k / n), cy + radius * math.sin(start + sweep * k / n))
                for k in range(1, n)
            ]
    return points


def exact_area(outline) -> float:
    """Shoelace with circle segments."""
    total = 0.0
    for (x1, y1, bulge), (x2, y2, _) in zip(outline, [*outline[1:], outline[0]], strict=True):
        total += (x1 * y2 - x2 * y1) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.dist((x1, y1), (x2, y2)) / 2 / math.sin(abs(sweep) / 2)
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def carried(frame, x: float, y: float, z: float):
    return [row[0] * x + row[1] * y + row[2] * z + row[3] for row in frame]


def test_head(demo) -> None:
    assert demo.results["schema"] == "flatgen-results/2"
    assert set(demo.results) >= {"job", "units", "input_digest", "parts", "findings", "nests", "setups", "totals"}


def test_scope_of_the_demo(demo) -> None:
    """At least 16 part numbers, both hands, 160 to 240 pieces, two alloys, three thicknesses, a waived finding."""
    parts = demo.results["parts"]
    assert len({p["id"].removesuffix("-L").removesuffix("-R") for p in parts}) >= 16
    assert {"left", "right"} <= {p["hand"] for p in parts}
    assert 160 <= sum(p["quantity"] for p in parts) <= 240
    assert {"2024-T3", "6061-T6"} <= {p["material"].removesuffix("-clad") for p in parts}
    assert len({round(p["thickness"], 4) for p in parts}) >= 3
    assert any(f["waived"] for f in demo.results["findings"])
    assert not any(f["severity"] == "forbid" and not f["waived"] for f in demo.results["findings"])


def test_allowance_deduction_and_ratio_agree(demo) -> None:
    for part in demo.results["parts"]:
        for bend in part["bends"]:
            theta, t, r = math.radians(bend["angle"]), part["thickness"], bend["inside_radius"]
            assert bend["allowance"] == pytest.approx(theta * (r + bend["neutral_axis_ratio"] * t), abs=1e-9)
            assert bend["outside_setback"] == pytest.approx((r + t) * math.tan(theta / 2), abs=1e-9)
            assert bend["deduction"] == pytest.approx(2 * bend["outside_setback"] - bend["allowance"], abs=1e-9)


def test_area_is_the_sum_of_faces_and_strips(demo) -> None:
    """To 1e-6 mm². Faces and strips are given as they lie in the blank, reliefs taken out."""
    for part in demo.results["parts"]:
        pieces = [*part["faces"], *part["bends"]]
        total = sum(exact_area(piece["outline"]) for piece in pieces)
        blank = part["blank"]
        assert exact_area(blank["outline"]) == pytest.approx(total, abs=1e-6), part["id"]
        inner = sum(exact_area(c) for c in blank["cutouts"])
        assert blank["area"] == pytest.approx(exact_area(blank["outline"]) - inner, abs=1e-6)


def test_every_hole_is_an_inner_contour(demo) -> None:
    for part in demo.results["parts"]:
        for hole in part["blank"]["holes"]:
            area = exact_area(part["blank"]["cutouts"][hole["cutout"]])
            assert area == pytest.approx(math.pi * hole["diameter"] ** 2 / 4, rel=1e-9)


def test_outlines_run_counter_clockwise_from_the_datum_corner(demo) -> None:
    for part in demo.results["parts"]:
        blank = part["blank"]
        points = ring(blank["outline"])
        assert exact_area(blank["outline"]) > 0
        assert all(exact_area(c) > 0 for c in blank["cutouts"])
        assert (0, 0) == pytest.approx((min(x for x, _ in points), min(y for _, y in points)), abs=1e-5)
        assert max(x for x, _ in points) == pytest.approx(blank["width"], abs=1e-5)
        assert max(y for _, y in points) == pytest.approx(blank["height"], abs=1e-5)


def test_frames_are_rigid_and_tangent_lines_stand_a_chord_apart(demo) -> None:
    """2·R·sin(a/2) on the upper side for up, 2·(R+T)·sin(a/2) for down."""
    for part in demo.results["parts"]:
        frames = {face["id"]: face["frame"] for face in part["faces"]}
        for frame in frames.values():
            rows = [row[:3] for row in frame]
            for i in range(3):
                for j in range(3):
                    dot = sum(a * b for a, b in zip(rows[i], rows[j], strict=True))
                    assert dot == pytest.approx(float(i == j), abs=1e-12)
        for bend in part["bends"]:
            parent, child = bend["faces"]
            radius = bend["inside_radius"] + (part["thickness"] if bend["direction"] == "down" else 0)
            chord = 2 * radius * math.sin(math.radians(bend["angle"]) / 2)
            for p, q in zip(*bend["tangents"], strict=True):
                one, two = carried(frames[parent], *p, 0), carried(frames[child], *q, 0)
                assert math.dist(one, two) == pytest.approx(chord, abs=1e-9)


# part: outside size of the formed part in the base face's axes, inch, from the drawing's mould lines
FORMED = {
    "TF-101": (3, 1, 0.75),
    "TF-102": (12, 2, 0.75),
    "GT-201-L": (4, 1.5, 2 * 0.875 - 0.063),
    "GT-201-R": (4, 1.5, 2 * 0.875 - 0.063),
    "SK-301": (9, 2.5, 0.75),
    "TF-103": (4, 2.5, 0.75),
    "TF-123": (14, 2.5, 0.75),
    "TF-131": (2, 2.25 - 0.063, 1.5),
}


@pytest.mark.parametrize(("part", "size"), FORMED.items())
def test_faces_fold_back_to_the_mould_line_sizes(demo, part: str, size: tuple[float, float, float]) -> None:
    """Both skins of every flat, carried by its frame, span the drawing's outside sizes to 1e-6 mm."""
    found = demo.part(part)
    points = [
        carried(face["frame"], x, y, z)
        for face in found["faces"]
        for x, y in ring(face["outline"])
        for z in (0.0, -found["thickness"])
    ]
    spans = [max(p[k] for p in points) - min(p[k] for p in points) for k in range(3)]
    assert [s * 25.4 for s in size] == pytest.approx(spans, abs=1e-6)
    assert [s * 25.4 for s in size] == pytest.approx(found["formed"]["size"], abs=1e-6)


def test_finding_has_rule_value_limit_source(demo) -> None:
    assert demo.results["findings"]
    for finding in demo.results["findings"]:
        assert finding["severity"] in ("forbid", "warn", "note")
        assert finding["rule"] and finding["message"] and finding["source"] and finding["part"]


def test_every_piece_is_placed_once(demo) -> None:
    wanted = {part["id"]: part["pieces"] for part in demo.results["parts"]}
    placed = Counter(p["part"] for nest in demo.results["nests"] for p in nest["placements"])
    assert wanted == placed
    copies = [(p["part"], p["copy"]) for nest in demo.results["nests"] for p in nest["placements"]]
    assert len(copies) == len(set(copies))


def test_nests_keep_margin_grain_and_gap(demo) -> None:
    """With shapely: every blank inside the margin, no two overlap, profile-cut ones keep the router's 0.35 in."""
    from shapely.affinity import affine_transform
    from shapely.geometry import Polygon, box

    outlines = {part["id"]: ring(part["blank"]["outline"], 0.2) for part in demo.results["parts"]}
    grain = {part["id"]: part["blank"]["grain_deg"] for part in demo.results["parts"]}
    for nest in demo.results["nests"]:
        sheet, m = nest["sheet"], nest["sheet"]["margin"]
        room = box(m, m, sheet["width"] - m, sheet["height"] - m).buffer(1e-6)
        gap = 0.35 * 25.4 - 0.01 if nest["method"] == "profile-cut" else 0.0
        placed = []
        for p in nest["placements"]:
            turn = math.radians(p["rotation"])
            flip = -1.0 if p["mirrored"] else 1.0
            c, s = math.cos(turn), math.sin(turn)
            shape = affine_transform(Polygon(outlines[p["part"]]), [flip * c, -s, flip * s, c, p["x"], p["y"]])
            assert room.covers(shape), p
            if grain[p["part"]] is not None:
                assert (grain[p["part"]] + p["rotation"] - sheet["grain_deg"]) % 180 == pytest.approx(0)
            for other in placed:
                if gap:
                    assert shape.distance(other) >= gap
                else:
                    assert shape.intersection(other).area < 1e-3
            placed.append(shape)


def test_totals(demo) -> None:
    totals = demo.results["totals"]
    assert totals["pieces"] == sum(p["pieces"] for p in demo.results["parts"])
    whole = [nest for nest in demo.results["nests"] if not nest["sheet"]["id"].startswith("off-cut")]
    assert sum(totals["sheets"].values()) == len(whole)
    mass = sum(p["mass"] * p["quantity"] for p in demo.results["parts"])
    assert totals["mass"] == pytest.approx(mass)


def test_every_cut_has_the_gauge_and_the_hold_of_its_piece_on_the_table(demo) -> None:
    """Cut up in the order of the list: a piece runs from its low edge to the line at the gauge, and what is held holds.

    Seven stiffeners of 3.625 in once had their sixth cut first: equal gauges differed in the last digit.
    """
    least, made = 0.375 * 25.4, 0
    for nest in (nest for nest in demo.results["nests"] if nest["method"] == "shear"):
        table = [(0.0, 0.0, nest["sheet"]["width"], nest["sheet"]["height"])]
        for cut in sorted(nest["cuts"], key=lambda cut: cut["order"]):
            (x0, y0), (x1, y1) = cut["from"], cut["to"]
            i = int(abs(x1 - x0) > abs(y1 - y0))  # 0: a line up the sheet
            at, middle = (x0, y0)[i], ((x0 + x1) / 2, (y0 + y1) / 2)
            (whole,) = (p for p in table if all(p[k] - 1e-6 < middle[k] < p[k + 2] + 1e-6 for k in (0, 1)))
            piece, rest = at - whole[i], whole[i + 2] - at
            assert cut["gauge"] == pytest.approx(piece, abs=1e-6), cut
            assert (rest if cut["hold"] == "rest" else piece) > least - 1e-6, cut
            table.remove(whole)
            table += [(*whole[:2], at, whole[3]), (at, *whole[1:])] if i == 0 else []
            table += [(*whole[:3], at), (whole[0], at, *whole[2:])] if i == 1 else []
            made += 1
    assert made > 200
