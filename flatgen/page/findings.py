"""Findings as a person reads them: one line a cause, with its places, what to do, and how it is settled.

Worded here, once, for the page, the paper and the terminal, in the units asked for.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from flatgen.core.words import counted
from flatgen.model.finding import Finding, State
from flatgen.page.content import Content, Fold, Subject, Tone, Words
from flatgen.said import Said, over

STATES: tuple[State, ...] = ("stop", "decide", "note", "waived")
TONES: dict[State, Tone] = {"stop": "stop", "decide": "decide", "note": "plain", "waived": "quiet"}


@dataclass(frozen=True, slots=True)
class Line:
    """Findings of one cause. places : part numbers and the places on them, parts with the same places together."""

    same: tuple[Finding, ...]
    text: str

    @property
    def state(self) -> State:
        """What it means for the work."""
        return self.same[0].state

    @property
    def rule(self) -> str:
        """The rule that found it."""
        return self.same[0].rule

    @property
    def places(self) -> str:
        """Parts and where on them."""
        spots = {part: "; ".join(where) for part, where in _by_part(self.same).items()}
        alike: dict[str, list[str]] = {}
        for part, spot in spots.items():
            alike.setdefault(spot, []).append(part)
        return "; ".join(", ".join(word for word in (*parts, spot) if word) for spot, parts in alike.items())

    @property
    def waiver(self) -> str:
        """The lines to paste into the job's file to accept it; empty where it is about no part."""
        named = [finding for finding in self.same if finding.part]
        return "\n".join(
            f'[[waive]]\nrule = "{self.same[0].rule}"\npart = "{part}"\nwhere = "{where}"\n'
            'reason = "why, and who says so"'
            for part, where in sorted({(_both_hands(f, named), f.where) for f in named})
        )


def lines(findings: Iterable[Finding], units: str) -> list[Line]:
    """One line a cause: what stops first, then what is to be decided, notes, and what was waived.

    One cause is one rule that says the same but for its quantities, against one limit.
    """
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for f in sorted(findings, key=lambda f: STATES.index(f.state)):
        kind = f.text.kind if isinstance(f.text, Said) else f.text
        limit = None if f.limit is None else round(f.limit, 3)
        groups.setdefault((f.state, f.rule, kind, limit, f.source, f.waived), []).append(f)
    return [Line(tuple(same), over([f.text for f in same], units)) for same in groups.values()]


def told(line: Line, *, places: bool = True) -> str:
    """The line in one sentence, without its state."""
    where = line.places if places else "; ".join(dict.fromkeys(f.where for f in line.same if f.where))
    reason = f". Waived: {line.same[0].waived}" if line.state == "waived" else ""
    return f"{where}{': ' if where else ''}{line.text}{reason}"


def doubts(findings: Iterable[Finding], units: str) -> str:
    """How many lines there are to stop for, to decide on, and waived, as one phrase."""
    found = [line.state for line in lines(findings, units)]
    words: dict[State, str] = {"stop": "to stop for", "decide": "to decide on", "waived": "waived with a reason"}
    counts = [f"{counted(found.count(state), 'finding')} {word}" for state, word in words.items() if state in found]
    return ", ".join(counts) or "nothing"


def contents(found: Sequence[Line], *, places: bool = True) -> list[Content]:
    """One paragraph a cause, its rule, source and waiver behind a fold."""
    said: list[Content] = []
    for line in found:
        said.append(Words(told(line, places=places), TONES[line.state]))
        first = line.same[0]
        more: list[Content] = [Words(f"Rule {first.rule}. Source: {first.source}.", "quiet")]
        if line.state in ("stop", "decide") and line.waiver:
            more += [Words("To accept it, write into the job's file:"), Words(line.waiver, "code")]
        said.append(Fold("Source, and how to settle it" if len(more) > 1 else "Source", tuple(more)))
    return said


def subject(findings: Iterable[Finding], units: str) -> Subject:
    """All findings of a job."""
    return Subject("findings", "Findings", tuple(contents(lines(findings, units))) or (Words("Nothing found."),))


def _by_part(same: Iterable[Finding]) -> dict[str, list[str]]:
    where: dict[str, list[str]] = {}
    for f in same:
        where.setdefault(f.part, []).append(f.where)
    return where


def _both_hands(finding: Finding, same: Sequence[Finding]) -> str:
    """The part's number, or that of the pair where both hands have it at the same place."""
    pair = finding.part[:-2]
    hands = {f.part for f in same if f.where == finding.where}
    return pair if {f"{pair}-L", f"{pair}-R"} <= hands else finding.part
