"""The folder of a job: its drawings, lists, results and the page that leads to them."""

import importlib
from collections.abc import Sequence
from pathlib import Path

from flatgen.kept import Later, answers
from flatgen.model.results import Results
from flatgen.output.disk import put
from flatgen.page.drawing import Drawing
from flatgen.page.packet import Enclosure, Subjects, drawings_of


def write_packet(results: Results, enclosures: Sequence[Enclosure], subjects: Subjects, folder: Path) -> None:
    """Everything that the job came to, as files in an empty folder."""
    from flatgen.write import cut_list, page, results_json

    names = [name for one in enclosures for name in one.files]
    questions = [(ending, one.drawn) for one in enclosures for ending in one.formats]
    for name, data in zip(names, answers(written_as, questions), strict=True):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        put(path, data)
    put(folder / "cut-list.csv", cut_list.as_text(results))
    put(folder / "results.json", results_json.as_text(results))
    put(folder / "index.html", page.as_text(results, enclosures, subjects))


def written_as(ending: str, drawn: tuple[Drawing, ...] | Later) -> bytes:
    """The file of a format; the format's name is that of the module that writes it."""
    made: bytes = importlib.import_module(f"flatgen.write.{ending}").as_bytes(drawings_of(drawn))
    return made
