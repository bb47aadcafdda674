"""Doubts about the shop's sheets themselves, of the metals that a job uses."""

from collections.abc import Iterator

from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Job
from flatgen.model.source import PRACTICE
from flatgen.said import said, size

SHORT_GRAIN = "sheet-grain"
SHORT_GRAIN_RULE = (
    SHORT_GRAIN,
    "warn",
    "The grain of a whole sheet runs along its longer side, or somebody looked.",
    str(PRACTICE),
)


def stock_findings(job: Job) -> Iterator[Finding]:
    """A question for every whole sheet whose grain is said to run along its shorter side."""
    for sheet in job.shop.sheets:
        used = any(sheet.is_of(part.material.key, part.nominal) for part in job.parts)
        if not used or sheet.remnant or sheet.short_grain or sheet.width >= sheet.height:
            continue
        text = said(
            "its length, ",
            size(sheet.width),
            ", is less than its width, ",
            size(sheet.height),
            ": then its grain runs along the shorter side, which mills seldom roll",
        )
        todo = "look at the metal; write short_grain = true if it does, else length and width the other way round"
        where = f'sheet "{sheet.id}"'
        yield Finding(SHORT_GRAIN, Severity.WARN, "", where, sheet.width, sheet.height, text, str(PRACTICE), todo=todo)
