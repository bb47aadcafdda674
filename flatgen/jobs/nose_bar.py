"""A chosen nose bar into the shop's file, and the drawing of one, as calls in order."""

from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.core.words import Units
from flatgen.errors import InputError
from flatgen.jobs.brake import Bench, printed_on
from flatgen.jobs.nose_plan import NosePlan, Planner
from flatgen.model.job import Job
from flatgen.model.nose import Bar, Choice
from flatgen.read.shop import read_shop

if TYPE_CHECKING:
    from tomlkit import TOMLDocument


def take(job: Job, plan: NosePlan, number: int) -> tuple[str, ...]:
    """Write a choice of the plan into the shop's file; what was changed, in words."""
    from flatgen import budget
    from flatgen.write.shop_file import replace

    file = Path(job.shop.file)
    after, said = taken(job, plan, number, budget.content(file).decode("utf-8"))
    read_shop(file, after.removeprefix("\ufeff"))
    if said:
        replace(file, after)
    return said or ("nothing: these bars are there already",)


def taken(job: Job, plan: NosePlan, number: int, text: str) -> tuple[str, tuple[str, ...]]:
    """The shop file's text with a choice of the plan in it, and what was changed, in words.

    Bars on hand that the choice leaves out are set aside where a part would come out otherwise with them.
    """
    from flatgen.write.shop_file import edited

    if not 1 <= number <= len(plan.choices):
        raise InputError(f"there is no choice {number}; the plan has 1 to {len(plan.choices)}", where="--take")
    choice = plan.choices[number - 1]
    aside = set_aside(job, plan, choice)
    said: list[str] = []

    def change(document: "TOMLDocument") -> None:
        brake = next(one for one in document["brake"] if one["name"] == job.shop.brake().name)
        for bar in choice.bars:
            _add(brake, bar, job.shop.brake().units, said)
        for nose in brake["nose"]:
            if nose["name"] in aside and not nose.get("aside"):
                nose["aside"] = True
                said.append(f"{nose['name']}: set aside (aside = true)")

    return edited(text, change), tuple(said)


def set_aside(job: Job, plan: NosePlan, choice: Choice) -> frozenset[str]:
    """Names of the bars on hand with which a part would come out otherwise if they stayed in use beside the choice."""
    planner = Planner(job)
    kept = {bar.nose.name for bar in choice.bars}
    others = [bar for bar in plan.candidates if bar.made == "on hand" and bar.name not in kept]
    return frozenset(bar.name for bar in others if planner.alters(choice.bars, bar))


def _add(brake: "TOMLDocument", bar: Bar, units: Units, said: list[str]) -> None:
    import tomlkit

    there = next((nose for nose in brake["nose"] if nose["name"] == bar.nose.name), None)
    if there is not None and there.get("aside"):
        there["aside"] = False
        said.append(f"{bar.nose.name}: in use again")
    if bar.made == "wrap":
        assert there is not None
        there["shoes"] = [*there.get("shoes", []), _length(bar.wrap, units)]
        said.append(f"{bar.nose.name}: a wrap of {_length(bar.wrap, units)}")
    elif there is None:
        nose = tomlkit.table()
        nose["name"], nose["radius"] = bar.name, _length(bar.radius, units)
        nose["guessed"] = sorted(bar.nose.guessed)
        brake["nose"].append(nose)
        said.append(f"{bar.name}: new, to be made and measured")


def _length(mm: float, units: Units) -> str:
    return f"{mm / 25.4:.5g} in" if units == "in" else f"{mm:.4g} mm"


def draw(at: Bench, wrap: float, made: str, out: Path, units: Units, *, into: bool) -> tuple[str, ...]:
    """Write the working drawing, its templates at true size and their files; the files' names."""
    from flatgen.draw.nose_bar import CAUTIONS, Drawn, nose_subject, nose_templates
    from flatgen.draw.tiles import Layout
    from flatgen.draw.tiles import pages as tiled
    from flatgen.output.folder import written_folder
    from flatgen.page.flow import pages
    from flatgen.write import dxf
    from flatgen.write.pdf import write_pages

    drawn = Drawn(at.brake, at.nose, made, wrap)
    on = printed_on(at.shop, at.shop.name, units, CAUTIONS[0])
    shapes = nose_templates(drawn, units)
    layout = Layout(on.paper, stretch=at.shop.printer_scale, title=at.nose.name)
    with written_folder(out, "nose draw", into=into, inputs=(Path(at.shop.file),)) as folder:
        write_pages(pages((nose_subject(drawn, units),), on), folder / "nose-bar.pdf")
        write_pages(tiled([template for _, _, template in shapes], layout), folder / "templates.pdf")
        for name, pattern, _ in shapes:
            dxf.write(pattern, folder / f"{name}.dxf")
    return ("nose-bar.pdf", "templates.pdf", *(f"{name}.dxf" for name, _, _ in shapes))
