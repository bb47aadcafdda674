"""Metal too thin to be cut, held or bent: a whisker between two cuts, or a tip that is one."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.core.words import size, spot
from flatgen.develop.reliefs import LEAST_METAL
from flatgen.develop.whiskers import whiskers
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import PRACTICE


@rule("neck", severity=Severity.FORBID, source=PRACTICE)
def neck(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """No metal hangs by less than 0.25 mm (0.010 in): that is the width of a scribed line, and less than any sheet."""
    for one in whiskers(blank.outline, blank.cutouts):
        where, least = f"blank at {spot(*one.at)}", size(LEAST_METAL)
        if one.hangs:
            text = (
                f"metal narrower than {least} is left there between two cuts: let them run together or move them apart"
            )
            yield Seen(where, None, LEAST_METAL, text)
        else:
            text = f"the metal ends there in a tip narrower than {least} over more than that: round or clip the corner"
            yield Seen(where, None, LEAST_METAL, text, Severity.WARN)
