"""The second printer: contents as pieces of the packet's page. Text reaches the page through ``tag``, which escapes it.

Boxes and counts carry the content's own key in ``data-keep``, so that a reprint finds what was ticked before.
"""

import base64
from functools import singledispatch

from flatgen.page import layers
from flatgen.page.blocks import SIGNS
from flatgen.page.content import (
    Beside,
    Box,
    Cell,
    Content,
    Count,
    Entry,
    Facts,
    Figure,
    Fold,
    Heading,
    Picture,
    Steps,
    Subject,
    Table,
    Words,
)
from flatgen.page.drawing import Contour, Curve, Drawing, Item, Layer, Raster, Text
from flatgen.page.lettering import CAP_HEIGHT
from flatgen.page.pens import StrokePen
from flatgen.write import packet_html as html
from flatgen.write.packet_html import Html, tag, word
from flatgen.write.svg import number, shape_data


def article(subject: Subject) -> Html:
    """A subject with its address and its name."""
    name = f"{subject.key}-name"
    side = tag("span", word(subject.side), class_="side-note") if subject.side else None
    return tag(
        "article",
        tag("h3", word(subject.title), side, id=name),
        tag("p", word(subject.under), class_="under") if subject.under else None,
        [shown(content) for content in subject.contents],
        id=subject.key,
        aria_labelledby=name,
    )


@singledispatch
def shown(content: Content) -> Html:
    """One content as markup; a new kind of content registers its own."""
    raise TypeError(type(content).__name__)


@shown.register
def _(content: Heading) -> Html:
    return tag(f"h{content.level + 3}", word(content.text))


@shown.register
def _(content: Words) -> Html:
    if content.tone == "code":
        return tag("pre", content.text)
    sign = SIGNS.get(content.tone)
    return tag("p", tag("strong", sign) if sign else None, word(content.text), class_=content.tone)


@shown.register
def _(content: Facts) -> Html:
    return html.facts([(name, word(value)) for name, value in content.rows])


@shown.register
def _(content: Figure) -> Html:
    return tag(
        "div",
        tag("p", word(content.label), class_="label"),
        tag("p", word(f"{content.value} {content.unit}".strip()), class_="big"),
        tag("p", word(content.note), class_="note") if content.note else None,
        class_="figure",
    )


@shown.register
def _(content: Box) -> Html:
    return _box(content)


@shown.register
def _(content: Count) -> Html:
    """A counter with buttons that a thumb can hit."""
    return tag(
        "span",
        tag("button", "−", type="button", data_step="-1", aria_label=f"One less: {content.what}"),
        tag(
            "input",
            type="number",
            min=content.done,
            max=content.of,
            value=content.done,
            inputmode="numeric",
            data_keep=content.key,
            aria_label=f"Of {content.of}: {content.what}",
        ),
        tag("button", "+", type="button", data_step="1", aria_label=f"One more: {content.what}"),
        f" of {content.of}",
        class_="count",
    )


@shown.register
def _(content: Entry) -> Html:
    return tag("label", word(content.label), tag("input", type="text", data_keep=content.key, aria_label=content.what))


@shown.register
def _(content: Picture) -> Html:
    caption = tag("figcaption", word(content.caption)) if content.caption else None
    return tag("figure", svg(content.drawing, content.alt), caption)


@shown.register
def _(content: Table) -> Html:
    rows = [[_cell(cell) for cell in row] for row in content.rows]
    return html.table(content.title, content.heads, rows, numbers=content.numbers)


@shown.register
def _(content: Steps) -> Html:
    items = []
    for step in content.steps:
        said = [tag("strong", SIGNS[step.tone]) if step.tone in SIGNS else None, word(step.text)]
        box = tag("input", type="checkbox", data_keep=step.key) if step.key else None
        items.append(tag("li", tag("label", box, " ", said) if box else said))
    return tag("ol", items, class_="steps", start=content.first if content.first > 1 else None)


@shown.register
def _(content: Fold) -> Html:
    inside = [shown(inner) for inner in content.contents]
    return tag("details", tag("summary", word(content.summary)), inside, class_=None if content.printed else "aside")


@shown.register
def _(content: Beside) -> Html:
    return tag("div", [tag("div", [shown(c) for c in inner]) for _, inner in content.columns], class_="beside")


def _cell(cell: Cell) -> Html:
    return word(cell) if isinstance(cell, str) else shown(cell)


def _box(content: Box) -> Html:
    box = tag("input", type="checkbox", data_keep=content.key, aria_label=content.what)
    return tag("label", box, " ", content.label)


# a layer's colour on paper → its name in the page's style, which has a light and a dark one
INKS = {
    layers.BLACK: "ink",
    layers.RED: "stop",
    layers.GREEN: "good",
    layers.BLUE: "accent",
    layers.VIOLET: "violet",
    layers.GREY: "quiet",
    layers.PALE: "quiet",
    layers.SKY: "sky",
}
PIXELS = {layers.NARROW: 1.1, layers.WIDE: 1.8, layers.THICK: 3.0}  # widths of lines, whatever the picture's scale


def layer_styles() -> str:
    """Rules for the lines and letters of every layer."""
    rules = []
    for layer in layers.LAYERS:
        ink, wide = f"var(--{INKS[layer.color, layer.color_index]})", PIXELS[layer.width]
        dashes = " ".join(f"{max(1.0, 0.6 * wide * dash):.1f}" for dash in layer.line.pattern)
        dashed = f"; stroke-dasharray: {dashes}" if dashes else ""
        rules.append(f"svg .on-{layer.name} {{ fill: none; stroke: {ink}; stroke-width: {wide}px{dashed} }}")
        rules.append(f"svg .on-{layer.name} :is(text, .full) {{ fill: {ink} }}")
    return "\n".join([*rules, "svg text { stroke: none }", ""])


def svg(drawing: Drawing, alt: str, over: html.Content = None) -> Html:
    """A drawing in the page, its lines in the classes of their layers, so that they follow the page's colours.

    over : what lies over it, in paper millimetres, y downward
    """
    (x, y), (wide, tall) = drawing.origin, drawing.size
    view = f"{number(x)} {number(-y - tall)} {number(wide)} {number(tall)}"
    groups = [_group(layer, [item for item in drawing.items if item.layer == layer.name]) for layer in drawing.layers]
    return tag("svg", groups, over, viewBox=view, role="img", aria_label=alt, width=f"{number(wide)}mm")


def _group(layer: Layer, items: list[Item]) -> Html:
    pen = _ScreenPen()
    for item in items:
        item.onto(pen)
    return tag("g", pen.elements, class_=f"on-{layer.name}")


class _ScreenPen(StrokePen):
    """Items as elements of a picture in the page."""

    def __init__(self) -> None:
        self.elements: list[Html] = []

    def curve(self, item: Curve) -> None:
        self.elements.append(tag("path", d=shape_data(item)))

    def contour(self, item: Contour) -> None:
        self.elements.append(tag("path", d=shape_data(item), class_="full" if item.filled else None))

    def raster(self, item: Raster) -> None:
        (x, y), (wide, tall) = item.at, item.size
        href = f"data:image/jpeg;base64,{base64.b64encode(item.jpeg).decode('ascii')}"
        place = dict(zip(("x", "y", "width", "height"), map(number, (x, -y - tall, wide, tall)), strict=True))
        self.elements.append(tag("image", href=href, **place))

    def text(self, item: Text) -> None:
        x, y = number(item.at[0]), number(-item.at[1])
        self.elements.append(
            tag(
                "text",
                item.text,
                x=x,
                y=y,
                font_size=number(item.height / CAP_HEIGHT),
                font_weight="bold" if item.bold else None,
                text_anchor={"left": None, "middle": "middle", "right": "end"}[item.anchor],
                transform=f"rotate({number(-item.angle)} {x} {y})" if item.angle else None,
            )
        )
