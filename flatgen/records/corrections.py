"""What to change now, from the measured pieces of a job: for each part one instruction, the settings solved together.

A piece is solved for the settings that made it (``core.cause``); over the pieces each setting has a series of its own,
and the advice on it does not chase noise. What comes first is told, the rest once that is done: the leaf, since legs
are measured on bends of the right angle, then the stops in their order, then blank and deduction. Lengths mm, angles
deg.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flatgen.core.cause import Answers, Cause, after_change, causes
from flatgen.core.correction import LEAST_VALUES, Advice, Kind, Say, Series, SeriesReport, advise, plainly, report
from flatgen.core.stats import estimate
from flatgen.model.inspection import Check, Checklist
from flatgen.records.inspections import Piece

# a piece with one of these faults does not tell how the settings stand
NOT_TELLING = ("miscut", "bent wrong", "wrong hand", "lost")
ORDER = ("leaf", "back stop", "front stop", "sight line", "cut", "deduction", "blank")

# what each size of a part answers to, by part and number of the check
Answering = Mapping[tuple[str, int], Answers]


@dataclass(frozen=True, slots=True)
class Told:
    """One setting over the pieces that tell of it; ``parts`` are those that are made with it."""

    cause: Cause
    series: Series
    found: SeriesReport
    advice: Advice
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Instruction:
    """The one thing to do for a part, and what its sizes come to then.

    then : number of a check, its deviation now, and what it comes to
    later : settings that also look off; to be judged by pieces made after this change
    """

    part: str
    told: Told | None
    advice: Advice
    then: tuple[tuple[int, float, float], ...] = ()
    later: tuple[Told, ...] = ()


def tell(
    pieces: Sequence[Piece], lists: Mapping[str, Checklist], answering: Answering, say: Say = plainly
) -> tuple[Told, ...]:
    """Every setting that the pieces tell of, with its advice; stops that parts share are told of by all of them."""
    answering = _as_measured(pieces, lists, answering)
    values: dict[Cause, list[tuple[str, float]]] = {}
    for piece in pieces:
        sheet = lists.get(piece.part)
        if sheet is None or piece.why in NOT_TELLING:
            continue
        for cause, off in causes(_sizes(piece, sheet, answering)).items():
            values.setdefault(cause, []).append((piece.part, off))
    found = []
    for cause in sorted(values, key=_rank):
        parts = tuple(dict.fromkeys(part for part, _ in values[cause]))
        touched = [c for p in parts for c in lists[p].checks if answering.get((p, c.number), {}).get(cause)]
        own = [c for c in touched if (c.kind == "angle") == (cause.kind == "leaf")]
        limits = min((c.upper - c.nominal for c in own), default=1.0)
        kind: Kind = "angle" if cause.kind == "leaf" else "length"
        series = Series(
            kind=kind,
            lower=-limits,
            upper=limits,
            places=tuple(float(k) for k in range(1, len(values[cause]) + 1)),
            deviations=tuple(off for _, off in values[cause]),
            on_stop=cause.name if cause.kind in ("back stop", "front stop", "sight line") else "",
            left=cause.kind if cause.kind in ("cut", "deduction") else "blank",
        )
        ratio = next((c.nominal / c.setting for c in own if kind == "angle" and c.setting), None)
        found.append(Told(cause, series, report(series), advise(series, ratio, say), parts))
    return tuple(found)


def _as_measured(pieces: Sequence[Piece], lists: Mapping[str, Checklist], answering: Answering) -> Answering:
    """The answers, with cut and deduction as one where too few blanks were measured before bending to part them."""
    parted = set()
    for part, sheet in lists.items():
        flat = {str(check.number) for check in sheet.checks if check.across}
        known = sum(p.part == part and any(m.check in flat for m in p.measurements) for p in pieces)
        if known >= LEAST_VALUES:
            parted.add(part)
    return {key: answers if key[0] in parted else _as_one(answers) for key, answers in answering.items()}


def _as_one(answers: Answers) -> Answers:
    """What formed legs tell: the cut is in what blank and deduction leave."""
    return {
        Cause("blank", cause.name) if cause.kind == "deduction" else cause: by
        for cause, by in answers.items()
        if cause.kind != "cut"
    }


def _sizes(piece: Piece, sheet: Checklist, answering: Answering) -> list[tuple[Answers, float, bool]]:
    """Deviations of a piece from nominal with what they answer to; an angle is the mean of its places."""
    found = []
    for check in sheet.checks:
        answers = answering.get((piece.part, check.number))
        off = _off(piece, check)
        if answers and off is not None:
            found.append((answers, off, check.kind == "angle"))
    return found


def _off(piece: Piece, check: Check) -> float | None:
    own = [m.value for m in piece.measurements if m.check == str(check.number) and m.kind == check.kind]
    return math.fsum(own) / len(own) - check.nominal if own else None


def _rank(cause: Cause) -> tuple[int, int, str]:
    return ORDER.index(cause.kind), int(cause.name) if cause.name.isdigit() else 0, cause.name


def instructions(
    pieces: Sequence[Piece], lists: Mapping[str, Checklist], answering: Answering, told: Iterable[Told]
) -> tuple[Instruction, ...]:
    """For every measured part the one thing to do now."""
    answering = _as_measured(pieces, lists, answering)
    found = []
    several = tuple(told)
    for part in dict.fromkeys(piece.part for piece in pieces if piece.part in lists):
        own = [one for one in several if part in one.parts]
        wrong = [one for one in own if one.advice.amount]
        if not wrong:
            found.append(Instruction(part, None, _nothing(own)))
            continue
        first = wrong[0]
        then = _then([p for p in pieces if p.part == part], lists[part], answering, first)
        found.append(Instruction(part, first, first.advice, then, tuple(wrong[1:])))
    return tuple(found)


def _nothing(own: Sequence[Told]) -> Advice:
    """What to do where no setting is to be changed: the most telling of what the settings say."""
    for action in ("find the cause", "measure the odd piece again", "measure more"):
        advice = next((one.advice for one in own if one.advice.action == action), None)
        if advice is not None:
            return advice
    if not own:
        return Advice(
            "measure more", 0.0, 0.0, ("too few sizes of a piece to tell a stop from the blank: measure all",)
        )
    return own[0].advice


def _then(
    pieces: Sequence[Piece], sheet: Checklist, answering: Answering, first: Told
) -> tuple[tuple[int, float, float], ...]:
    """What each size stands at on the mean, and what the change makes of it."""
    by = first.advice.effect
    found = []
    for check in sheet.checks:
        answers = answering.get((sheet.part, check.number))
        offs = [off for piece in pieces if (off := _off(piece, check)) is not None]
        if answers and offs:
            now = estimate(offs).mean
            found.append((check.number, now, after_change(answers, now, first.cause, by)))
    return tuple(found)
