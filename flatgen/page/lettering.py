"""How much room lettering takes: widths of its letters.

Widths are in thousandths of the type size, from the metrics that PDF readers have built in for Helvetica (ISO 32000-1,
9.6.2.2: the standard 14 fonts); Liberation Sans, which is printed, has the same, and its own for rarer letters. Its
capitals are 4 % lower than those of the metrics, which is left so: texts keep their width. Lengths mm.
"""

import functools
import math

from flatgen.page.typeface import printable, widths

CAP_HEIGHT = 0.718  # of the type size
DESCENT = 0.29  # below the baseline, of the height of capitals
ASCENT = 1.02

_PLAIN = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 "
    "278 584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 "
    "667 944 667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 "
    "556 333 500 278 556 500 722 500 500 500 334 260 334 584 "
)
_BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 "
    "333 584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 "
    "667 944 667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 "
    "611 389 556 333 611 556 778 556 556 500 389 280 389 584 "
)
WIDTHS = {
    bold: {chr(32 + i): int(w) for i, w in enumerate(text.split())} for bold, text in ((False, _PLAIN), (True, _BOLD))
}
for _table in WIDTHS.values():
    _table.update({"°": 400, "±": 549, "×": 584, "Ø": 778, "·": 333, "½": 834, "¼": 834, "¾": 834})
OTHER_WIDTH = 722  # a letter that nobody knows: a wide one, so that nothing is squeezed

Box = tuple[float, float, float, float]


def text_width(text: str, height: float, bold: bool = False) -> float:
    """Width of a line of text with capitals of a height [mm]."""
    return _units(text, bold) / 1000.0 * height / CAP_HEIGHT


@functools.lru_cache(maxsize=65536)
def _units(text: str, bold: bool) -> float:
    """Width of a line of text [thousandths of the type size]."""
    table = WIDTHS[bold]
    return math.fsum(table.get(c) or _rare_width(c, bold) for c in text)


@functools.cache
def _rare_width(letter: str, bold: bool) -> float:
    """Width of a letter beyond the usual, as the page will show it [thousandths of the type size]."""
    return math.fsum(widths(bold).get(c, OTHER_WIDTH) for c in printable(letter) if c != "\n")
