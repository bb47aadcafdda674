"""The paper templates of developed parts as one file: layout, the printer's correction, what a finding stopped."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from flatgen.core.words import Units
from flatgen.errors import InputError
from flatgen.jobs.make import inputs_of
from flatgen.model.results import Results


@dataclass(frozen=True, slots=True)
class Made:
    """The file written, None without a part that may be made; what is on each page; the parts that are stopped."""

    file: Path | None
    pages: tuple[str, ...]
    stopped: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Printing:
    """How templates are printed: paper and its overlap as text, units, the side of the metal.

    measured : ``measured_x`` and ``measured_y`` as text; those given are kept in shop.toml
    """

    paper: str | None
    overlap: str
    mirror: bool
    measured: Mapping[str, str | None]
    units: str | None


def make_templates(results: Results, out: Path, how: Printing) -> Made:
    """Write the templates of a job's planned parts into one PDF, sight lines for the face that the plan clamps."""
    from flatgen.draw.template import template
    from flatgen.draw.tiles import Layout, pages
    from flatgen.drawings import clamped_faces
    from flatgen.output.single import written_file
    from flatgen.page.paper import paper as paper_named
    from flatgen.write.pdf import write_pages
    from flatgen.write.shop_file import remember

    job, shop = results.job, results.job.shop
    bars = {key: bar_length(text, "--" + key.replace("_", "-")) for key, text in how.measured.items() if text}
    x, y = (100.0 / bars[k] if k in bars else old for k, old in zip(how.measured, shop.printer_scale, strict=True))
    overlap = _length(how.overlap, shop.units, "--overlap")
    layout = Layout(paper_named(how.paper or shop.printer_paper), overlap, (x, y), job.title)
    shown = cast(Units, how.units or job.units)
    sheets = [
        template(m.part, m.blank, shown, mirror=how.mirror, clamped=clamped_faces(results, m.part.id))
        for m in results.parts
        if not m.stopped
    ]
    stopped = tuple(m.part.id for m in results.parts if m.stopped)
    if not sheets:
        return Made(None, (), stopped)
    drawings = pages(sheets, layout)
    with written_file(out, "pdf", "template", inputs_of(job)) as path:
        write_pages(drawings, path)
        if bars:
            remember(Path(shop.file), {key: f"{round(length, 3):g} mm" for key, length in bars.items()})
    return Made(out, tuple(drawing.title for drawing in drawings), stopped)


def bar_length(text: str, where: str) -> float:
    """What 100 mm measure on the printer's paper, from a measured bar [mm].

    A length in inches is taken to be that of the 4 in bar, any other that of the 100 mm bar; a bare number is in mm.

    >>> bar_length("99.6", "--measured-x"), round(bar_length("3.98 in", "--measured-x"), 4)
    (99.6, 99.5)
    """
    length = _length(text, "mm", where)
    if length <= 0.0:
        raise InputError(f'"{text}" is no length of a bar', where=where)
    inches = '"' in text or "in" in text.lower()
    return length * 100.0 / 101.6 if inches else length


def _length(text: str, units: str, where: str) -> float:
    from flatgen.units import parse_length

    try:
        return parse_length(text, units)
    except InputError as error:
        raise InputError(error.message, where=where) from None
