"""The check sheet of a brake and its answer, as calls in order: which strips, what was read, what to move."""

from dataclasses import dataclass, replace
from pathlib import Path

from flatgen.brake.plan import plan_job
from flatgen.core.aligning import Answer, Found, Moves, Round, Strips, answer, found
from flatgen.core.force import bending_moment, flow_stress
from flatgen.core.words import Units
from flatgen.develop.develop import develop
from flatgen.errors import InputError
from flatgen.jobs.brake import Bench, printed_on
from flatgen.model.checked import figures
from flatgen.model.material import Material
from flatgen.model.plan import Setup
from flatgen.model.shop import RUN_OUT
from flatgen.records.book import book_path, open_book
from flatgen.records.brake_checks import BrakeCheck, checked, record_check, rounds, series
from flatgen.records.coupon_plan import Need, coupon_part
from flatgen.tables.load import material as material_named
from flatgen.tables.load import materials

ANGLE = 90.0


@dataclass(frozen=True, slots=True)
class Strip:
    """What the strips are cut of and bent to. ``length`` : of the long one, along the bar [mm]."""

    material: str
    thickness: float
    setup: Setup
    leg: float
    flat: float
    wide: float
    deep: float
    length: float

    @property
    def answer(self) -> Answer:
        """How strongly a brake answers with these strips, by the model."""
        return answer(self.setup.overbend_to, self.flat, ANGLE / self.setup.overbend_to)


def strip_for(at: Bench, material: str = "", thickness: float = 0.0) -> Strip:
    """The strips of a metal, or of the shop's stiffest sheet, as they are bent over the bar that is asked about."""
    metal, thick = _stiffest(at) if not material else (material_named(material), thickness)
    if thick <= 0.0:
        raise InputError("give the strip's thickness with its metal", where="--thickness")
    brake = replace(at.brake, noses=(at.nose,))
    shop = replace(at.shop, brakes=(brake,), work="general")
    need = Need(metal, thick, at.nose.name, at.nose.radius, "across", ANGLE, 1, 0, thick)
    part = coupon_part(need, "STRIP", at.shop.units)
    blank = develop(part, shop, shop.allowance)
    plan = plan_job([part], {part.id: blank}, shop, pictures=False)
    if not plan.setups or plan.setups[0].stop_side == "sight":
        why = plan.findings[0].words(at.shop.units) if plan.findings else "no stop reaches its edge"
        raise InputError(f"a strip of {metal.name} cannot be bent over {at.nose.name}: {why}")
    setup = plan.setups[0]
    op = setup.operations[0]
    leg = op.leg_drawn or op.leg_size or 0.0
    flat = leg - blank.bends[0].bent.setback_outside
    long = at.brake.usable(at.nose) if at.nose.length else at.brake.length - 2.0 * RUN_OUT
    return Strip(metal.key, thick, setup, leg, flat, blank.width, blank.height, long)


def _stiffest(at: Bench) -> tuple[Material, float]:
    known = materials()
    sheets = [(known[sheet.material], sheet.thickness) for sheet in at.shop.sheets if sheet.material in known]
    if not sheets:
        raise InputError("the shop has no sheet: name the strip's metal", where="--metal")
    return max(
        sheets, key=lambda one: bending_moment(one[1], flow_stress(one[0].yield_strength, one[0].ultimate_strength))
    )


def write_sheet(at: Bench, strip: Strip, out: Path, units: Units) -> int:
    """Write the check sheet; its pages."""
    from flatgen.draw.check_sheet import SAFE, check_subject
    from flatgen.output.single import written_file
    from flatgen.page.flow import pages
    from flatgen.write.pdf import write_pages

    before, anew = counting(at)
    size = (strip.wide, strip.deep, strip.length)
    subject = check_subject(at.brake, at.nose, strip.setup, strip.leg, size, units, len(before) + 1, anew)
    drawn = pages((subject,), printed_on(at.shop, at.shop.name, units, SAFE))
    with written_file(out, "pdf", "brake check", (Path(at.shop.file), book_path(at.shop))) as path:
        write_pages(drawn, path)
    return len(drawn)


def counting(at: Bench) -> tuple[tuple[BrakeCheck, ...], str]:
    """The rounds that tell of the brake as it stands; where the bar was changed since none do, and why."""
    with open_book(book_path(at.shop), writing=False) as book:
        last = [one for one in checked(book) if (one.brake, one.nose) == (at.brake.name, at.nose.name)]
        why = last[0].changed(at.nose) if last else ""
        return (() if why else series(book, at.brake.name, at.nose.name)), why


@dataclass(frozen=True, slots=True)
class Read:
    """What was read, as it stands on the tools: set-backs and legs [mm], angles [deg]; empty: not looked at."""

    gauge: tuple[float, ...] = ()
    narrow_legs: tuple[float, ...] = ()
    narrow_angles: tuple[float, ...] = ()
    long_legs: tuple[float, ...] = ()
    long_angles: tuple[float, ...] = ()


def round_of(read: Read, strip: Strip, moved: Moves) -> Round:
    """The readings less what was wanted; InputError where a strip has one kind of them only."""
    gauge = None
    if read.gauge:
        left, right = read.gauge
        gauge = (left - strip.setup.bare_setback, right - strip.setup.bare_setback)
    narrow = _strips("narrow", read.narrow_legs, read.narrow_angles, strip)
    long = _strips("long", read.long_legs, read.long_angles, strip)
    if gauge is None and narrow is None and long is None:
        raise InputError("nothing was read: give the gauge strip's two set-backs, or legs and angles of strips")
    return Round(moved, gauge, narrow, long)


def _strips(which: str, legs: tuple[float, ...], angles: tuple[float, ...], strip: Strip) -> Strips | None:
    if not legs and not angles:
        return None
    if len(legs) != 3 or len(angles) != 3:
        raise InputError(f"a {which} strip has three legs and three angles, at left, middle and right")
    if not all(0.0 < leg < strip.deep for leg in legs):
        raise InputError("a leg is longer than nothing and shorter than the strip", where=f"--{which}-legs")
    if not all(0.0 < angle < 180.0 for angle in angles):
        raise InputError("an angle lies between 0 and 180", where=f"--{which}-angles")
    a, b, c = (leg - strip.leg for leg in legs)
    x, y, z = (angle - ANGLE for angle in angles)
    return Strips((a, b, c), (x, y, z))


def enter(at: Bench, strip: Strip, read: Read, done: Moves | None, *, anew: bool = False, by: str = "") -> Found:
    """Enter a round and tell what the rounds of this bar tell of the brake.

    done : what was moved since the round before; None: as it was told then
    anew : the nose bar was changed or the brake taken apart, so that earlier rounds tell nothing
    """
    before = () if anew else counting(at)[0]
    moved = Moves()
    if before:
        last = before[-1].round.moved
        moved = last + (done if done is not None else found(rounds(before), strip.answer).moves)
    one = round_of(read, strip, moved)
    told = found((*rounds(before), one), strip.answer)
    named = (at.brake.name, at.nose.name, strip.material, strip.thickness)
    square = told.square and one.long is not None
    record_check(book_path(at.shop), BrakeCheck(*named, not before, one, square, figures(at.nose), recorded_by=by))
    return told
