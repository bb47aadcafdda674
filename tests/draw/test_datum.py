"""Datum edges are edges that exist, on every paper; where there is none, the sides of the sheared rectangle."""

import math
from pathlib import Path

from hypothesis import assume, given, settings
from making import few
from random_parts import bents_of, trees

from flatgen import library
from flatgen.core.arcs import nearest_point
from flatgen.core.outline import segments
from flatgen.develop.datum import datum_edges, datum_note
from flatgen.develop.develop import develop
from flatgen.develop.unfold import unfold
from flatgen.draw.flat_view import flat_view
from flatgen.draw.template import template
from flatgen.draw.view import clamped_faces
from flatgen.errors import CannotMake
from flatgen.page.drawing import Contour
from flatgen.read.job import read_job

DEMO = Path("examples/float-fittings/job.toml")


def on_straight_edge(blank, p):
    """Whether a point lies on a straight piece of the outline, level or plumb, at least 3 mm long."""
    return any(
        b == 0.0
        and math.dist(s, e) >= 3.0
        and min(abs(s[0] - e[0]), abs(s[1] - e[1])) < 2e-4
        and math.dist(nearest_point(s, e, 0.0, p), p) < 2e-4
        for s, e, b in segments(blank.outline)
    )


def hold(blank):
    for edge in datum_edges(blank):
        for start, end in edge.pieces if edge.exists else ():
            for share in (0.0, 0.3, 1.0):
                assert on_straight_edge(blank, tuple(a + share * (b - a) for a, b in zip(start, end, strict=True)))


def tips(items, scale=1.0):
    return [
        tuple(v / scale for v in i.outline[0][:2])
        for i in items
        if isinstance(i, Contour) and i.layer == "datum" and i.filled
    ]


def demo_parts():
    job = read_job(DEMO)
    return [(part, develop(part, job.shop)) for part in job.parts]


def library_blanks():
    return [(one.name, library.sample_blank(one, units)) for one in library.entries() for units in ("in", "mm")]


def test_marks_of_the_demo_stand_on_an_edge_or_the_paper_says_so():
    for part, blank in demo_parts():
        hold(blank)
        faces = clamped_faces(part, blank)
        views = [
            (tips(flat_view(blank, faces, 0.5, "in"), 0.5), False),
            (tips(template(part, blank, "in").items), False),
        ]
        views.append((tips(template(part, blank, "in", mirror=True).items), True))
        for found, mirror in views:
            assert 2 == len(found)
            for edge, (x, y) in zip(datum_edges(blank), found, strict=True):
                place = (blank.width - x if mirror else x, y)
                assert on_straight_edge(blank, place) if edge.exists else min(place) == 0.0, part.id


def test_edges_of_the_library_exist():
    missing = set()
    for name, blank in library_blanks():
        hold(blank)
        if datum_note(blank):
            missing.add(name)
    assert missing <= {"hinge-bracket", "joggled-strap", "strap", "tapered-channel", "u-clip"}, missing


@settings(max_examples=few(30))
@given(part=trees(most=4))
def test_edges_of_random_parts_exist(part):
    try:
        blank = unfold(part, bents_of(part))
    except CannotMake:
        assume(False)
    hold(blank)
