"""The paper templates of developed parts as one file: layout, the printer's correction, what a finding stopped."""

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


def make_templates(
    results: Results,
    out: Path,
    *,
    paper: str | None,
    overlap: str,
    mirror: bool,
    measured: dict[str, str | None],
    units: str | None,
) -> Made:
    """Write the templates of a job's planned parts into one PDF, sight lines for the face that the plan clamps.

    measured : ``measured_x`` and ``measured_y`` as text; those given are kept in shop.toml
    """
    from flatgen.draw.template import template
    from flatgen.draw.tiles import Layout, pages
    from flatgen.drawings import clamped_faces
    from flatgen.output.single import written_file
    from flatgen.page.paper import paper as paper_named
    from flatgen.write.pdf import write_pages
    from flatgen.write.shop_file import remember

    job, parts = results.job, results.parts
    shop = job.shop
    stretch = list(shop.printer_scale)
    new = {}
    for k, (key, text) in enumerate(measured.items()):
        if text is not None:
            length = bar_length(text, "--" + key.replace("_", "-"))
            stretch[k] = 100.0 / length
            new[key] = f"{round(length, 3):g} mm"
    layout = Layout(
        paper_named(paper or shop.printer_paper),
        _length(overlap, shop.units, "--overlap"),
        (stretch[0], stretch[1]),
        job.title,
    )
    shown = cast(Units, units or job.units)
    sheets = [
        template(m.part, m.blank, shown, mirror=mirror, clamped=clamped_faces(results, m.part.id))
        for m in parts
        if not m.stopped
    ]
    stopped = tuple(m.part.id for m in parts if m.stopped)
    if not sheets:
        return Made(None, (), stopped)
    drawings = pages(sheets, layout)
    with written_file(out, "pdf", "template", inputs_of(job)) as path:
        write_pages(drawings, path)
        if new:
            remember(Path(shop.file), new)
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
