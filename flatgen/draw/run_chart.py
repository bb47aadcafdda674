"""Measured pieces in their order as a chart: values, tolerance, mean with control limits, drift; and report pages."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.core.correction import Series, SeriesReport
from flatgen.core.outline import rectangle
from flatgen.core.words import Units
from flatgen.page.blocks import blocks, stacked
from flatgen.page.content import Beside, Content, Heading, Picture, Subject, Words
from flatgen.page.drawing import Circle, Contour, Drawing, Item, Line, Text
from flatgen.page.flow import on_paper, pages
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.place import spread
from flatgen.units import format_angle, format_length

HEIGHT = 52.0
LEFT = 19.0
RIGHT = 27.0
LOW = 9.0
TEXT = 2.0
DOT = 1.6
FOOT = "Correct a setting only when the report says so: following every piece widens the spread."


@dataclass(frozen=True, slots=True)
class Chart:
    """One series with its heading, its findings and what to do now, in words."""

    title: str
    series: Series
    found: SeriesReport
    action: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Field:
    """Where a chart's values lie: its low left corner, its size, and the values at its ends."""

    wide: float
    tall: float
    places: tuple[float, float]
    values: tuple[float, float]

    def at(self, place: float, value: float) -> tuple[float, float]:
        """A value of a piece on the page."""
        (first, last), (least, most) = self.places, self.values
        step = 0.04 * (last - first or 1.0)
        share = (place - first + step) / (last - first + 2.0 * step)
        return (LEFT + share * self.wide, LOW + (value - least) / (most - least) * self.tall)

    def level(self, value: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """A line all across at a value."""
        y = self.at(self.places[0], value)[1]
        return (LEFT, y), (LEFT + self.wide, y)


def _field(chart: Chart, width: float, height: float) -> _Field:
    series, found = chart.series, chart.found
    marks = [*series.deviations, series.lower, series.upper, 0.0]
    if found.limits is not None:
        marks += [found.limits.low, found.limits.high]
    pad = 0.06 * (max(marks) - min(marks) or 1.0)
    places = (float(min(series.places)), float(max(series.places)))
    return _Field(width - LEFT - RIGHT, height - LOW - 2.0, places, (min(marks) - pad, max(marks) + pad))


def chart_items(chart: Chart, width: float, units: str, height: float = HEIGHT) -> list[Item]:
    """Items of the chart alone, its low left corner at 0, 0: deviation from nominal over piece number."""
    series, found, field = chart.series, chart.found, _field(chart, width, height)
    end, first = LEFT + field.wide, field.places[0]
    levels = [("tolerance", series.upper, "upper limit"), ("tolerance", series.lower, "lower limit")]
    levels.append(("control", found.mean.mean, "mean"))
    if found.limits is not None and found.limits.sigma > 0.0:
        levels += [("control", found.limits.high, "mean + 3 s"), ("control", found.limits.low, "mean - 3 s")]
    items: list[Item] = [Contour("frame", rectangle(LEFT, LOW, field.wide, field.tall))]
    items += [Line(layer, *field.level(value)) for layer, value, _ in levels]
    items.append(Line("rule", *field.level(0.0)))
    items += _labels([(field.at(first, value)[1], text) for _, value, text in levels], end + 1.5, TEXT)
    for value in (series.upper, 0.0, series.lower):
        text = "0" if value == 0.0 else _signed(series.kind, value, units)
        items.append(Text("note", (LEFT - 1.5, field.at(first, value)[1] - 0.5 * TEXT), text, TEXT, "right"))
    points = [field.at(p, v) for p, v in zip(series.places, series.deviations, strict=True)]
    if len(points) > 1:
        items.append(Contour("measured", tuple((x, y, 0.0) for x, y in points), closed=False))
    items += [Circle("measured", point, DOT) for point in points]
    items += [Circle("measured", points[k], 2.4 * DOT) for k in found.odd]
    if found.slope is not None and found.slope.real:
        ends = [field.at(p, found.slope.start + found.slope.slope * p) for p in field.places]
        items.append(Line("trend", ends[0], ends[1]))
    items += _pieces(series.places, field, LOW - 1.5 - TEXT)
    items.append(Text("note", (end, 0.4), "piece" if not series.places else "piece, in order", TEXT, "right"))
    return items


def _labels(labels: list[tuple[float, str]], x: float, size: float) -> list[Item]:
    """Names of the levels beside the chart, none over another."""
    ys = spread([y for y, _ in labels], [1.5 * size] * len(labels))
    return [Text("note", (x, y - 0.5 * size), text, size) for y, (_, text) in zip(ys, labels, strict=True)]


def _pieces(places: Sequence[float], field: _Field, y: float) -> list[Item]:
    """Piece numbers under the chart, as many as there is room for."""
    items: list[Item] = []
    right = -1e9
    for place in places:
        x = field.at(place, 0.0)[0]
        text = f"{place:g}"
        half = text_width(text, TEXT) / 2.0
        if x - half > right + 1.2:
            items.append(Text("note", (x, y), text, TEXT, "middle"))
            right = x + half
    return items


def _signed(kind: str, value: float, units: str) -> str:
    text = format_angle(abs(value)) if kind == "angle" else format_length(abs(value), units)
    return f"{'-' if value < 0 else '+'}{text}"


def chart_picture(chart: Chart, units: Units, width: float = 180.0) -> Drawing:
    """The chart alone."""
    items = tuple(chart_items(chart, width, units))
    return Drawing(chart.title, (width, HEIGHT), items, used(items), units)


def _contents(chart: Chart, units: Units, width: float) -> tuple[Content, ...]:
    """Heading, chart, what to do and why."""
    return (
        Heading(chart.title, 2),
        Picture(chart_picture(chart, units, width), chart.title, true=True, tall=HEIGHT),
        Words(f"Now: {chart.action}", "strong"),
        *(Words(reason) for reason in chart.reasons),
    )


def report_pages(
    title: str, subtitle: str, charts: Iterable[Chart], units: Units, paper_name: str = "letter"
) -> tuple[Drawing, ...]:
    """A report: a chart for each dimension and each stop setting with the correction to make now."""
    setting = on_paper(paper_name, title, units, FOOT)
    kept = tuple(Beside(((1.0, _contents(chart, units, setting.width)),)) for chart in charts)
    return pages([Subject("report", title, kept, under=subtitle)], setting)


def chart_drawing(chart: Chart, units: Units, width: float = 180.0) -> Drawing:
    """One chart with its words as a drawing of its own size, for a screen."""
    block = stacked(blocks(_contents(chart, units, width), width))
    return Drawing(chart.title, (width, block.height), block.items, layers=used(block.items), units=units)
