"""Paper sizes, drawing frames and scales.

Sizes A0 to A4 after ISO 216, US sizes after ASME Y14.1, frame margins after ISO 5457 (20 mm on the filing side, 10 mm
on the others, from memory; US sheets likewise), scales after ISO 5455. Lengths mm.
"""

from dataclasses import dataclass

from flatgen.errors import InputError, nearest

INCH = 25.4


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright: width is the shorter side; height 0 for a roll, cut to length."""

    name: str
    title: str
    width: float
    height: float


PAPERS: dict[str, Paper] = {
    paper.name: paper
    for paper in (
        Paper("a4", "A4", 210.0, 297.0),
        Paper("a3", "A3", 297.0, 420.0),
        Paper("a2", "A2", 420.0, 594.0),
        Paper("a1", "A1", 594.0, 841.0),
        Paper("a0", "A0", 841.0, 1189.0),
        Paper("letter", "Letter (A)", 8.5 * INCH, 11.0 * INCH),
        Paper("legal", "Legal", 8.5 * INCH, 14.0 * INCH),
        Paper("tabloid", "Tabloid (B)", 11.0 * INCH, 17.0 * INCH),
        Paper("c", "C", 17.0 * INCH, 22.0 * INCH),
        Paper("d", "D", 22.0 * INCH, 34.0 * INCH),
        Paper("roll", "roll, 24 in", 24.0 * INCH, 0.0),
    )
}
# for reading drawings, smallest first; a home printer takes the first, a copy shop the rest
READING = {"mm": ("a4", "a3", "a2", "a1"), "in": ("letter", "tabloid", "c", "d")}
FILING = 20.0
MARGIN = 10.0
ENLARGED = (5.0, 2.0)
REDUCED = (0.5, 0.2, 0.1, 0.05, 0.02, 0.01)


def paper(name: str) -> Paper:
    """The paper with this name; InputError names the nearest known one."""
    key = name.strip().lower()
    if key not in PAPERS:
        raise InputError(f'there is no paper "{name}". {nearest(key, PAPERS)}')
    return PAPERS[key]


def page_paper(name: str, units: str) -> Paper:
    """The paper that pages are printed on: the printer's own; beside a roll, the usual sheet of the job's unit."""
    own = paper(name)
    return own if own.height else PAPERS[READING["in" if units == "in" else "mm"][0]]


def frame_box(sheet: Paper) -> tuple[float, float, float, float]:
    """Inside of the frame of a sheet laid across: x, y of the low corner, x, y of the high one [mm]."""
    return FILING, MARGIN, sheet.height - MARGIN, sheet.width - MARGIN


def scales_for(largest: float) -> tuple[float, ...]:
    """ISO 5455 scales to try for a blank, best first: true size unless its longer side [mm] is very small."""
    enlarged = tuple(s for s in ENLARGED if largest * s <= 130.0)
    return (*enlarged, 1.0, *REDUCED)


def scale_text(scale: float) -> str:
    """A scale as it is written: 1 : 2, 5 : 1.

    >>> scale_text(0.5), scale_text(2.0), scale_text(1.0)
    ('1 : 2', '2 : 1', '1 : 1')
    """
    return f"{scale:g} : 1" if scale >= 1.0 else f"1 : {1.0 / scale:g}"
