"""Blank, stock and grain."""

import math
from collections.abc import Iterator

from flatgen.checks.proof import proof_of
from flatgen.checks.rules import Seen, rule
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED, PRACTICE
from flatgen.said import said, size
from flatgen.tables.load import source

STRONG = 200.0  # yield above which sheet is particular about the grain [MPa], common practice
ALONG = 30.0  # nearer than this to the grain a bend counts as along it [deg], common practice


@rule("blank-larger-than-stock", severity=Severity.FORBID, source=DERIVED)
def blank_larger_than_stock(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Some sheet of the part's alloy and thickness takes the blank within its margins and with its grain."""
    sheets = [s for s in shop.sheets if s.is_of(part.material.key, part.nominal)]
    if not sheets:
        text = said(f"the shop has no sheet of {part.material.name}, ", size(part.nominal))
        yield Seen("blank", None, None, text, todo="write one as [[sheet]] in the shop file, or book it: flatgen stock")
        return
    best = math.inf
    for sheet in sheets:
        room = sorted((sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin))
        need = sorted((blank.width, blank.height))
        if blank.grain is not None and (blank.grain - sheet.grain) % 90.0 < 1e-6:
            turned = (blank.grain - sheet.grain) % 180.0 > 1e-6
            need = [blank.height, blank.width] if turned else [blank.width, blank.height]
            room = [sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin]
        over = max(n - r for n, r in zip(need, room, strict=True))
        best = min(best, over)
    if best > 1e-6:
        text = said(
            "the blank is ",
            size(blank.width),
            " by ",
            size(blank.height),
            "; with its grain it is ",
            size(best),
            " too large for every sheet on the list",
        )
        yield Seen("blank", best, 0.0, text, todo="take a larger sheet, or make it in two pieces")


@rule("sheet-thickness", severity=Severity.WARN, source=PRACTICE)
def sheet_thickness(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """What was measured of the sheets that a part may be cut from agrees with what it is developed with."""
    allowed = shop.tolerances.thickness
    found = [(f'sheet "{s.id}"', s.measured) for s in shop.sheets if s.is_of(part.material.key, part.nominal)]
    for name, measured in (*found, ("the part itself", part.measured)):
        off = 0.0 if measured is None else abs(measured - part.thickness)
        if off > allowed + 1e-9:
            text = said(
                f"{name} measures ",
                size(measured or 0.0),
                ", the blank is developed with ",
                size(part.thickness),
            )
            todo = "cut it from a sheet that measures as much, or make a job of its own for the other sheet"
            yield Seen(name, off, allowed, text, todo=todo)


@rule(
    "grain-along-bend",
    severity=Severity.WARN,
    aircraft=True,
    source=source("faa-h-8083-31", "ch. 4, bend lines across the grain"),
)
def grain_along_bend(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Bend lines run across the grain; a bend along it wants a larger radius or a coupon."""
    for bend in blank.bends:
        off = blank.angle_to_grain(bend)
        if off is not None and off < ALONG - 1e-9:
            proof = proof_of(part, blank, bend, shop)
            settled = proof.state == "settled"
            way = proof.words() if settled else "take 1.5 times the least radius or prove it with a coupon"
            text = f"the bend runs {off:.0f}° off the grain, and along it the sheet cracks sooner"
            severity = Severity.NOTE if settled else None
            yield Seen(f"bend {bend.id}", off, ALONG, text, severity, unit="deg", todo=way)


@rule("grain-not-stated", severity=Severity.NOTE, source=DERIVED)
def grain_not_stated(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A bent part of a strong temper says how its grain runs."""
    if blank.grain is None and blank.bends and part.material.yield_strength > STRONG:
        text = "no grain direction is given; on this temper bends should run across the grain"
        yield Seen("blank", None, None, text, todo="write grain")
