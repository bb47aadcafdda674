"""Random jobs: parts of the library with other sizes, in several metals, on brakes with random noses and stops."""

import random
from collections.abc import Iterator
from dataclasses import replace

from flatgen.errors import FlatgenError
from flatgen.jobs.make import planned
from flatgen.library import default_of, entries
from flatgen.model.job import Job
from flatgen.model.results import Results
from flatgen.read.single import single_job
from flatgen.units import parse_length

METALS = ("2024-T3", "6061-T6", "5052-H32")
THICKNESSES = (0.5, 0.635, 0.8128, 1.016, 1.27, 1.6)
RADII = (2.38125, 3.175, 3.96875, 4.7625, 6.35)
METHODS = ("handbook", "handbook", "din-6935", "hardness-rule", "predicted")


def random_job(draw: random.Random) -> Job | None:
    """One to three parts of one metal, sizes up to twice the library's; None where they do not come out."""
    metal, thickness = draw.choice(METALS), draw.choice(THICKNESSES)
    radius = draw.choice([r for r in RADII if r > 2.4 * thickness])
    jobs = []
    for _ in range(draw.choice((1, 1, 2, 3))):
        one = draw.choice(entries())
        sizes = {}
        for parameter in one.parameters:
            usual = default_of(one, parameter, "mm")
            if parameter.kind == "length" and usual and draw.random() < 0.7:
                sizes[parameter.name] = f"{parse_length(usual, 'mm') * draw.uniform(0.9, 2.0):.2f} mm"
            if parameter.kind == "angle" and usual == "90" and draw.random() < 0.2:
                sizes[parameter.name] = str(draw.choice((30, 45, 60, 75, 100)))
        given = {"material": metal, "thickness": f"{thickness} mm", "radius": f"{radius} mm", **sizes}
        try:
            jobs.append(single_job(one.name, given, "mm", None))
        except FlatgenError:
            return None
    parts = [replace(part, id=f"P{k}{part.id[-2:]}") for k, job in enumerate(jobs) for part in job.parts]
    shop = jobs[0].shop
    brake = replace(
        shop.brakes[0],
        front_stop_reach=draw.choice((None, 40.0, 150.0)),
        back_stop_reach=draw.choice((None, 60.0, 300.0)),
        nose_setback_clearance=draw.choice((0.0, 0.0, 0.1)),
        hinge_forward=draw.choice((0.0, 0.0, 0.3)),
        stop_offset=draw.choice((0.0, 0.15, -0.1)),
        front_stop_offset=draw.choice((0.0, 0.2)),
    )
    shop = replace(shop, brakes=(brake,), allowance=draw.choice(METHODS))
    return replace(jobs[0], shop=shop, parts=tuple(parts), cutting=(), allowance=(), coupons=False)


def planned_jobs(seed: int, count: int) -> Iterator[Results]:
    """So many random jobs of which at least one part is bent at the brake."""
    draw = random.Random(seed)
    while count:
        job = random_job(draw)
        if job is None:
            continue
        try:
            results = planned(job)
        except FlatgenError:
            continue
        if results.setups:
            count -= 1
            yield results
