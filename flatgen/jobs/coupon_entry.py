"""A coupon from what a person writes: options, answers, fields of a page, or a row of a CSV file."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatgen import budget
from flatgen.errors import InputError, InputErrors, nearest
from flatgen.jobs.shop_place import Place

if TYPE_CHECKING:
    from flatgen.records.coupons import Coupon


@dataclass(frozen=True)
class Field:
    """One thing to enter: its key, the question, what it is, and whether it may be left out."""

    key: str
    ask: str
    kind: str  # text | length | angle | material | nose | grain | yes-no
    needed: bool = True


FIELDS: tuple[Field, ...] = (
    Field("mark", "Mark on the coupon, such as CP1/2", "text", False),
    Field("material", "Alloy and temper", "material"),
    Field("thickness", "Nominal thickness", "length"),
    Field("nose", "Nose bar, by name or radius", "nose"),
    Field("grain", "Grain against the bend line, across or along", "grain"),
    Field("angle", "Wanted angle, turned through from flat", "angle"),
    Field("measured_thickness", "Measured thickness, mean of three", "length"),
    Field("blank_length", "Length of the strip before bending", "length"),
    Field("leaf_angle", "Leaf angle that was bent to", "angle"),
    Field("released_angle", "Angle of the coupon out of the brake, from flat", "angle"),
    Field("leg_a", "Leg A, clamped side, outside", "length"),
    Field("leg_b", "Leg B, free side, outside", "length"),
    Field("inside_radius", "Inside radius by gauge", "length", False),
    Field("stop", "Stop that was set", "length", False),
    Field("cracked", "Cracked under a 10x glass, yes or no", "yes-no", False),
    Field("sheet", "Mark of the sheet", "text", False),
    Field("batch", "Batch or heat number", "text", False),
    Field("note", "Remark", "text", False),
    Field("recorded_by", "Measured by", "text", False),
)
PLANNED = ("material", "thickness", "nose", "grain", "angle")


def read_value(field: Field, text: str, place: Place) -> Any:
    """What a text means for a field.

    Raises
    ------
    InputError : not such a value
    """
    from flatgen.tables.load import material_key
    from flatgen.units import parse_angle, parse_length

    text = text.strip()
    if field.kind == "length":
        return parse_length(text, place.units)
    if field.kind == "angle":
        return parse_angle(text)
    if field.kind == "material":
        own = {part.material.key for part in place.job.parts} if place.job else set()
        return text if text in own else material_key(text)
    if field.kind == "grain":
        if text not in ("across", "along"):
            raise InputError(f'grain is "{text}"; it is "across" or "along" the bend line')
        return text
    if field.kind == "yes-no":
        if text not in ("yes", "no"):
            raise InputError(f'{field.key} is "{text}"; it is "yes" or "no"')
        return text
    if field.kind == "nose":
        return nose_radius(text, place)
    return text


def nose_radius(text: str, place: Place) -> float:
    """Radius of a nose bar by its name in the shop file, or as a length."""
    from flatgen.develop.allowance import nose_options
    from flatgen.units import parse_length

    names: dict[str, float] = {}
    if place.shop is not None:
        for brake in place.shop.brakes:
            names |= {option.name: option.radius for option in nose_options(brake)}
    if text in names:
        return names[text]
    try:
        return parse_length(text, place.units)
    except InputError as error:
        raise InputError(f'no nose bar "{text}", and it is not a length. {nearest(text, names)}') from error


def planned(place: Place, mark: str) -> dict[str, Any]:
    """Alloy, thickness, nose, grain and angle of a coupon that the plan knows by its mark; else empty."""
    return planned_marks(place).get(mark.split("/")[0], {}) if mark else {}


def planned_marks(place: Place) -> dict[str, dict[str, Any]]:
    """The same of every coupon of the job's plan, by mark; empty without a job."""
    if place.job is None:
        return {}
    from flatgen.jobs.developed import develop_all
    from flatgen.records.coupon_plan import marked, needs

    made = develop_all(place.job)
    blanks = {one.part.id: one.blank for one in made}
    wanted = needs([one.part for one in made], blanks, place.job.shop.proofs)
    return {
        name: dict(
            zip(PLANNED, (need.material.key, need.thickness, need.nose_radius, need.grain, need.angle), strict=True)
        )
        for name, need in marked(wanted, [part.id for part in place.job.parts])
    }


def _unknown_mark(texts: Mapping[str, str | None], place: Place) -> list[InputError]:
    """A sentence where a mark is none of the job's plan, so that what the plan would have told is missing."""
    mark = (texts.get("mark") or "").strip()
    if place.job is None or not mark:
        return []
    known = planned_marks(place)
    if mark.split("/")[0] in known:
        return []
    return [InputError(f'the plan of {place.job.file} has no coupon "{mark}". {nearest(mark, list(known))}')]


def coupon_of(texts: Mapping[str, str | None], place: Place, where: str = "") -> "Coupon":
    """A coupon from texts by key; InputErrors with everything that is missing or cannot be read."""
    from flatgen.records.coupons import Coupon

    values = planned(place, (texts.get("mark") or "").strip())
    errors = []
    for field in FIELDS:
        text = (texts.get(field.key) or "").strip()
        if text:
            try:
                values[field.key] = read_value(field, text, place)
            except InputError as error:
                errors.append(InputError(error.message, where=f"{where}{field.key}"))
        elif field.needed and field.key not in values:
            errors.append(InputError(f"not given ({field.ask})", where=f"{where}{field.key}"))
    if errors:
        raise InputErrors([*_unknown_mark(texts, place), *errors])
    values["nose_radius"] = values.pop("nose")
    if place.job is not None:
        values["job"] = place.job.title
    return Coupon(**values)


def coupons_of_csv(file: Path, place: Place) -> tuple["Coupon", ...]:
    """Coupons of a CSV file, one a row, columns named like the options; all or none, every error with its line."""
    found, errors = [], []
    keys = [field.key for field in FIELDS]
    for line, row in csv_rows(file, keys):
        try:
            found.append(coupon_of(row, place))
        except InputErrors as several:
            errors += [InputError(e.message, file=file, line=line, where=e.where) for e in several.errors]
            if len(errors) >= budget.MOST_ERRORS:
                raise InputErrors(errors[: budget.MOST_ERRORS], ended=True) from None
    if errors:
        raise InputErrors(errors)
    return tuple(found)


def csv_rows(file: Path, keys: Iterable[str], others: Callable[[str], bool] = lambda name: False) -> list[Any]:
    """Rows of a CSV file with a head, as (line, row); a column that is not known is an error."""
    heads, read = budget.csv_table(file)
    known = list(keys)
    for name in heads:
        if heads.count(name) > 1:
            raise InputError(f'column "{name}" stands there {heads.count(name)} times', file=file, line=1)
        if name not in known and not others(name):
            raise InputError(f'no column "{name}". {nearest(name, known)}', file=file, line=1)
    rows = []
    for line, row in read:
        if None in row:
            raise InputError("has more cells than the head", file=file, line=line)
        if any((cell or "").strip() for cell in row.values()):
            rows.append((line, row))
    if not rows:
        raise InputError("holds no rows below its head", file=file)
    return rows
