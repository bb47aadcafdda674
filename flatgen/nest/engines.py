"""The one door to true-shape engines: blanks in a strip of fixed height, as short as can be. Lengths mm, angles deg.

The own method is always there and always gives the same; a better engine, where it is installed, is asked when the user
allows it time. Whatever an engine answers is checked before it is believed.
"""

import json
import math
import sys
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from subprocess import DEVNULL, PIPE, Popen
from time import monotonic
from typing import Any, Protocol

from flatgen.core.points import Point, move, turned
from flatgen.nest.result import Halt

STRIP_CELLS = 400  # lattice steps over the height of a strip
STRIP_SLACK = 2.0  # room for a first strip, by the metal in it
EXPLORE = 0.75  # share of its time in which the engine looks for shorter layouts; in the rest it presses the best
CORNERS = 100  # corners from which on the engine is given a plainer outline
PLAINER = 0.005  # by how much that is larger, as a share of the square root of its area
OWN_WORK, OWN_EACH = 200_000, 4_000  # masks laid when no time is given: at most, and for each blank


@dataclass(frozen=True, slots=True)
class StripShape:
    """A polygon to be placed ``many`` times in one of the rotations (None: any)."""

    points: tuple[Point, ...]
    many: int
    rotations: tuple[float, ...] | None


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a shape lies: turned counter-clockwise about its origin, then moved."""

    shape: int
    x: float
    y: float
    rotation: float


class StripEngine(Protocol):
    """A way to pack a strip."""

    def __call__(self, shapes: Sequence[StripShape], height: float, gap: float, seconds: float) -> list[Spot] | None:
        """Spots for all shapes, from x 0 and within 0 to height, or None when it cannot."""


def at(shape: StripShape, spot: Spot) -> list[Point]:
    """The polygon where it lies."""
    motion = turned(spot.rotation)
    return [(x + spot.x, y + spot.y) for x, y in (move(motion, p) for p in shape.points)]


def length_of(shapes: Sequence[StripShape], spots: Sequence[Spot]) -> float:
    """Greatest x of anything placed [mm]."""
    return max((x for spot in spots for x, _ in at(shapes[spot.shape], spot)), default=0.0)


def holds(shapes: Sequence[StripShape], spots: Sequence[Spot], height: float, gap: float) -> bool:
    """Whether every shape is there, inside the strip, and clear of the others by the gap."""
    from shapely import STRtree, intersection
    from shapely.geometry import Polygon

    if sorted(spot.shape for spot in spots) != sorted(n for n, s in enumerate(shapes) for _ in range(s.many)):
        return False
    laid: list[Any] = [Polygon(at(shapes[spot.shape], spot)) for spot in spots]
    slack = 1e-3
    if any(p.bounds[0] < -slack or p.bounds[1] < -slack or p.bounds[3] > height + slack for p in laid):
        return False
    tree = STRtree(laid)
    for number, polygon in enumerate(laid):
        for other in tree.query(polygon.buffer(gap + slack) if gap else polygon):
            if other <= number:
                continue
            if gap and polygon.distance(laid[other]) < gap - slack:
                return False
            # on a grid: without one its overlay goes astray where two edges all but share a line
            if not gap and intersection(polygon, laid[other], grid_size=1e-7).area > slack * max(
                1.0, polygon.length * 1e-2
            ):
                return False
    return True


def searched(
    shapes: Sequence[StripShape],
    height: float,
    gap: float,
    seconds: float,
    tick: Callable[[], None] | None = None,
    halt: Halt | None = None,
) -> list[Spot] | None:
    """The strip as the engine spyrrow packs it, or None where it is missing or fails.

    It works in a process of its own, which is ended when the time is up; what it has reported last is the answer. An
    interruption keeps that as well and is told to ``halt``; ``tick`` is called again and again meanwhile.
    """
    if find_spec("spyrrow") is None:
        return None
    end = monotonic() + seconds
    # its separation is also kept from the strip's edges, and it refuses a shape exactly as high as the strip
    asked = {
        "shapes": [{"points": _plainer(s, height), "many": s.many, "rotations": s.rotations} for s in shapes],
        "room": height * (1.0 + 1e-6) + 2.0 * gap,
        "gap": gap,
        "explore": max(1, round(EXPLORE * seconds)),
        "compress": max(1, round((1.0 - EXPLORE) * seconds)),
        "seed": 1,
        "workers": None,
    }
    reported: list[str] = []
    script = str(Path(__file__).with_name("strip_worker.py"))
    with Popen([sys.executable, script], stdin=PIPE, stdout=PIPE, stderr=DEVNULL, text=True) as worker:
        reader = threading.Thread(target=_read, args=(worker, json.dumps(asked), reported), daemon=True)
        reader.start()
        try:
            while reader.is_alive() and monotonic() < end:
                reader.join(min(0.05, max(0.0, end - monotonic())))
                if tick is not None:
                    tick()
        except KeyboardInterrupt:
            if halt is not None:
                halt.asked = True
        worker.kill()
        reader.join()
    return _settled(shapes, json.loads(reported[-1]), height, gap) if reported else None


def _plainer(shape: StripShape, height: float) -> tuple[Point, ...]:
    """The outline, or where it has very many corners a larger one of fewer, with which the engine is much faster."""
    from flatgen.nest.nofit import twice_area
    from flatgen.nest.ways import outward

    points = shape.points if twice_area(shape.points) > 0.0 else shape.points[::-1]
    by = PLAINER * abs(0.5 * twice_area(points)) ** 0.5
    across = math.dist(*((f(x for x, _ in points), f(y for _, y in points)) for f in (min, max)))
    if len(points) <= CORNERS or across + 4.0 * by > height:
        return shape.points
    rings = outward(points, (), 0.0, by)
    return rings[0] if rings is not None and len(rings[0]) < len(points) else shape.points


def _read(worker: Any, asked: str, reported: list[str]) -> None:
    """Hand the strip over and keep every whole line that comes back."""
    try:
        worker.stdin.write(asked)
        worker.stdin.close()
    except OSError:
        return
    reported.extend(line for line in worker.stdout if line.endswith("\n"))


def _settled(shapes: Sequence[StripShape], placed: list[list[float]], height: float, gap: float) -> list[Spot]:
    """Spots moved to the strip's low corner, as far as they keep within its height."""
    spots = [Spot(int(n), x, y, rotation) for n, x, y, rotation in placed]
    polygons = [at(shapes[s.shape], s) for s in spots]
    left = min((x for p in polygons for x, _ in p), default=0.0)
    low, high = min(y for p in polygons for _, y in p), max(y for p in polygons for _, y in p)
    drop = min(max(low, 0.0), gap) if high - low <= height + 1e-3 else 0.0
    if high - drop > height:
        drop = min(low, high - height)
    return [Spot(s.shape, s.x - left, s.y - drop, s.rotation) for s in spots]


def own_strip(shapes: Sequence[StripShape], height: float, gap: float, seconds: float = 0.0) -> list[Spot] | None:
    """The strip by our own method: true shapes laid one by one, in an order that is bettered step by step.

    Without ``seconds`` the steps are counted, and the same strip always comes of it; with them a clock ends it.
    """
    from flatgen.model.plan import Piece
    from flatgen.nest.closeup import CloseUp
    from flatgen.nest.laying import Laying, Room
    from flatgen.nest.ways import choice_of

    pieces = [
        Piece(str(n), tuple((x, y, 0.0) for x, y in s.points), (), s.many, s.rotations) for n, s in enumerate(shapes)
    ]
    choice = choice_of(pieces, 0.0, gap, height / STRIP_CELLS)
    masks = choice.shapes.masks
    lowest = [min(masks.ways[way].height for way in choice.shapes.units[n].groups) for n in range(len(pieces))]
    if max(lowest, default=0.0) > height + 1e-6:
        return None
    reach = max((max(way.width, way.height) for way in masks.ways), default=0.0) + gap
    metal = sum(area * s.many for area, s in zip(choice.shapes.areas, shapes, strict=True))
    end = monotonic() + seconds
    laying = Laying(
        choice.shapes,
        [Room(STRIP_SLACK * metal / height + 3.0 * reach, height)],
        [s.many for s in shapes],
        directions=(0,),
        over=(lambda: monotonic() >= end) if seconds else (lambda: False),
    )
    work = min(OWN_WORK, OWN_EACH * sum(s.many for s in shapes))
    started = laying.start(work // 3)
    found = laying.bettered(started, 10**12 if seconds else work, lateness=30)
    if not found.fulls or any(found.fulls[-1].left):
        return None
    board = found.fulls[-1].board
    placed = [
        (way, (x + dx) * masks.step, (y + dy) * masks.step)
        for group, x, y in board.placed
        for way, dx, dy in board.groups[group].parts
    ]
    close = CloseUp(masks.ways, gap).pushed(placed)
    blanks = [(choice.ways[way], x, y) for way, x, y in close]
    return [Spot(m.piece, m.x + x, m.y + y, m.rotation) for m, x, y in blanks]


def best_strip(
    shapes: Sequence[StripShape], height: float, gap: float, seconds: float
) -> tuple[list[Spot] | None, str]:
    """A checked answer and whose it is: the searching engine's where there is one, else our own."""
    engines: tuple[tuple[str, StripEngine], ...] = (("spyrrow", searched), ("own", own_strip))
    for name, engine in engines:
        spots = engine(shapes, height, gap, seconds)
        if spots is not None and holds(shapes, spots, height, gap):
            return spots, name
    return None, ""
