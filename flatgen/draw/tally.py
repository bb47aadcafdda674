"""The tally on the wall: how far each part is, and what to do tonight; one content for paper and page."""

import math

from flatgen.model.results import Results
from flatgen.model.tally import OLD_BLANKS
from flatgen.page.content import Content, Heading, Step, Steps, Subject, Table, Words
from flatgen.tally.tonight import tonight
from flatgen.tally.words import HEADS, headline, pace_words, tally_row, task_words

SHARES = (24.0, 17.0, 14.0, 10.0, 16.0, 30.0, 12.5, 33.5, 12.0, 13.0)


def tally_subject(results: Results, minutes: float) -> Subject:
    """All parts as a table, what is asked of old blanks, then what to do in an evening."""
    found = [made.counts for made in results.parts if made.counts]
    table = Table("How far each part is", HEADS, tuple(tally_row(one) for one in found), (1, 2, 3, 4, 6, 8, 9), SHARES)
    units = results.job.units
    old = [Words(f.words(units), "decide") for f in results.findings if f.rule == OLD_BLANKS and f.state == "decide"]
    asked: list[Content] = [Heading("Decide on blanks that were cut to old figures"), *old] if old else []
    contents: list[Content] = [Words(headline(found), "strong"), table, *asked, *evening(results, minutes)]
    return Subject("tally", "THE TALLY", tuple(contents), side=f"{len(found)} parts", whole=False)


def evening(results: Results, minutes: float) -> tuple[Content, ...]:
    """What to do in so many minutes, with where these come from."""
    tasks = tonight(results, minutes)
    steps = tuple(Step(task_words(task)) for task in tasks)
    total = math.fsum(task.minutes for task in tasks)
    if not steps:
        return (Heading(f"Tonight, {minutes:.0f} min"), Words("Nothing that is left fits into this time."))
    return (
        Heading(f"Tonight: {total:.0f} of {minutes:.0f} min"),
        Steps(steps),
        Words(pace_words(dict(results.job.paces)), "quiet"),
    )
