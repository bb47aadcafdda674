"""A dimension broken down into lines, arrows and a text, for exporters whose format has no dimensions.

Proportions after ISO 129-1 (from memory): the extension line starts a little off the feature and passes the dimension
line by about eight line widths; a closed arrow; the text above the line. Lengths mm.
"""

import math

from flatgen.core.points import Point, add, along, distance, dot, left, sub, unit
from flatgen.model.drawing import Contour, Item, Line, LinearDimension, OrdinateDimension, Simple, Text
from flatgen.model.lettering import text_width

GAP = 0.8
OVERRUN = 1.2
ARROW = 2.5
ABOVE = 0.7


def simply(item: Item) -> tuple[Simple, ...]:
    """An item as lines, curves and texts: a dimension is broken down, all else is itself."""
    return strokes(item) if isinstance(item, LinearDimension | OrdinateDimension) else (item,)


def strokes(dimension: LinearDimension | OrdinateDimension) -> tuple[Simple, ...]:
    """Lines, arrows and text of a dimension."""
    return _linear(dimension) if isinstance(dimension, LinearDimension) else _ordinate(dimension)


def arrow(layer: str, tip: Point, direction: Point, size: float = ARROW) -> Contour:
    """A filled arrow head with its tip at a point, pointing along a unit direction."""
    back = along(tip, direction, -size)
    side = left(direction)
    half = size / 6.0
    corners = (tip, along(back, side, half), along(back, side, -half))
    return Contour(layer, tuple((*p, 0.0) for p in corners), filled=True)


def _linear(d: LinearDimension) -> tuple[Simple, ...]:
    along_line = (math.cos(math.radians(d.angle)), math.sin(math.radians(d.angle)))
    feet = tuple(along(d.line_at, along_line, dot(sub(p, d.line_at), along_line)) for p in (d.start, d.end))
    items: list[Simple] = []
    for point, foot in zip((d.start, d.end), feet, strict=True):
        away = distance(point, foot)
        if away > GAP:
            u = unit(sub(foot, point))
            items.append(Line(d.layer, along(point, u, GAP), along(foot, u, OVERRUN)))
    span = distance(*feet)
    if span < 1e-9:
        return tuple(items)
    way = unit(sub(feet[1], feet[0]))
    width = text_width(d.text, d.height)
    inside = span >= 3.0 * ARROW
    turned = d.angle % 180.0
    angle = turned - 180.0 if turned > 90.0 + 1e-6 else turned
    reading = (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    ends = list(feet)
    if inside:
        items += [arrow(d.layer, feet[0], (-way[0], -way[1])), arrow(d.layer, feet[1], way)]
    else:
        items += [arrow(d.layer, feet[0], way), arrow(d.layer, feet[1], (-way[0], -way[1]))]
        ends = [along(feet[0], way, -2.0 * ARROW), along(feet[1], way, 2.0 * ARROW)]
    if width <= span - 1.0:
        at = along(along(feet[0], way, span / 2.0), left(reading), ABOVE)
        items.append(Text(d.layer, at, d.text, d.height, "middle", angle))
    else:
        # no room between: the text stands on the line, drawn out beyond the end that reads last
        last = 1 if dot(way, reading) > 0 else 0
        out = 2.0 * ARROW
        ends[last] = along(feet[last], reading, out + width)
        items.append(
            Text(d.layer, along(along(feet[last], reading, out), left(reading), ABOVE), d.text, d.height, "left", angle)
        )
    items.append(Line(d.layer, ends[0], ends[1]))
    return tuple(items)


def _ordinate(d: OrdinateDimension) -> tuple[Simple, ...]:
    """Line from the feature, jogged where the text had to move aside, and the text in line with its end."""
    k = 1 if d.axis == "x" else 0  # the coordinate along which the line runs
    way = 1.0 if d.end[k] >= d.feature[k] else -1.0
    run: Point = (0.0, way) if k else (way, 0.0)
    start = along(d.feature, run, GAP)
    items: list[Simple] = []
    if abs(d.end[1 - k] - d.feature[1 - k]) < 1e-6:
        items.append(Line(d.layer, start, d.end))
    else:
        knee_far = along(d.end, run, -1.5)
        knee_near = along(d.feature, run, GAP + 1.0)
        items += [
            Line(d.layer, start, knee_near),
            Line(d.layer, knee_near, knee_far),
            Line(d.layer, knee_far, d.end),
        ]
    if k:
        at = add(along(d.end, run, ABOVE), (0.5 * d.height, 0.0))
        items.append(Text(d.layer, at, d.text, d.height, "left" if way > 0 else "right", 90.0))
    else:
        at = add(along(d.end, run, ABOVE), (0.0, -0.5 * d.height))
        items.append(Text(d.layer, at, d.text, d.height, "left" if way > 0 else "right"))
    return tuple(items)
