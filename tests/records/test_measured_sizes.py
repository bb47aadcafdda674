"""Sizes to measure end where metal ends, and a blank within its limits leaves every leg within its own."""

import math

import pytest
from shapely.geometry import LineString, Polygon

from flatgen.core.outline import flatten
from flatgen.develop.develop import develop
from flatgen.draw.section import section_words, sections
from flatgen.library import entries
from flatgen.read.sample import sample_part
from flatgen.records.checklist import checklist


def everything(results):
    for entry in entries():
        part, shop = sample_part(entry.profile, "in")
        yield part, develop(part, shop), shop
    for made in results.parts:
        yield made.part, made.blank, results.job.shop


def test_legs_end_at_metal_and_not_at_a_corner_that_is_rounded_away(demo_drawn):
    """SK-302's far side slopes and is rounded: its corner would be at 1.068 in, metal ends at 1.040 in."""
    nominals = {}
    for part, blank, shop in everything(demo_drawn[1]):
        for check in checklist(part, blank, shop, (), "in").checks:
            if len(check.leg) != 2 or blank.bend(check.leg[1]).angle >= 150.0:
                continue
            face, bend = Polygon(flatten(blank.face(check.leg[0]).outline, 0.002)), blank.bend(check.leg[1])
            (x0, y0), (x1, y1) = bend.tangents[0 if bend.parent == check.leg[0] else 1]
            long = math.dist((x0, y0), (x1, y1))
            off = max(abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / long for x, y in face.exterior.coords)
            assert off + bend.bent.setback_outside > check.nominal - 0.03, (part.id, check.what)
            nominals[part.id, check.leg[0]] = check.nominal
    assert nominals["SK-302-L", "far"] / 25.4 == pytest.approx(1.040, abs=0.0005)


def test_what_a_blank_may_be_off_is_what_one_leg_may(demo_drawn):
    """The other legs as the stops set them, all that the blank is off in one of its legs: still within limits."""
    tried = 0
    for part, blank, shop in everything(demo_drawn[1]):
        checks = checklist(part, blank, shop, (), "in").checks
        for flat in (check for check in checks if check.across):
            for leg in (check for check in checks if check.leg and set(check.leg[1:]) <= set(flat.across)):
                assert leg.nominal + flat.upper - flat.nominal <= leg.upper + 1e-9, (part.id, leg.what)
                tried += 1
    assert tried > 30


def test_a_size_that_holds_at_one_place_is_the_metal_s_there(demo_drawn):
    """SK-302's section is cut where its card says, from B; the blank ends there by the size less the setback."""
    made = next(made for made in demo_drawn[1].parts if made.part.id == "SK-302-L")
    section = next(one for one in sections(made.blank) if "here" in section_words(one, "in"))
    at = float(section_words(section, "in").split("here: ")[1].split()[0]) * 25.4
    top = Polygon(flatten(made.blank.outline, 0.002)).intersection(LineString([(at, 0.0), (at, 500.0)])).bounds[3]
    bend, leg = made.blank.bend("b1"), next(leg for leg in section.legs if leg.kind == "tapered")
    low = max(y for line in bend.tangents for _, y in line)
    assert top - low + bend.bent.setback_outside == pytest.approx(leg.outside, abs=0.02)
