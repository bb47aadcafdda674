"""Openings large enough to cut other blanks from: each as a small sheet that comes with its host. Lengths mm."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from flatgen.core.outline import Outline
from flatgen.model.plan import Piece
from flatgen.nest.greedy import Bin
from flatgen.nest.kinds import Kind
from flatgen.nest.shapes import safe_points

LINES = 10  # trial lines each way for the largest rectangle in an opening that is no rectangle


@dataclass(frozen=True, slots=True)
class Window:
    """The usable rectangle of one opening, in the host's own axes."""

    host: int
    x: float
    y: float
    width: float
    height: float


def windows_of(pieces: Sequence[Piece], gap: float) -> list[Window]:
    """Usable rectangles of all openings; hosts that may only lie askew have none."""
    found = []
    for host, piece in enumerate(pieces):
        if piece.rotations is not None and any(abs(r % 90.0) > 1e-9 for r in piece.rotations):
            continue
        for cutout in piece.cutouts:
            rect = largest_rectangle(cutout, gap)
            if rect is not None:
                found.append(Window(host, rect[0], rect[1], rect[2] - rect[0], rect[3] - rect[1]))
    return found


def largest_rectangle(opening: Outline, gap: float) -> tuple[float, float, float, float] | None:
    """A large upright rectangle in an opening, a gap away from its edge; None when there is no room."""
    from shapely.geometry import Polygon, box
    from shapely.prepared import prep

    shape: Any = Polygon(safe_points(opening, opening=True))
    x0, y0, x1, y1 = shape.bounds
    if min(x1 - x0, y1 - y0) <= 2.0 * gap + 1.0:
        return None
    if abs(shape.area - (x1 - x0) * (y1 - y0)) < 1e-6 * shape.area:
        return (x0 + gap, y0 + gap, x1 - gap, y1 - gap)
    inner: Any = shape.buffer(-gap * 1.0025 - 1e-3, quad_segs=12)
    if inner.is_empty or inner.geom_type != "Polygon":
        return None
    x0, y0, x1, y1 = inner.bounds
    xs = [x0 + (x1 - x0) * k / LINES for k in range(LINES + 1)]
    ys = [y0 + (y1 - y0) * k / LINES for k in range(LINES + 1)]
    room = prep(inner.buffer(1e-6))
    best, found = 0.0, None
    for i, low in enumerate(xs):
        for high in xs[i + 1 :]:
            for j, bottom in enumerate(ys):
                for top in reversed(ys[j + 1 :]):
                    size = (high - low) * (top - bottom)
                    if size <= best + 1e-6:
                        break
                    if room.contains(box(low, bottom, high, top)):
                        best, found = size, (low, bottom, high, top)
    return found


def window_bins(windows: Sequence[Window], pieces: Sequence[Piece], kinds: Sequence[Kind], gap: float) -> list[Bin]:
    """Each window as a sheet that costs nothing, as many as there are hosts.

    Blanks lie there only in turns that stay allowed however the host is turned, and no host lies in a window.
    """
    hosts = {window.host for window in windows}
    bins = []
    for number, window in enumerate(windows):
        host = pieces[window.host]
        quarters = None if host.rotations is None else tuple(r % 360.0 for r in host.rotations)
        fitting = []
        for kind in kinds:
            turns = tuple(
                turn
                for turn in kind.turns
                if all(
                    member.piece not in hosts
                    and not member.mirrored
                    and _stays(pieces[member.piece], member.rotation, quarters)
                    for member in turn.members
                )
            )
            fitting.append(replace(kind, turns=turns))
        size = (window.width + gap, window.height + gap)
        area = window.width * window.height
        bins.append(Bin(number, (size,), host.quantity, 0.0, area, tuple(fitting), 0))
    return bins


def _stays(piece: Piece, rotation: float, quarters: Sequence[float] | None) -> bool:
    if piece.rotations is None or quarters is None:
        return piece.rotations is None
    return all(
        any(abs((rotation + quarter - r + 180.0) % 360.0 - 180.0) < 1e-6 for r in piece.rotations)
        for quarter in quarters
    )
