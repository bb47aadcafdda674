"""Metal too thin to be cut, held or bent: a whisker between two cuts, or a tip that is one."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.develop.reliefs import LEAST_METAL
from flatgen.develop.whiskers import whiskers
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import PRACTICE
from flatgen.said import said, size, spot


@rule("neck", severity=Severity.FORBID, source=PRACTICE)
def neck(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """No metal hangs by less than 0.25 mm (0.010 in): that is the width of a scribed line, and less than any sheet."""
    for one in whiskers(blank.outline, blank.cutouts):
        place = said(", at ", spot(*one.at), " of the blank")
        if one.hangs:
            text = said("metal narrower than ", size(LEAST_METAL), " is left between two cuts", place)
            yield Seen("blank", None, LEAST_METAL, text, todo="let the cuts run together or move them apart")
        else:
            tip = said("the metal ends in a tip narrower than ", size(LEAST_METAL), " over more than that", place)
            yield Seen("blank", None, LEAST_METAL, tip, Severity.WARN, todo="round or clip the corner")
