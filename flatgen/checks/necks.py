"""Metal too thin to be cut, held or bent: a whisker between two cuts."""

from collections.abc import Iterator

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from flatgen.checks.rules import Seen, rule
from flatgen.core.outline import flatten
from flatgen.core.words import size, spot
from flatgen.develop.reliefs import LEAST_METAL
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import PRACTICE

CHORD = 0.005  # mm


def necks(blank: Blank, width: float = LEAST_METAL) -> list[tuple[float, float]]:
    """Places on the blank where metal hangs together, or closes round an opening, by less than a width [mm]."""
    metal = Polygon(flatten(blank.outline, CHORD), [flatten(c, CHORD) for c in blank.cutouts]).buffer(0.0)
    left = metal.buffer(-width / 2.0)
    rings = sum(len(part.interiors) for part in _parts(left))
    if len(_parts(left)) == 1 and rings == len(blank.cutouts):
        return []
    lost = metal.difference(left.buffer(width / 2.0 + CHORD, join_style="mitre", mitre_limit=8.0))
    thin = max(_parts(lost), key=lambda part: part.area, default=None)
    return [(thin.centroid.x, thin.centroid.y)] if thin is not None else []


def _parts(shape: BaseGeometry) -> list[Polygon]:
    return [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon) and not part.is_empty]


@rule("neck", severity=Severity.FORBID, source=PRACTICE)
def neck(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """No metal hangs by less than 0.25 mm (0.010 in): that is the width of a scribed line, and less than any sheet."""
    for x, y in necks(blank):
        text = (
            f"metal narrower than {size(LEAST_METAL)} is left there between two cuts: let them run together or move"
            " them apart"
        )
        yield Seen(f"blank at {spot(x, y)}", None, LEAST_METAL, text)
