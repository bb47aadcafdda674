"""The registry of trade rules and the run over them.

A rule is a generator function (part, blank, shop) -> findings, made known by ``@rule``; any file of this folder may
hold some. It yields what it sees; ``run_checks`` stamps name, severity and source on it and applies the job's waivers.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from flatgen.model.blank import Blank
from flatgen.model.finding import Finding, Severity
from flatgen.model.job import Waiver
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import Source
from flatgen.registry import Registry
from flatgen.said import Text


@dataclass(frozen=True, slots=True)
class Seen:
    """What a rule saw at one place, named; severity and source override the rule's own when given."""

    where: str
    value: float | None
    limit: float | None
    message: Text
    severity: Severity | None = None
    source: Source | None = None
    unit: str = "mm"
    todo: Text = ""


RuleFunction = Callable[[Part, Blank, Shop], Iterable[Seen]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule with its name, usual severity and source.

    aircraft : it asks for a decision only in work on aircraft; in general work it informs
    """

    name: str
    severity: Severity
    source: Source
    function: RuleFunction
    aircraft: bool = False

    @property
    def explain(self) -> str:
        """First line of the rule's docstring."""
        return (self.function.__doc__ or "").strip().splitlines()[0]


RULES: Registry[Rule] = Registry("rule", "flatgen.checks")


def rule(
    name: str, *, severity: Severity, source: Source, aircraft: bool = False
) -> Callable[[RuleFunction], RuleFunction]:
    """Make a function known as a rule."""

    def enter(function: RuleFunction) -> RuleFunction:
        RULES.add(name, Rule(name, severity, source, function, aircraft))
        return function

    return enter


def run_checks(part: Part, blank: Blank, shop: Shop, waivers: Iterable[Waiver] = ()) -> tuple[Finding, ...]:
    """Every finding on one part, in order of rule name; those that the job waives carry its reason."""
    return tuple(waived(finding, waivers) for finding in _findings(part, blank, shop))


def waived(finding: Finding, waivers: Iterable[Waiver]) -> Finding:
    """The finding with the reason of the waiver that covers it, if any does.

    A waiver for a pair's left or right hand covers that hand; findings of the same rule elsewhere stay.
    """
    for waiver in waivers:
        if waiver.rule == finding.rule and waiver.part == finding.part and waiver.where in ("", finding.where):
            return replace(finding, waived=waiver.reason)
    return finding


def _findings(part: Part, blank: Blank, shop: Shop) -> Iterator[Finding]:
    for name, entry in RULES:
        for seen in entry.function(part, blank, shop):
            severity = seen.severity or entry.severity
            if entry.aircraft and shop.work == "general" and severity is Severity.WARN:
                severity = Severity.NOTE
            yield Finding(
                rule=name,
                severity=severity,
                part=part.id,
                where=seen.where,
                value=seen.value,
                limit=seen.limit,
                message=seen.message,
                source=str(seen.source or entry.source),
                unit=seen.unit,
                todo=seen.todo,
            )
