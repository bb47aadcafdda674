"""What the brake cannot do, or does badly, found bend by bend before and after an order is known.

Each function yields findings with value, limit and who says so. Lengths mm, angles deg.
"""

from collections.abc import Iterator

from flatgen.brake.bench import Bench
from flatgen.brake.effort import plate_limit
from flatgen.brake.order import MOST_STROKES, Order, Step
from flatgen.core.making import HEM
from flatgen.develop.allowance import SAME_LENGTH
from flatgen.model.finding import Finding, Severity
from flatgen.model.handling import closing_words
from flatgen.model.part import Part
from flatgen.model.shop import LONG_BEND
from flatgen.model.source import PRACTICE, Source
from flatgen.said import Text, said, size

DERIVED = Source("derived", "derived from the brake's sections in shop.toml", trust="derived")
BOW_RATIO = 24.0  # a flange this many times longer than wide comes out curved along its length


def before_ordering(part: Part, bench: Bench) -> Iterator[Finding]:
    """Limits that no order of bends can change: length, angle, capacity."""
    yield from too_long(part, bench)
    yield from too_far_round(part, bench)
    yield from too_strong(part, bench)


def after_ordering(part: Part, bench: Bench, order: Order) -> Iterator[Finding]:
    """Limits that depend on which side is clamped and where the stop is."""
    for step in order.steps:
        yield from too_short(part, bench, step)
        yield from no_gauge(part, bench, step)
        yield from tipped(part, bench, step)
        yield from tight(part, bench, step)
        yield from bows(part, step)


def _todo(key: str, least: Text, otherwise: Text, *, guess: bool) -> Text:
    """What to do; a figure of the brake that nobody measured stops nothing, so it is to be measured first."""
    return (
        said(f"measure {key} first, which is a guess: from ", least, " on the part can be made") if guess else otherwise
    )


def too_many(part: Part, bench: Bench) -> Finding:
    """More strokes of the leaf than orders are searched for."""
    strokes = float(len(bench.folds))
    return Finding(
        "brake-collision",
        Severity.WARN,
        part.id,
        "",
        strokes,
        float(MOST_STROKES),
        f"{len(bench.folds)} strokes of the leaf; orders are searched up to {MOST_STROKES}",
        str(DERIVED),
        "strokes",
        todo="plan this part by hand",
    )


def too_long(part: Part, bench: Bench) -> Iterator[Finding]:
    """A bend longer than the nose bar's usable length."""
    for fold, setting in zip(bench.folds, bench.settings, strict=True):
        nose, usable = setting.nose, bench.brake.usable(setting.nose)
        length = fold.length
        if length > usable + SAME_LENGTH:
            why = "the brake's length" if nose.length is None else "its radiused length less the run-out at both ends"
            guess = "length" in (bench.brake.guessed if nose.length is None else nose.guessed)
            yield Finding(
                "brake-length",
                Severity.WARN if guess else Severity.FORBID,
                part.id,
                f"bend {fold.name}",
                length,
                usable,
                said(
                    "bend ",
                    size(length),
                    f' long; nose bar "{setting.nose_name}" makes ',
                    size(usable),
                    f" at one stroke ({why}), and no bar of that radius or a larger one is longer",
                ),
                str(PRACTICE),
                todo=_todo("length", size(length), "make it in two lengths, or bend it on a longer brake", guess=guess),
            )


def too_far_round(part: Part, bench: Bench) -> Iterator[Finding]:
    """A leaf angle, over-bend included, past the leaf's travel or past the nose bar's front face."""
    for fold, setting in zip(bench.folds, bench.settings, strict=True):
        brake, nose, leaf = bench.brake, setting.nose, fold.lead.overbend_to
        limit = brake.farthest(nose)
        if leaf <= limit + 1e-6:
            continue
        face = f'the front face of nose bar "{setting.nose_name}"'
        which = "the leaf's travel" if brake.largest_angle <= limit else face
        hem = fold.lead.angle >= HEM
        advice: Text = "use a nose bar and brake that open farther, or form it over a block"
        if hem:
            gap = 2.0 * fold.lead.bent.inside_radius
            shut = closing_words(gap, said(size(gap), " thick"))
            hard = "; this metal is not a soft one, so prove it on a coupon first"
            advice = said(
                f"make it in two operations, bent to {setting.leaf_angle:g}° here, then ",
                shut,
                hard if part.material.hardness != "soft" else "",
            )
        by_leaf = brake.largest_angle <= limit
        guess = "largest_angle" in brake.guessed if by_leaf else "front_angle" in nose.guessed
        key, from_on = ("largest_angle", leaf) if by_leaf else ("front_angle", 180.0 - leaf)
        least = f"{from_on:.1f}°{'' if by_leaf else ' down'}"
        yield Finding(
            "brake-angle",
            Severity.WARN if hem or guess else Severity.FORBID,
            part.id,
            f"bend {fold.name}",
            leaf,
            limit,
            f"{fold.lead.angle:g}° asks the leaf to go to {leaf:.1f}°, {which} ends at {limit:g}°",
            str(DERIVED),
            "deg",
            todo=_todo(key, least, advice, guess=guess and not hem),
        )


def too_strong(part: Part, bench: Bench) -> Iterator[Finding]:
    """Sheet thicker or stronger than the brake's rating in mild steel, converted for alloy and length."""
    rated = bench.brake.capacity_thickness
    if rated is None:
        return
    metal = part.material
    length = max(fold.length for fold in bench.folds)
    limit = plate_limit(bench.brake, metal, length)
    if limit is not None and part.thickness > limit * 1.001:
        guess = "capacity_thickness" in bench.brake.guessed
        yield Finding(
            "brake-capacity",
            Severity.WARN if guess else Severity.FORBID,
            part.id,
            "",
            part.thickness,
            limit,
            said(
                size(part.thickness),
                f" {metal.name} over ",
                size(length),
                f'; brake "{bench.brake.name}" is rated ',
                size(rated),
                " mild steel at full length, which is ",
                size(limit),
                " here (converted by the square root of strength and length)",
            ),
            str(PRACTICE),
            todo=_todo("capacity_thickness", size(rated * part.thickness / limit), "use a heavier brake", guess=guess),
        )


def too_short(part: Part, bench: Bench, step: Step) -> Iterator[Finding]:
    """Too little metal for the leaf to lift or for the nose to hold."""
    short = step.trial.short
    if short is None:
        return
    side, has, needs = short
    faces = step.trial.laid.free_faces if side == "leaf" else step.trial.laid.clamped_faces
    if all(sum(face in (b.parent, b.child) for b in bench.blank.bends) == 1 for face in faces):
        return  # an end flange: the part's own check on flanges speaks of it
    where = step.trial.laid.fold.name
    says = "in front of the bed's edge for the leaf to lift" if side == "leaf" else "under the nose bar to hold"
    guess = "smallest_flange" in bench.brake.guessed
    yield Finding(
        "brake-flange",
        Severity.WARN if guess else Severity.FORBID,
        part.id,
        f"bend {where}",
        has,
        needs,
        said(
            "only ",
            size(has),
            f" of flat metal {says}; ",
            size(needs),
            " are needed",
        ),
        str(PRACTICE) if bench.brake.smallest_flange is None else f'brake "{bench.brake.name}" in shop.toml',
        todo=said(
            "measure smallest_flange first, which is a guess, or " if guess else "",
            "leave the flange ",
            size(needs - has),
            " wider, bend it, and trim it afterwards",
        ),
    )


def no_gauge(part: Part, bench: Bench, step: Step) -> Iterator[Finding]:
    """A bend that has to be worked to its sight line, and mating faces that no stop sizes."""
    if step.side != "sight":
        return
    stops, brake = step.trial.stops, bench.brake
    if not brake.back_stop:
        why, value, limit = "the brake has no back stop, and no front stop reaches", None, None
    elif stops.rest is None or stops.bed is None or stops.nose is None:
        why, value, limit = "nothing square to the bend that a stop could rest on", None, None
    elif brake.back_stop_reach is not None and stops.bed > brake.back_stop_reach:
        why, value, limit = "the back stop does not reach that far", stops.bed, brake.back_stop_reach
    else:
        why, value, limit = "the back stop does not come that near to the nose", stops.nose, brake.back_stop_least
    numbers = "" if value is None or limit is None else said(" (", size(value), " wanted, ", size(limit), " it has)")
    yield Finding(
        "brake-reach",
        Severity.WARN,
        part.id,
        f"bend {step.trial.laid.fold.name}",
        value,
        limit,
        said(f"worked to its sight line by eye: {why}", numbers),
        str(DERIVED),
        todo="expect twice the spread in the flange",
    )


def tipped(part: Part, bench: Bench, step: Step) -> Iterator[Finding]:
    """A part that is caught round the nose and comes out only by tipping it, which takes a knack."""
    leaves, lift = step.trial.leaves, bench.brake.largest_opening
    if leaves.how != "tipped":
        return
    way = "up" if leaves.tilt > 0 else "down"
    yield Finding(
        "brake-way-out",
        Severity.WARN,
        part.id,
        f"bend {step.trial.laid.fold.name}",
        abs(leaves.tilt),
        None,
        said(
            "stands round the nose bar and comes out only by tipping it: the nose lifted ",
            size(lift),
            f", its front {way} by about {abs(leaves.tilt):.0f}°",
        ),
        str(DERIVED),
        "deg",
        todo="try it with the first piece before you bend the rest",
    )


def tight(part: Part, bench: Bench, step: Step) -> Iterator[Finding]:
    """A stroke that passes a tool or the part itself closely."""
    gap = step.trial.stroke.clearance
    limit = bench.brake.end_clearance
    if gap is not None and gap < limit:
        yield Finding(
            "brake-clearance",
            Severity.NOTE,
            part.id,
            f"bend {step.trial.laid.fold.name}",
            gap,
            limit,
            said(f"passes {step.trial.stroke.nearest} with ", size(gap), " to spare"),
            str(DERIVED),
            todo="watch it on the first piece",
        )


def bows(part: Part, step: Step) -> Iterator[Finding]:
    """Long thin flanges, which come out of any brake curved along their length."""
    laid = step.trial.laid
    length = laid.span[1] - laid.span[0]
    if length < LONG_BEND:
        return
    for pieces in (laid.moving, laid.still):
        xs = [x for p in pieces for x, _ in p.section]
        width = max(xs) - min(xs)
        if 0 < width * BOW_RATIO < length:
            yield Finding(
                "brake-bow",
                Severity.WARN,
                part.id,
                f"bend {laid.fold.name}",
                width,
                length / BOW_RATIO,
                said(
                    "a flange ",
                    size(width),
                    " wide and ",
                    size(length),
                    " long comes out curved along its length",
                ),
                str(PRACTICE),
                todo="bend it on a wide sheet and shear the strip off afterwards, or expect to dress it",
            )
            return
