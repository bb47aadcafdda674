"""Texts of a job that the font of the paper cannot show as they are written."""

from collections.abc import Iterator

from flatgen.errors import LettersMissing
from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Job
from flatgen.model.source import DERIVED
from flatgen.page.typeface import missing

LETTERS = "letters-missing"
LETTERS_RULE = (
    LETTERS,
    "note",
    "Every letter of a text has its shape on paper; a box stands for one without.",
    "derived",
)


def letters_findings(job: Job) -> Iterator[Finding]:
    """A note for every text with letters that print as a box; what is not one part's is told of no part."""
    for part, where, text in _texts(job):
        lost = missing(text)
        if lost:
            message = str(LettersMissing(lost))
            yield Finding(
                LETTERS, Severity.NOTE, part, where, float(len(lost)), 0.0, message, str(DERIVED), unit="letters"
            )


def _texts(job: Job) -> Iterator[tuple[str, str, str]]:
    """Part, name and words of every text that is printed."""
    for where, text in (("title of the job", job.title), ("owner", job.drawing_owner), ("shop", job.shop.name)):
        yield "", where, text
    for tool in job.shop.tools:
        yield "", "cutting tool", tool.name
    for sheet in job.shop.sheets:
        yield "", f'sheet "{sheet.id}"', f"{sheet.id} {sheet.batch}"
    for part in job.parts:
        texts = {"id": part.id, "title": part.title, "mark": part.mark, "drawing": f"{part.drawing} {part.revision}"}
        texts |= {"notes": " ".join(part.notes), "material": part.material.name}
        for where, text in texts.items():
            yield part.id, where, text
