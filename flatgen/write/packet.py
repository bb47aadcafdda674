"""The folder of a job: its drawings, lists, results and the page that leads to them."""

import importlib
from collections.abc import Sequence
from pathlib import Path

from flatgen.kept import Later, kept
from flatgen.model.results import Results
from flatgen.output.disk import put
from flatgen.page.drawing import Drawing
from flatgen.page.packet import Enclosure, Subjects, drawings_of


def write_packet(results: Results, enclosures: Sequence[Enclosure], subjects: Subjects, folder: Path) -> None:
    """Everything that the job came to, as files in an empty folder."""
    from flatgen.write import cut_list, page, results_json

    for enclosure in enclosures:
        _write_drawings(enclosure, folder)
    put(folder / "cut-list.csv", cut_list.as_text(results))
    put(folder / "results.json", results_json.as_text(results))
    put(folder / "index.html", page.as_text(results, enclosures, subjects))


def _write_drawings(enclosure: Enclosure, folder: Path) -> None:
    """One file a format."""
    for name, ending in zip(enclosure.files, enclosure.formats, strict=True):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        put(path, kept(written_as, ending, enclosure.drawn))


def written_as(ending: str, drawn: tuple[Drawing, ...] | Later) -> bytes:
    """The file of a format; the format's name is that of the module that writes it."""
    made: bytes = importlib.import_module(f"flatgen.write.{ending}").as_bytes(drawings_of(drawn))
    return made
