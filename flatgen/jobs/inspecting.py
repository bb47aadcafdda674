"""What measured pieces say: the checks of a job, one instruction a part, charts of every size."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from flatgen.draw.run_chart import Chart
from flatgen.jobs.shop_place import Place
from flatgen.model.blank import Blank
from flatgen.model.inspection import Check, Checklist
from flatgen.model.plan import BrakePlan, Setup
from flatgen.records.book import open_book
from flatgen.records.corrections import Answering, Instruction, Told, instructions, tell
from flatgen.records.inspections import DimensionReport, Piece, current_pieces, dimension_reports

Lists = Mapping[str, Checklist]


def planned(at: Place, parts: Sequence[str] = ()) -> tuple[tuple[Checklist, ...], dict[str, Blank], BrakePlan]:
    """Checklists of a job's parts with the stops of the brake's plan; shared stops need the whole job planned."""
    from flatgen.jobs.developed import chosen, developed
    from flatgen.records.checklist import checklists

    assert at.job is not None
    made, plan = developed(at.job)
    blanks = {one.part.id: one.blank for one in made}
    return checklists(chosen(at.job, parts).parts, blanks, at.job.shop, plan.setups, at.units), blanks, plan


def answering(lists: Iterable[Checklist], blanks: Mapping[str, Blank], setups: Sequence[Setup]) -> Answering:
    """What each check of each part answers to: its leg by the stops and the deduction, its angle by the leaf."""
    from flatgen.brake.answers import angle_answers, leg_answers
    from flatgen.core.cause import Answers, Cause

    found: dict[tuple[str, int], Answers] = {}
    own: Answers
    for sheet in lists:
        legs = leg_answers(sheet.part, blanks[sheet.part], setups)
        angles = angle_answers(sheet.part, setups)
        for check in sheet.checks:
            if check.across:
                own = {Cause("cut", sheet.part, check.across): 1.0}
            elif check.bend:
                own = angles.get(check.bend, {})
            else:
                own = legs.get((check.leg[0], check.leg[1:]), {}) if check.leg else {}
            if own:
                found[sheet.part, check.number] = own
    return found


@dataclass(frozen=True, slots=True)
class Reported:
    """What measured pieces say. ``said`` : (part, the one thing to do, why); ``again`` : pieces to make once more."""

    pieces: tuple[Piece, ...]
    found: tuple[DimensionReport, ...]
    todo: tuple[Instruction, ...]
    said: tuple[tuple[str, str, tuple[str, ...]], ...]
    lists: Lists
    again: dict[str, int]


def reported(at: Place, parts: Sequence[str] = (), since: int = 1) -> Reported:
    """What the measured pieces of a job tell, of all or some parts.

    since : first piece that counts
    """
    assert at.job is not None
    sheets, blanks, plan = planned(at, parts)
    lists = {one.part: one for one in sheets}
    with open_book(at.book, writing=False) as opened:
        pieces = [p for p in current_pieces(opened, at.job.title) if p.part in lists and p.number >= since]
    again = {one.part: min(one.rejected, one.to_cut) for one in at.job.tally if one.rejected and one.to_cut}
    known = answering(sheets, blanks, plan.setups)
    stand = {str(setup.number): setup for setup in plan.setups if since == 1}  # later they stand elsewhere
    todo = tuple(instructions(pieces, lists, known, tell(pieces, lists, known, at.deviation)))
    said = tuple((one.part, *instruction_lines(one, lists, stand, at)) for one in todo)
    return Reported(tuple(pieces), tuple(dimension_reports(pieces)), todo, said, lists, again)


def charts_of(
    found: Sequence[DimensionReport], said: Sequence[tuple[str, str, tuple[str, ...]]], lists: Lists
) -> list[Chart]:
    """A chart for each size, the reasons at the first of each part."""
    todo = {part: (action, reasons) for part, action, reasons in said}
    told: set[str] = set()
    charts = []
    for one in found:
        action, reasons = todo[one.part]
        why = () if one.part in told else reasons
        told.add(one.part)
        charts.append(Chart(name_of(one, lists), one.series, one.found, action, (*why, *one.found.signs)))
    return charts


def check_of(one: DimensionReport, lists: Lists) -> Check | None:
    """The check on the sheet that a report is about; None when there is none any more."""
    found = [c for c in lists[one.part].checks if str(c.number) == one.dimension.split(" ")[0]]
    return next((c for c in found if c.kind == one.series.kind), None)


def name_of(one: DimensionReport, lists: Lists) -> str:
    """Part, number and words of a size."""
    check = check_of(one, lists)
    return f"{one.part}, {one.dimension} {check.what if check else 'no longer on the sheet'}"


def told_text(one: Told, planned: Mapping[str, Setup], at: Place) -> str:
    """What a setting is to be changed by, and its direction in words.

    `planned` has by number the settings that stand as planned: of these it also says from where to where. What was
    changed since stands where the bench has put it, which is not in the book.
    """
    advice, kind, name = one.advice, one.series.kind, one.cause.name
    amount = f"{at.deviation(kind, abs(advice.amount))[1:]} ± {at.deviation(kind, advice.half_width)[1:]}"
    more = advice.amount > 0.0
    if one.cause.kind == "cut":
        size = "longer" if more else "shorter"
        return f"CUT THE NEXT BLANKS {amount} {size} across {', '.join(one.cause.of)}, to the size that is printed"
    if one.cause.kind == "deduction":
        return f"TAKE {amount} {'less' if more else 'more'} as the deduction of each bend; the blanks' cut is right"
    if one.cause.kind == "blank":
        size = "longer" if more else "shorter"
        way = "less" if more else "more"
        return f"CUT THE NEXT BLANKS {amount} {size} for each bend (its deduction is as much {way})"
    where, setup = f"of setting {name}", planned.get(name)
    stands = ", from where it stands now"
    if one.cause.kind == "leaf":
        if setup is not None:
            stands = f": from {setup.overbend_to:.1f}° to {setup.overbend_to + advice.amount:.1f}°"
        return f"TAKE THE LEAF {where} {amount} {'further' if more else 'less far'}{stands}"
    if one.cause.kind == "sight line":
        return f"MOVE THE SIGHT LINE {where} {amount} {'away from' if more else 'toward'} the gauged edge"
    mark = "nose" if one.cause.kind == "back stop" else "bed"
    side = f"away from the {mark}" if more else f"toward the {mark}"
    if setup is not None:
        stands = f": from {at.length(setup.stop)} to {at.length(setup.stop + advice.amount)}"
    return f"MOVE THE {one.cause.kind.upper()} {where} {side} by {amount}{stands}"


def instruction_lines(
    one: Instruction, lists: Lists, planned: Mapping[str, Setup], at: Place
) -> tuple[str, tuple[str, ...]]:
    """The one thing to do for a part; then why, what its sizes come to, and what waits."""
    if one.told is None:
        return one.advice.action.upper(), one.advice.reasons
    lines = list(one.advice.reasons)
    sheet = lists[one.part]
    for number, now, then in one.then:
        check = sheet.check(number)
        stays = abs(then - now) < 1e-6
        change = "stays" if stays else f"comes from {at.deviation(check.kind, now)} to"
        lines.append(f"{number} {check.what}: {change} {at.deviation(check.kind, then)} off nominal")
    for later in one.later:
        lines.append(f"not yet: {told_text(later, planned, at)}; measure three pieces made after the change first")
    return told_text(one.told, planned, at), tuple(lines)


def signs_of(part: str, found: Sequence[DimensionReport], lists: Lists) -> list[str]:
    """Odd values and other signs, by size."""
    signs = [f"{name_of(one, lists)}: {sign}" for one in found if one.part == part for sign in one.found.signs]
    return [*signs, *_ends(part, found)]


END_WORDS = {
    "left": "its left end drifts, not its right: the nose or the hinge moves there, see flatgen brake check",
    "right": "its right end drifts, not its left: the nose or the hinge moves there, see flatgen brake check",
    "all": "both ends drift alike: leaf stop, stop or sheet",
}


def _ends(part: str, found: Sequence[DimensionReport]) -> list[str]:
    """For each angle that was taken at the left and the right: whether one end drifts, or all of it."""
    from flatgen.core.ends import drifting

    series = {one.dimension: dict(zip(one.series.places, one.series.deviations, strict=True)) for one in found
              if one.part == part}  # fmt: skip
    told = []
    for name, left in series.items():
        number, _, place = name.partition(" ")
        right = series.get(f"{number} right", {})
        both = sorted(left.keys() & right.keys()) if place == "left" else []
        end = drifting(both, [left[k] for k in both], [right[k] for k in both]) if both else ""
        if end:
            told.append(f"{part}, {number}: {END_WORDS[end]}")
    return told
