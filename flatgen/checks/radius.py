"""The radius of every bend: what the tables allow, which nose makes it and at what price, how far the leaf goes."""

import math
from collections.abc import Iterator

from flatgen.checks.proof import Proof, proof_of
from flatgen.checks.rules import Seen, rule
from flatgen.develop.allowance import nose_options, overbend
from flatgen.develop.least_radius import RadiusVerdict, Reading, finite, radius_verdict, smallest_allowed
from flatgen.develop.methods import Case
from flatgen.develop.nose_change import crowded_holes, nose_change
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED, PRACTICE
from flatgen.said import Text, said, size

UNSEEN = 1e-4  # a change of size below this is no change [mm]


@rule("minimum-radius", severity=Severity.FORBID, source=PRACTICE)
def minimum_radius(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A bend's radius is at least what the governing table of least radii asks of its metal and thickness."""
    for bend in blank.bends:
        where = f"bend {bend.id}"
        radius = bend.bent.inside_radius
        off = blank.angle_to_grain(bend)
        verdict = radius_verdict(part.material, part.nominal, radius, off, shop.radius_table, shop.work)
        proof = proof_of(part, blank, bend, shop)
        if verdict.governing is None:
            uncovered = said(f"no table of least radii covers {part.material.name} of ", size(part.nominal))
            yield Seen(where, radius, None, uncovered, _decided(shop, proof), todo=proof.words())
            continue
        notes = list(verdict.notes)
        if bend.angle > 90.5 and verdict.status == "ok" and proof.state == "open":
            notes.append(
                f"tables are printed for bends of 90°, this one turns {bend.angle:.4g}°: bend a coupon as far first"
            )
        for note in notes:
            yield Seen(where, radius, finite(verdict.limit), note, Severity.NOTE, verdict.governing.source)
        if verdict.status == "ok" and proof.state != "cracked":
            continue
        severity, text, todo = _verdict_words(part, shop, verdict, verdict.governing, proof)
        yield Seen(where, radius, finite(verdict.limit), text, severity, verdict.governing.source, todo=todo)


def _decided(shop: Shop, proof: Proof) -> Severity:
    """What a doubt comes to that coupons settle or confirm; while it is open, work on aircraft decides on it."""
    if proof.state == "cracked":
        return Severity.FORBID
    return Severity.WARN if proof.state == "open" and shop.work == "aircraft" else Severity.NOTE


def _verdict_words(
    part: Part, shop: Shop, verdict: RadiusVerdict, governing: Reading, proof: Proof
) -> tuple[Severity, Text, Text]:
    radius, limit = verdict.radius, verdict.limit
    assert limit is not None
    wanted = (
        said(size(limit), f" by table {governing.table}")
        if math.isfinite(limit)
        else f"table {governing.table} advises against it"
    )
    along = " (1.5 times its value, since the bend runs along the grain)" if verdict.along_grain else ""
    head = said("inside radius ", size(radius), "; ", wanted, along)
    if verdict.status == "along-grain" and proof.state == "open":
        return (
            _decided(shop, proof),
            head,
            "turn the part on the sheet, take a larger radius, or bend a coupon that way first",
        )
    noses = tuple(option.radius for option in nose_options(shop.brake()))
    off = 0.0 if verdict.along_grain else None
    best = smallest_allowed(noses, part.material, part.nominal, off, shop.radius_table, shop.work)
    way_out = said("; the smallest nose on hand that is allowed has ", size(best)) if best is not None else ""
    if verdict.status == "between":
        todo = said(proof.words(), "" if proof.state == "settled" else way_out)
        return _decided(shop, proof), head + ", but not below every table", todo
    if verdict.status in ("ok", "along-grain"):
        return _decided(shop, proof), head, proof.words()
    assert verdict.lowest is not None
    text = said(head, ", and no table goes below ", size(verdict.lowest))
    return Severity.FORBID, text, said("it would crack: take a larger radius", way_out)


@rule("nose-not-on-hand", severity=Severity.FORBID, source=DERIVED)
def nose_not_on_hand(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """The brake has a nose of the drawing's radius or a larger one."""
    brake = shop.brake()
    largest = max(option.radius for option in nose_options(brake))
    for bend in blank.bends:
        # a hem is pressed shut over a strip or flat, not bent over a nose
        if not bend.bent.nose and not part.bend(bend.id).hem:
            text = said(
                "the drawing asks for a radius of ",
                size(bend.bent.drawing_radius),
                f'; the largest nose of brake "{brake.name}" has ',
                size(largest),
            )
            todo = "wrap a shoe over it, or bend over a bar of that radius"
            yield Seen(f"bend {bend.id}", bend.bent.drawing_radius, largest, text, todo=todo)


@rule("nose-differs", severity=Severity.NOTE, source=DERIVED)
def nose_differs(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Where the nose's radius is not the drawing's, the blank is that of the nose; its price is named."""
    for bend in blank.bends:
        bent = bend.bent
        if abs(bent.inside_radius - bent.drawing_radius) <= UNSEEN:
            continue
        change = nose_change(bend.angle, bent.drawing_radius, bent.inside_radius)
        text = said(
            "bent at ",
            size(bent.inside_radius),
            f" ({bent.nose}) in place of the drawing's ",
            size(bent.drawing_radius),
            ": outside sizes stay; the blank is shorter by ",
            size(change.shorter_blank),
            ", each flat beside the bend by ",
            size(change.shorter_flat),
            "; a square-edged mate in the corner needs a chamfer of ",
            size(change.chamfer),
        )
        crowded = crowded_holes(blank, bend)
        if crowded:
            nearest = min(crowded, key=lambda hole: hole.distance - hole.needed)
            text += said(
                f"; {len(crowded)} {('hole' if len(crowded) == 1 else 'holes')} now too near the curve, the nearest ",
                size(nearest.distance),
                " from it where its head or washer needs ",
                size(nearest.needed),
                " (",
                size(nearest.at_drawing_radius),
                " at the drawing's radius)",
            )
        severity = Severity.WARN if crowded else Severity.NOTE
        yield Seen(f"bend {bend.id}", bent.inside_radius, bent.drawing_radius, text, severity)


@rule("over-bend-reach", severity=Severity.WARN, source=DERIVED)
def over_bend_reach(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """The leaf travels far enough even for a sheet that springs back more than expected.

    Where it does not even for the expected spring-back, the brake's plan forbids the bend.
    """
    brake = shop.brake()
    for bend in blank.bends:
        if part.bend(bend.id).hem:
            continue
        off = blank.angle_to_grain(bend)
        grain = "along" if off is not None and off < 30.0 else "across"
        low, best, high = overbend(
            Case(
                bend.angle,
                bend.bent.inside_radius,
                part.thickness,
                part.material,
                shop,
                grain=grain,
                nominal=part.nominal,
            )
        )
        if best <= brake.largest_angle < high:
            text = (
                f"the leaf has to go to between {low:.1f}° and {high:.1f}° for {bend.angle:g}°; brake"
                f' "{brake.name}" ends at {brake.largest_angle:g}°'
            )
            todo = "prove it with a coupon"
            yield Seen(f"bend {bend.id}", high, brake.largest_angle, text, unit="deg", todo=todo)
