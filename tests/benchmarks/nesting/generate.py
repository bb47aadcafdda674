"""Write new profile-cutting problems like those of a workshop, to measure the nesters on what they were not tuned to.

    python tests/benchmarks/nesting/generate.py FOLDER [--seeds 1 2 3 …] [--families workshop frames]

For every seed and family one file "nesting-instance/1" each with and without grain goes to FOLDER: plates, angles,
channels, gussets, tees, discs and frames in 10 to 25 types, 100 to 400 pieces, on 2438 x 1219 sheets with a gap of 3
and a margin of 10 mm, about one to two and a half sheets of metal. The same seed writes the same file on every machine.
"""

import argparse
import json
import math
import random
from collections.abc import Callable
from pathlib import Path

WIDTH, HEIGHT = 2438, 1219
Ring = list[list[float]]
Blank = tuple[Ring, list[Ring]]


def plate(rng: random.Random) -> Blank:
    """A plain rectangle."""
    return box(rng.randint(25, 180), rng.randint(60, 320)), []


def angle(rng: random.Random) -> Blank:
    """Two legs of their own widths."""
    w, h = rng.randint(80, 220), rng.randint(80, 260)
    a, b = rng.randint(22, 60), rng.randint(22, 60)
    return [[0, 0], [w, 0], [w, a], [b, a], [b, h], [0, h]], []


def channel(rng: random.Random) -> Blank:
    """A web with two flanges, open at the top."""
    w, h, t = rng.randint(110, 260), rng.randint(70, 200), rng.randint(22, 40)
    floor = rng.randint(22, max(23, h // 2))
    return [[0, 0], [w, 0], [w, h], [w - t, h], [w - t, floor], [t, floor], [t, h], [0, h]], []


def tee(rng: random.Random) -> Blank:
    """A head and a stem."""
    w, h, t = rng.randint(90, 220), rng.randint(90, 220), rng.randint(25, 50)
    stem = rng.randint(25, w // 2)
    left, top = (w - stem) // 2, h - t
    return [[left, 0], [left + stem, 0], [left + stem, top], [w, top], [w, h], [0, h], [0, top], [left, top]], []


def gusset(rng: random.Random) -> Blank:
    """A triangle with clipped corners, or a trapezium, some with a lightening hole."""
    w, h = rng.randint(90, 260), rng.randint(80, 220)
    c = rng.randint(12, 35)
    if rng.random() < 0.5:
        d = rng.randint(10, w // 3)
        return [[0, 0], [w, 0], [w - d, h], [d, h]], []
    hole = [round_ring(0.3 * w, 0.3 * h, 0.17 * min(w, h), 24)[::-1]] if rng.random() < 0.5 else []
    return [[0, 0], [w, 0], [w, c], [c, h], [0, h]], hole


def disc(rng: random.Random) -> Blank:
    """A round plate, or a ring."""
    r = rng.randint(25, 110)
    holes = [round_ring(r, r, 0.65 * r, 32)[::-1]] if r > 70 and rng.random() < 0.6 else []
    return round_ring(r, r, float(r), 48), holes


def frame(rng: random.Random) -> Blank:
    """A rectangular frame with one or two windows."""
    w, h, t = rng.randint(220, 640), rng.randint(200, 460), rng.randint(25, 60)
    if w > 420 and rng.random() < 0.4:
        half = (w - 3 * t) // 2
        return box(w, h), [window(t, t, half, h - 2 * t), window(2 * t + half, t, half, h - 2 * t)]
    return box(w, h), [window(t, t, w - 2 * t, h - 2 * t)]


def box(w: float, h: float, x: float = 0, y: float = 0) -> Ring:
    """A rectangle, counter-clockwise."""
    return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]


def window(x: float, y: float, w: float, h: float) -> Ring:
    """A rectangular opening, clockwise."""
    return box(w, h, x, y)[::-1]


def round_ring(x: float, y: float, r: float, corners: int) -> Ring:
    """A polygon on a circle."""
    turns = [math.tau * k / corners for k in range(corners)]
    return [[round(x + r * math.cos(t), 3), round(y + r * math.sin(t), 3)] for t in turns]


FAMILIES: dict[str, list[tuple[Callable[[random.Random], Blank], float]]] = {
    "workshop": [(plate, 5), (angle, 3), (channel, 2), (tee, 1.5), (gusset, 3), (disc, 1)],
    "frames": [(frame, 3), (plate, 3), (angle, 2), (gusset, 2), (disc, 1), (channel, 1)],
}


def area(ring: Ring) -> float:
    """Area of a ring, without sign."""
    return abs(sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(ring, ring[1:] + ring[:1], strict=True))) / 2


def problem(family: str, seed: int, grain: bool) -> dict:
    """One problem; with and without grain the same blanks."""
    rng = random.Random(f"{family} {seed}")
    makers, weights = zip(*FAMILIES[family], strict=True)
    types = rng.randint(10, 25)
    blanks = [rng.choices(makers, weights)[0](rng) for _ in range(types)]
    nets = [area(outer) - sum(area(h) for h in holes) for outer, holes in blanks]
    big = [area(outer) > 50_000 for outer, _ in blanks]
    demand = [rng.randint(2, 6) if large else rng.randint(4, 30) for large in big]
    aim = rng.uniform(0.9, 2.2) * WIDTH * HEIGHT * (0.7 if family == "frames" else 1.0)
    share = aim / sum(n * d for n, d in zip(nets, demand, strict=True))
    demand = [max(1, round(d * share)) for d in demand]
    shrink = min(1.0, 400 / sum(demand))
    demand = [max(1, int(d * shrink)) for d in demand]
    total = sum(n * d for n, d in zip(nets, demand, strict=True))
    turns = [0, 180] if grain else [0, 90, 180, 270]
    return {
        "format": "nesting-instance/1",
        "name": f"{family}_{seed}_{'grain' if grain else 'free'}",
        "kind": "sheets",
        "cutting": "free",
        "units": "mm",
        "strip_height": None,
        "sheets": [{"id": "4x8ft", "width": WIDTH, "height": HEIGHT, "copies": None, "cost": WIDTH * HEIGHT}],
        "margin": 10,
        "gap": 3,
        "kerf": 0,
        "max_stages": None,
        "source": {"paper": "none: invented for this project", "file": "generate.py"},
        "note": f"family {family}, seed {seed}",
        "total_area": round(total, 3),
        "area_lower_bound": math.ceil(total / ((WIDTH - 20) * (HEIGHT - 20))),
        "best_known": {},
        "items": [
            {"id": f"P{n:02}", "demand": d, "rotations": turns, "polygon": outer, "holes": holes}
            for n, ((outer, holes), d) in enumerate(zip(blanks, demand, strict=True), start=1)
        ],
    }


def main() -> None:
    """Write the files asked for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    asked.add_argument("--families", nargs="+", choices=sorted(FAMILIES), default=sorted(FAMILIES))
    given = asked.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    for family in given.families:
        for seed in given.seeds:
            for grain in (False, True):
                made = problem(family, seed, grain)
                (given.folder / f"{made['name']}.json").write_text(json.dumps(made))


if __name__ == "__main__":
    main()
