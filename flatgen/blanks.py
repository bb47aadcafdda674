"""Blanks of a few parts by themselves: developed, checked, drawn, without nests or a packet."""

import importlib
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from flatgen.errors import InputError, nearest
from flatgen.make import chosen, develop_all, load
from flatgen.model.job import Job
from flatgen.model.results import Developed
from flatgen.read.profile import find_profile, profile_names
from flatgen.read.single import single_job

Units = Literal["in", "mm"]


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
    text = path.read_text(encoding="utf-8", errors="replace")
    return "[[part]]" in text or "[face." not in text


def job_of(what: str, parts: Sequence[str], given: Mapping[str, str], units: Units | None, shop: Path | None) -> Job:
    """The job of a file with only the parts named, or one of a profile with the sizes given."""
    if is_job(what):
        if given or shop:
            raise InputError("sizes and shop of a job stand in its file; give them here only with a profile", file=what)
        job = chosen(load(Path(what)), parts)
        return job if units is None else replace(job, units=units)
    if parts:
        raise InputError(f'"{what}" is no job, so it has no part "{parts[0]}"')
    if what.endswith(".toml") and not Path(what).is_file():
        raise InputError("there is no such file", file=what)
    try:
        find_profile(what, Path())
    except InputError:
        known = profile_names()
        raise InputError(f'"{what}" is neither a job file nor a profile. {nearest(what, known)}') from None
    return single_job(what, given, units or "in", shop)


def make_blanks(job: Job, out: Path, formats: Sequence[str], solid: str = "") -> tuple[Drawn, ...]:
    """Every part of a job developed and drawn at true size into ``out``; parts that are forbidden get no file.

    formats : endings, of "dxf", "svg", "pdf"; solid : "stl" or "glb" for the formed part too
    """
    found = []
    for made in develop_all(job):
        files: list[Path] = []
        if not made.stopped:
            out.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(dir=out, prefix=".blank-") as folder:
                for path in _write(made, job, Path(folder), formats, solid):
                    files.append(path.replace(out / path.name))
        found.append(Drawn(made, tuple(files), job.units))
    return tuple(found)


def _write(made: Developed, job: Job, folder: Path, formats: Sequence[str], solid: str) -> list[Path]:
    from flatgen.draw.blank import blank_pattern
    from flatgen.drawings import file_name

    name = file_name(made.part.id)
    pattern = blank_pattern(made.part, made.blank, made.findings, job.shop, job.units)
    files = []
    for ending in formats:
        path = folder / f"{name}.{ending}"
        exporter = importlib.import_module(f"flatgen.write.{ending}")
        if ending == "pdf":
            from flatgen.draw.blank_sheet import blank_sheet

            sheets = blank_sheet(made.part, made.blank, made.findings, job.shop, job.units, owner=job.drawing_owner)
            exporter.write_pages(sheets, path)
        else:
            exporter.write(pattern, path)
        files.append(path)
    if solid:
        from flatgen.develop.mesh import formed_solid
        from flatgen.write.solid import write

        path = folder / f"{name}.{solid}"
        write(formed_solid(made.blank), path)
        files.append(path)
    return files
