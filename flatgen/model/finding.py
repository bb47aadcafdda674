"""What a found thing is: a value that says what is doubtful, where, and what to do; worded only when it is read."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from flatgen.said import Text, said, within

State = Literal["stop", "decide", "note", "waived"]


class Severity(StrEnum):
    """How far a finding goes: forbid stops a part's cutting drawings, warn asks for a decision, note informs."""

    FORBID = "forbid"
    WARN = "warn"
    NOTE = "note"


STATES: dict[Severity, State] = {Severity.FORBID: "stop", Severity.WARN: "decide", Severity.NOTE: "note"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One broken or doubtful rule at one place; value and limit are in the unit that ``unit`` names (mm, deg, …).

    where : the place by name (a bend, a hole by number, a face), never by its sizes, so that a waiver can say it
    message : what was found; todo : what to do about it
    """

    rule: str
    severity: Severity
    part: str
    where: str
    value: float | None
    limit: float | None
    message: Text
    source: str
    unit: str = "mm"
    waived: str = ""
    todo: Text = ""

    @property
    def stops(self) -> bool:
        """Whether this finding forbids going on and nobody has waived it."""
        return self.severity is Severity.FORBID and not self.waived

    @property
    def state(self) -> State:
        """What it means for the work, in one word."""
        return "waived" if self.waived else STATES[self.severity]

    @property
    def text(self) -> Text:
        """What was found and what to do, quantities still values."""
        return said(self.message, ": " if self.todo else "", self.todo)

    def words(self, units: str) -> str:
        """What was found and what to do, in these units."""
        return within(self.text, units)
