"""Brake plan of the page: one card a setting, with big figures, boxes to tick and counts that the browser keeps."""

from collections.abc import Sequence

from flatgen.core.outline import bounds
from flatgen.model.handling import lay_words, out_words, seat_words
from flatgen.model.plan import BendPicture, Operation, Setup
from flatgen.model.results import Results
from flatgen.page.packet import Enclosure
from flatgen.units import format_angle
from flatgen.write.packet_html import Content, Html, facts, join, table, tag, word
from flatgen.write.packet_nests import tick
from flatgen.write.packet_words import (
    big_words,
    length,
    material_name,
    measure_words,
    plan_words,
    setback_words,
    stop_words,
)
from flatgen.write.svg import number, path_data


def brake_section(results: Results, enclosures: Sequence[Enclosure]) -> Html | None:
    """All settings in order; None when the brake is not planned."""
    if not results.setups:
        return None
    units = results.job.units
    plan = results.plan
    assert plan is not None
    return tag(
        "section",
        tag("h2", "Brake plan"),
        tag("p", plan_words(plan)),
        tag("p", "Not planned, no way to bend them here (findings): ", word(", ".join(plan.not_made)), class_="stop")
        if plan.not_made
        else None,
        tag(
            "p",
            "Stop settings are reckoned, not measured: bend one, measure it, correct the stop, bend the rest.",
            class_="caution",
        ),
        [_setting(k, setup, results, units) for k, setup in enumerate(results.setups, 1)],
        id="brake",
    )


def _setting(k: int, setup: Setup, results: Results, units: str) -> Html:
    where = big_words(setup, units)
    sheet = f"{material_name(results, setup.material)} {length(setup.thickness, units)}" if setup.material else ""
    said: list[tuple[str, Content]] = []
    if setup.stop_side != "squeeze":  # there nothing is set on the brake
        said = [
            ("Brake", word(setup.brake)),
            ("Nose bar", join(word(setup.nose), f", radius {length(setup.nose_radius, units)}")),
            ("Nose set-back", setback_words(setup, units)),
            ("Over-bend to", format_angle(setup.overbend_to)),
        ]
    if sheet:
        said.append(("Sheet", word(sheet)))
    if setup.changes:
        said.append(("Change now", ", ".join(setup.changes)))
    checks = [("first piece measured and right", "first")]
    if setup.coupon_first:
        checks.insert(0, ("test piece bent and measured", "coupon"))
    return tag(
        "article",
        tag("h3", f"Setting {k}: ", stop_words(setup, units), id=f"setting-name-{k}"),
        tag("p", where, class_="big"),
        facts(said),
        tag(
            "ul",
            [
                tag("li", tag("label", tag("input", type="checkbox", data_keep=f"b{k}{key}"), f" {text}"))
                for text, key in checks
            ],
            class_="checks",
        ),
        table(
            f"Bends at setting {k}",
            ("bend", "done", "pieces bent", "lay it", "touches the stop", "first piece measures"),
            [_operation(k, n, op, setup, units) for n, op in enumerate(setup.operations)],
        ),
        tag("div", [_side(op) for op in setup.operations if op.picture is not None], class_="sides"),
        id=f"setting-{k}",
        aria_labelledby=f"setting-name-{k}",
    )


def _operation(k: int, n: int, op: Operation, setup: Setup, units: str) -> tuple[Content, ...]:
    what = f"{op.part} {op.bend}, step {op.step}"
    counter = tag(
        "span",
        tag("button", "−", type="button", data_step="-1", aria_label=f"One less of {what}"),
        tag(
            "input",
            type="number",
            min="0",
            max=op.pieces,
            value="0",
            inputmode="numeric",
            data_keep=f"b{k}n{n}",
            aria_label=f"Pieces bent of {op.pieces}: {what}",
        ),
        tag("button", "+", type="button", data_step="1", aria_label=f"One more of {what}"),
        f" of {op.pieces}",
        class_="count",
    )
    bend = join(word(op.part), f" {op.bend}, {format_angle(op.angle)}, step {op.step}")
    return (
        bend,
        tick(what, f"b{k}t{n}"),
        counter,
        " ".join(filter(None, (lay_words(op), out_words(op)))),
        word(seat_words(op)),
        measure_words(op, units),
    )


def _side(op: Operation) -> Html:
    """The bend from the side: tools in outline, the metal before and after."""
    picture = op.picture
    assert picture is not None
    x0, y0, x1, y1 = _window(picture)
    items = [tag("path", d=path_data(section), class_="tool") for _, section in picture.tools]
    items += [tag("path", d=path_data(section), class_="before") for section in picture.before]
    items += [tag("path", d=path_data(section), class_="beyond") for section in picture.beyond]
    items += [tag("path", d=path_data(section), class_="after") for section in picture.after]
    if picture.stop is not None:
        x, y = picture.stop
        items.append(tag("path", d=f"M{number(x)},{number(-y)}v{number(-(y1 - y0) * 0.2)}", class_="stop-face"))
    view = f"{number(x0)} {number(-y1)} {number(x1 - x0)} {number(y1 - y0)}"
    label = f"{op.part} {op.bend} from the side: metal before the bend dashed, after it full, and the tools"
    return tag(
        "figure",
        tag("svg", items, viewBox=view, role="img", aria_label=label, class_="side"),
        tag("figcaption", word(op.part), f" {op.bend}"),
    )


def _window(picture: BendPicture) -> tuple[float, float, float, float]:
    """The metal and what is near it, with some room around."""
    x0, y0, x1, y1 = bounds([*picture.before, *picture.after])
    room = 0.15 * max(x1 - x0, y1 - y0) + 3.0
    return x0 - room, y0 - room, x1 + room, y1 + room
