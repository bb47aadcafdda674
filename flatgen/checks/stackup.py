"""Whether the sizes of a part can be held with the shop's tolerances."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.core.words import size
from flatgen.develop.stack import ToleranceRow, tolerance_rows
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED


@rule("tolerance-stack", severity=Severity.WARN, source=DERIVED, aircraft=True)
def tolerance_stack(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """The expected spread of every flange, web and overall size stays within what is allowed."""
    for row in tolerance_rows(part, blank, shop):
        if row.exceeds:
            yield Seen(row.where, row.rss, row.limit, _words(row))


def _words(row: ToleranceRow) -> str:
    largest = sorted(row.spread.contributions, key=lambda part: -part.amount)[:3]
    causes = ", ".join(f"{part.cause} ±{size(part.amount)}" for part in largest)
    text = (
        f"{row.kind} of {size(row.size)} comes out within ±{size(row.rss)} (root sum square; ±{size(row.worst)} at"
        f" worst), allowed ±{size(row.limit)}; most of it from {causes}"
    )
    if row.gauged is False:
        text += "; it is the leg that no stop holds: gauge it if it mates, and let another leg take what is left"
    return text
