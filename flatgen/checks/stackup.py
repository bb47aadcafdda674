"""Whether the sizes of a part can be held with the shop's tolerances."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.develop.stack import ToleranceRow, tolerance_rows
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED
from flatgen.said import Said, joined, said, size

TIGHT = (
    "allow it more (tolerance of the part), or bend coupons of this bend: their spread takes the place of the usual one"
)
FREE = "gauge it by a stop if it mates and let another leg take what is left, or allow it more (tolerance of the part)"


@rule("tolerance-stack", severity=Severity.WARN, source=DERIVED, aircraft=True)
def tolerance_stack(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """The expected spread of every flange, web and overall size stays within what is allowed."""
    for row in tolerance_rows(part, blank, shop):
        if row.exceeds:
            yield Seen(row.where, row.rss, row.limit, _words(row), todo=FREE if row.gauged is False else TIGHT)


def _words(row: ToleranceRow) -> Said:
    largest = sorted(row.spread.contributions, key=lambda part: -part.amount)[:3]
    causes = joined(", ", (said(f"{part.cause} ±", size(part.amount)) for part in largest))
    text = said(
        f"{row.kind} of ",
        size(row.size),
        " comes out within ±",
        size(row.rss),
        " (root sum square; ±",
        size(row.worst),
        " at worst), allowed ±",
        size(row.limit),
        "; most of it from ",
        causes,
    )
    return text + ("; no stop holds it" if row.gauged is False else "")
