"""What a check found: doubtful things are part of the result, not errors."""

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How far a finding goes: forbid stops a part's cutting drawings, warn asks for a decision, note informs."""

    FORBID = "forbid"
    WARN = "warn"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One broken or doubtful rule at one place; value and limit are in the unit that ``unit`` names (mm, deg, …)."""

    rule: str
    severity: Severity
    part: str
    where: str
    value: float | None
    limit: float | None
    message: str
    source: str
    unit: str = "mm"
    waived: str = ""

    @property
    def stops(self) -> bool:
        """Whether this finding forbids going on and nobody has waived it."""
        return self.severity is Severity.FORBID and not self.waived
