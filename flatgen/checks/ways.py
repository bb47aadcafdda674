"""Whether a part is made in the way that its job asks for."""

from collections.abc import Iterator

from flatgen.model.finding import Finding, Severity
from flatgen.model.part import Part
from flatgen.model.source import DERIVED

PROCESS_RULE = ("process", "note", "A part is made in the way that the job's head asks for.", str(DERIVED))


def way_findings(part: Part) -> Iterator[Finding]:
    """A note on a part that cannot be made so."""
    if part.kept_single:
        yield Finding(PROCESS_RULE[0], Severity.NOTE, part.id, "", None, None, part.kept_single, PROCESS_RULE[3])
