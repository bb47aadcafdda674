"""The font in a PDF: only the letters that a file uses are embedded, and what has no letter is told of.

Most pages need none but the usual letters. Those are taken out of the font once a run, since parsing all of it for each
of the many files of a packet would take longer than drawing them.
"""

import atexit
import functools
import shutil
import tempfile
import unicodedata
import warnings
from io import BytesIO
from pathlib import Path
from typing import Any

from flatgen.errors import LettersMissing
from flatgen.kept import kept
from flatgen.page.typeface import USUAL, font_file, missing, printable

FAMILY, WHOLE = "liberation", "liberation-whole"


class Letters:
    """The lettering of one document: sets its fonts, and remembers which letters it had to leave out."""

    def __init__(self, document: Any) -> None:
        """Nothing set yet."""
        self.document = document
        self.left_out: dict[str, None] = {}

    def set(self, text: str, bold: bool, points: float) -> str:
        """Set the font for a text; what comes back is the text as it can be set [pt]."""
        said, usual, without = _read(text)
        self.left_out.update(dict.fromkeys(without))
        family, style = FAMILY if usual else WHOLE, "B" if bold else ""
        if f"{family}{style}" not in self.document.fonts:
            self.document.add_font(family, style, _usual_letters(bold) if usual else font_file(bold))
            # the letters' boxes stay as they are, so they are not taken apart and put together again for each file
            self.document.fonts[f"{family}{style}"].ttfont.recalcBBoxes = False
        self.document.set_font(family, style, points)
        return said

    def written(self) -> bytes:
        """The document as a file; warns of letters that were left out, and lets go of the fonts' files."""
        data = bytes(self.document.output())
        for font in self.document.fonts.values():
            font.ttfont.close()
        if self.left_out:
            warnings.warn(LettersMissing("".join(self.left_out)), stacklevel=2)
        return data


@functools.lru_cache(maxsize=4096)
def _read(text: str) -> tuple[str, bool, str]:
    """A text as the page has it, whether the usual letters do for it, and those that no font has."""
    said = shown(text)
    return said, USUAL.issuperset(said), missing(text)


def shown(text: str) -> str:
    """A text as the page has it: in letters of the font, words of a script that runs to the left turned round."""
    text = printable(text)
    if not any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text):
        return text
    from fpdf.bidi import BidiParagraph

    return "\n".join(str(BidiParagraph(text=line).get_reordered_string()) for line in text.split("\n"))


@functools.cache
def _usual_letters(bold: bool) -> Path:
    """A font with only the usual letters, in a folder that goes when the program ends."""
    path = _folder() / font_file(bold).name
    path.write_bytes(kept(_cut_down, bold))
    return path


def _cut_down(bold: bool) -> bytes:
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    options = Options(notdef_outline=True, hinting=False, layout_features=[])
    options.drop_tables += ["GSUB", "GPOS", "GDEF", "kern", "FFTM"]
    with TTFont(font_file(bold), lazy=True, recalcTimestamp=False) as font, BytesIO() as file:
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=[ord(letter) for letter in USUAL])
        subsetter.subset(font)
        font.save(file)
        return file.getvalue()


@functools.cache
def _folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="flatgen-letters-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder
