"""Survey of a brake, and its answers entered into the shop's file, as calls in order."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatgen.core.words import Units
from flatgen.errors import InputError, nearest
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.model.survey import MEASURES, Measure
from flatgen.read.shop import BRAKE_KEYS, NOSE_KEYS, read_shop

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

    from flatgen.page.flow import Setting


@dataclass(frozen=True, slots=True)
class Bench:
    """A brake of a shop with the nose bar that is asked about."""

    shop: Shop
    brake: Brake
    nose: NoseBar


def bench(shop_file: Path, brake: str = "", nose: str = "", text: str | None = None) -> Bench:
    """The brake and nose bar named, or the first of each."""
    shop = read_shop(shop_file, text)
    brakes = {one.name: one for one in shop.brakes}
    if brake and brake not in brakes:
        raise InputError(f'there is no brake "{brake}". {nearest(brake, brakes)}', file=shop_file)
    found = brakes[brake] if brake else shop.brakes[0]
    noses = {one.name: one for one in (*found.noses, *found.aside)}
    if nose and nose not in noses:
        raise InputError(f'brake "{found.name}" has no nose bar "{nose}". {nearest(nose, noses)}', file=shop_file)
    return Bench(shop, found, noses[nose] if nose else found.noses[0])


def printed_on(shop: Shop | None, title: str, units: Units, caution: str) -> "Setting":
    """The shop's paper, or the usual one of the unit."""
    from flatgen.page.flow import Setting
    from flatgen.page.paper import READING, page_paper

    paper = page_paper(shop.printer_paper if shop else READING[units][0], units)
    return Setting(paper, title, units, caution=caution, printer=shop.printer_scale if shop else (1.0, 1.0))


def write_survey(at: Bench | None, out: Path, units: Units) -> int:
    """Write the survey's pages; their number."""
    from flatgen.draw.survey import SAFE, survey_subject
    from flatgen.output.single import written_file
    from flatgen.page.flow import pages
    from flatgen.write.pdf import write_pages

    subject = survey_subject(at.brake if at else None, at.nose if at else None, units)
    title = at.shop.name if at else "before one is bought"
    drawn = pages((subject,), printed_on(at.shop if at else None, title, units, SAFE))
    inputs = (Path(at.shop.file),) if at else ()
    with written_file(out, "pdf", "brake survey", inputs) as path:
        write_pages(drawn, path)
    return len(drawn)


def measure_named(key: str) -> Measure:
    """The figure of the survey with this key; "nose length" is the nose bar's own."""
    owner, _, name = key.rpartition(" ")
    found = [one for one in MEASURES if one.key == (name or key) and one.owner == (owner or one.owner)]
    if not found:
        known = [one.key if one.owner == "brake" else f"nose {one.key}" for one in MEASURES]
        raise InputError(f'the survey has no figure "{key}". {nearest(key, known)}')
    return min(found, key=lambda one: one.owner)


def _kind(measure: Measure) -> str:
    keys = BRAKE_KEYS if measure.owner == "brake" else NOSE_KEYS
    return next(key.kind for key in keys if key.name == measure.key)


def unit_of(measure: Measure, units: Units) -> str:
    """What a bare number is taken for."""
    return {"angle": "deg", "force": "lbf" if units == "in" else "kgf"}.get(_kind(measure), units)


def as_toml(measure: Measure, text: str) -> Any:
    """A value as it is written into the shop's file: a text with its unit or a bare number, or a list of them."""
    if _kind(measure) == "lengths":
        return [_plain(one.strip()) for one in text.split(",") if one.strip()]
    return _plain(text.strip())


def _plain(text: str) -> Any:
    try:
        number = float(text)
    except ValueError:
        return text
    return int(number) if number.is_integer() else number


def measured(at: Bench, answers: Mapping[Measure, str], text: str) -> str:
    """The shop file's text with these answers in it, none of them a guess any more; InputErrors where one cannot be.

    An empty answer leaves the figure as it is.
    """
    from flatgen.write.shop_file import edited

    def change(document: "TOMLDocument") -> None:
        brake = next(one for one in document["brake"] if one["name"] == at.brake.name)
        nose = next(one for one in brake["nose"] if one["name"] == at.nose.name)
        for measure, answer in answers.items():
            if not answer.strip():
                continue
            table = nose if measure.owner == "nose" else brake
            table[measure.key] = as_toml(measure, answer)
            guesses = [one for one in table.get("guessed", []) if one != measure.key]
            if len(guesses) < len(table.get("guessed", [])):
                table["guessed"] = guesses
            if measure.key.endswith("stop_reach") and table.get("back_stop") is False and measure.key[:4] == "back":
                table["back_stop"] = True

    after = edited(text, change)
    read_shop(Path(at.shop.file), after.removeprefix("\ufeff"))
    return after


def enter(at: Bench, answers: Mapping[Measure, str]) -> Shop:
    """Write the answers into the shop's file; the shop as it is then."""
    from flatgen import budget
    from flatgen.write.shop_file import replace

    file = Path(at.shop.file)
    replace(file, measured(at, answers, budget.content(file).decode("utf-8")))
    return read_shop(file)
