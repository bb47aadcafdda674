"""Blanks of a few parts by themselves: developed, checked, drawn, without nests or a packet."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flatgen import budget
from flatgen.checks.rules import waived
from flatgen.core.words import Units
from flatgen.drawings import clamped_faces
from flatgen.errors import InputError, nearest
from flatgen.jobs.loading import load
from flatgen.jobs.make import inputs_of, planned, shown_in
from flatgen.model.job import Job
from flatgen.model.results import Developed, Results
from flatgen.read.profile import find_profile, profile_names
from flatgen.read.single import single_job

# what can be asked for, and how its file ends; the machine's say their unit
FORMATS = {
    "dxf": ".dxf",
    "svg": ".svg",
    "pdf": ".pdf",
    "reading": "-reading.dxf",
    "machine": "-{unit}.dxf",
    "machine-r12": "-{unit}-r12.dxf",
    "router": "-router-{unit}.dxf",
}
LETTERS = ("-{unit}.pdf", "-{unit}-r12.pdf")  # that go with the machine's files


@dataclass(frozen=True, slots=True)
class Drawn:
    """One part with the files that were written of it, none when a finding forbids cutting it."""

    made: Developed
    files: tuple[Path, ...]
    units: Units


def is_job(what: str) -> bool:
    """Whether a name is a job's file: a TOML file with parts in it, not a profile."""
    path = Path(what)
    if not path.is_file():
        return False
    text = budget.content(path).decode("utf-8", errors="replace")
    return "[[part]]" in text or "[face." not in text


def planned_parts(
    what: str, parts: Sequence[str], given: Mapping[str, str], units: Units | None, shop: Path | None
) -> Results:
    """The parts of a job's file, all or those named, or the one of a profile with the sizes given: checked, and planned
    on the brake as in the packet of the whole job."""
    if is_job(what):
        if given or shop:
            raise InputError("sizes and shop of a job stand in its file; give them here only with a profile", file=what)
        return shown_in(planned(load(Path(what)), parts), units)
    if parts:
        raise InputError(f'"{what}" is no job, so it has no part "{parts[0]}"')
    if what.endswith(".toml") and not Path(what).is_file():
        raise InputError("there is no such file", file=what)
    try:
        find_profile(what, Path())
    except InputError:
        known = profile_names()
        raise InputError(f'"{what}" is neither a job file nor a profile. {nearest(what, known)}') from None
    return planned(single_job(what, given, units or "in", shop))


def make_blanks(
    results: Results,
    out: Path,
    formats: Sequence[str],
    solid: str = "",
    bit: float = 0.0,
    *,
    into: bool = False,
) -> tuple[Drawn, ...]:
    """Every part drawn at true size into ``out``; a part that is stopped gets no file, and its earlier ones go.

    formats : of FORMATS; solid : "stl" or "glb" for the formed part too
    bit : diameter of the router bit [mm]; 0: that of the part's own cutting tool
    into : the user allows a folder that holds files of others
    """
    from flatgen.drawings import file_name
    from flatgen.output.folder import written_folder

    job, parts = results.job, results.parts
    if "router" in formats:
        parts = tuple(_with_router(made, job, bit) for made in parts)
    every, asked = _endings(FORMATS) | {".stl", ".glb"}, _endings(formats)
    # of a part drawn anew also the same in the other unit, from before the tool's was changed
    gone = {f"{file_name(made.part.id)}{end}" for made in parts for end in (every if made.stopped else asked)}
    if all(made.stopped for made in parts) and not out.exists():
        return tuple(Drawn(made, (), job.units) for made in parts)
    found = []
    with written_folder(out, "blank", into=into, inputs=inputs_of(job), gone=gone.__contains__) as folder:
        wanted = _Wanted(results, folder, formats, solid, bit)
        for made in parts:
            files = [] if made.stopped else wanted.write(made)
            found.append(Drawn(made, tuple(out / path.name for path in files), job.units))
    return tuple(found)


def _endings(formats: Iterable[str]) -> set[str]:
    """How files of these formats end, in either unit, with the letters that go with them."""
    several = [FORMATS[name] for name in formats]
    letters = [end for end in LETTERS if end.replace(".pdf", ".dxf") in several]
    return {end.format(unit=unit) for end in (*several, *letters) for unit in ("in", "mm")}


def _with_router(made: Developed, job: Job, bit: float) -> Developed:
    """With what this bit cannot do among the findings, in place of what the part's own tool cannot."""
    from flatgen.draw.router import ROUTER_RULES, router_findings, router_plan

    size = bit or _bit_of(made, job)
    plan = router_plan(made.blank, size)
    found = router_findings(made.part.id, size, plan)
    found = tuple(waived(finding, job.waivers) for finding in found)
    return replace(made, findings=tuple(f for f in made.findings if f.rule not in ROUTER_RULES) + found)


def _bit_of(made: Developed, job: Job) -> float:
    tool = job.shop.tool(made.tool)
    if not tool.router_bit:
        raise InputError(
            f'its tool "{made.tool}" has no bit_diameter in the shop file; give the bit with --bit', where=made.part.id
        )
    return tool.router_bit


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is to be written of a part, and where."""

    results: Results
    folder: Path
    formats: Sequence[str]
    solid: str
    bit: float

    def write(self, made: Developed) -> list[Path]:
        """The part's files, a letter beside those of the machine."""
        from flatgen.draw.machine import units_for
        from flatgen.drawings import file_name

        job, name = self.results.job, file_name(made.part.id)
        unit = units_for(job.shop.tool(made.tool), job.units)
        files = []
        for ending in self.formats:
            path = self.folder / f"{name}{FORMATS[ending].format(unit=unit)}"
            files += [*self._format(made, ending, path), path]
        if self.solid:
            from flatgen.develop.mesh import formed_solid
            from flatgen.write.solid import write

            path = self.folder / f"{name}.{self.solid}"
            write(formed_solid(made.blank), path)
            files.append(path)
        return files

    def _format(self, made: Developed, ending: str, path: Path) -> list[Path]:
        """One file; what else was written with it."""
        from flatgen.draw.blank import blank_pattern
        from flatgen.draw.blank_sheet import blank_sheet
        from flatgen.draw.machine import left_as_pilots, machine_pattern, router_path
        from flatgen.draw.machine_letter import part_letter
        from flatgen.page.place import side_by_side
        from flatgen.write import dxf, pdf, svg

        job, part, blank, units = self.results.job, made.part, made.blank, self.results.job.units
        tool, drills, clamped = job.shop.tool(made.tool), job.shop.drills, clamped_faces(self.results, part.id)
        if ending in ("pdf", "reading"):
            sheets = blank_sheet(part, blank, made.findings, job.shop, units, owner=job.drawing_owner, clamped=clamped)
            if ending == "pdf":
                pdf.write_pages(sheets, path)
            else:
                dxf.write(side_by_side(sheets), path)
        elif ending in ("machine", "machine-r12"):
            cutting = machine_pattern(part.mark, blank, tool, drills, units)
            dxf.write(cutting, path, "R12" if ending == "machine-r12" else "R2010")
            letter = path.with_suffix(".pdf")
            pilots = left_as_pilots(blank, tool, drills)
            pdf.write_pages((part_letter(part, blank, made.pieces, cutting, path.name, pilots),), letter)
            return [letter]
        elif ending == "router":
            routed = replace(tool, bit_diameter=self.bit or _bit_of(made, job))
            dxf.write(router_path(part.mark, blank, routed, drills, units), path)
        else:
            (dxf if ending == "dxf" else svg).write(blank_pattern(part, blank, made.findings, units, clamped), path)
        return []
