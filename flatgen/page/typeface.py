"""The letters that a printed page has: Liberation Sans, carried along with its licence (SIL OFL 1.1, fonts/OFL.txt).

It is as wide, letter by letter, as the sans-serif that PDF readers have built in, and has Latin, Greek, Cyrillic and
Hebrew letters with the signs of the trade. A text is brought into letters that are there; what is left has a box.
"""

import functools
import unicodedata
from importlib import resources
from pathlib import Path

BOX = "\u25a1"  # what stands for a letter that is not there
# letters that every page may need, and the end of a line; what goes beyond them asks for the whole font
USUAL = frozenset(map(chr, (*range(32, 127), *range(160, 256), 10))) - {"\u00ad"}
USUAL |= frozenset("\u2013\u2014\u2018\u2019\u201c\u201d\u2022\u2026\u2032\u2033\u2212\u2264\u2265\u221a" + BOX)
# signs for a diameter, a box and a tick; spaces of all kinds
_STAND_INS = {"\u2300": "\u00d8", "\u2205": "\u00d8", "\u2610": BOX, "\u2713": "\u221a", "\t": " "}
_STAND_INS |= dict.fromkeys("\u2002\u2003\u2007\u2008\u2009\u200a\u202f", " ")
UNSEEN = ("Cc", "Cf")  # categories of characters that steer text and have no letter


def font_file(bold: bool) -> Path:
    """The file of the font."""
    return Path(str(resources.files("flatgen"))) / "fonts" / f"LiberationSans-{'Bold' if bold else 'Regular'}.ttf"


@functools.cache
def widths(bold: bool) -> dict[str, float]:
    """Width of every letter in thousandths of the type size; read from the font when a rare letter asks for it."""
    from fontTools.ttLib import TTFont

    with TTFont(font_file(bold), lazy=True) as font:
        advances, unit = font["hmtx"].metrics, font["head"].unitsPerEm
        return {chr(code): 1000.0 * advances[name][0] / unit for code, name in font.getBestCmap().items()}


def has(letter: str) -> bool:
    """Whether the font has a letter."""
    return letter in USUAL or letter in widths(False)


def printable(text: str) -> str:
    """The text in letters that are there: stand-ins, then letters without their accents, then a box.

    >>> printable("Łódź ⌀3 ж"), printable("\u7248")
    ('Łódź Ø3 ж', '□')
    """
    if USUAL.issuperset(text):
        return text
    return "".join(_printable(letter) for letter in unicodedata.normalize("NFC", text))


@functools.cache
def _printable(letter: str) -> str:
    letter = _STAND_INS.get(letter, letter)
    if unicodedata.category(letter) in UNSEEN and letter != "\n":
        return ""
    if has(letter):
        return letter
    bare = "".join(c for c in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(c))
    return bare if bare != letter and bare and all(map(has, bare)) else BOX


def missing(text: str) -> str:
    """The letters of a text that print as a box, each once.

    >>> missing("pos. \u7248, \u7248")
    '\u7248'
    """
    if USUAL.issuperset(text):
        return ""
    return "".join(dict.fromkeys(c for c in unicodedata.normalize("NFC", text) if c != BOX and _printable(c) == BOX))
