"""The folder of a job: written whole beside the old one, then put in its place.

What an earlier run wrote is known from its list of files; anything else in the folder is the user's and is kept.
"""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from flatgen.errors import FlatgenError
from flatgen.model.results import Results

LISTED = ".written-by-flatgen"


def write_packet(results: Results, out: Path) -> None:
    """Everything that the job came to, as files under ``out``."""
    from flatgen.draw.blank import blank_pattern
    from flatgen.draw.nest import nest_drawing
    from flatgen.write import cut_list, dxf, packet_page, results_json, svg

    blanks = {made.part.id: made.blank for made in results.parts}
    units = results.job.units
    with replaced(out) as folder:
        (folder / "blanks").mkdir()
        (folder / "nests").mkdir()
        for made in results.parts:
            if made.stopped:
                continue
            drawing = blank_pattern(made.part, made.blank, made.findings, results.job.shop, units)
            name = file_name(made.part.id)
            dxf.write(drawing, folder / "blanks" / f"{name}.dxf")
            svg.write(drawing, folder / "blanks" / f"{name}.svg")
        for number, nest in enumerate((n for report in results.nests for n in report.nests), 1):
            drawing = nest_drawing(nest, blanks, units)
            name = f"sheet-{number:02d}-{file_name(nest.sheet.id)}"
            dxf.write(drawing, folder / "nests" / f"{name}.dxf")
            svg.write(drawing, folder / "nests" / f"{name}.svg")
        (folder / "cut-list.csv").write_text(cut_list.as_text(results), encoding="utf-8")
        results_json.write(results, folder / "results.json")
        (folder / "index.html").write_text(packet_page.as_text(results, folder), encoding="utf-8")


def file_name(part_id: str) -> str:
    """A part number as a file name that any system takes."""
    kept = "".join(c if c.isalnum() or c in "-_." else "_" for c in part_id)
    return kept.strip(".") or "part"


@contextmanager
def replaced(out: Path) -> Iterator[Path]:
    """A new folder to write into, which takes the place of ``out`` when all went well; else ``out`` stays as it was."""
    out = out.absolute()
    if out.exists() and not out.is_dir():
        raise FlatgenError(f"{out} is a file; name a folder for the packet")
    out.parent.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    try:
        fresh.chmod(0o755)
        yield fresh
        written = sorted(str(p.relative_to(fresh)) for p in fresh.rglob("*") if p.is_file())
        (fresh / LISTED).write_text("\n".join(written) + "\n", encoding="utf-8")
        if out.exists():
            _keep_what_is_not_ours(out, fresh)
            aside = Path(tempfile.mkdtemp(prefix=f".{out.name}-old-", dir=out.parent))
            out.replace(aside / "old")
            try:
                fresh.replace(out)
            except OSError:
                (aside / "old").replace(out)
                raise
            shutil.rmtree(aside, ignore_errors=True)
        else:
            fresh.replace(out)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _keep_what_is_not_ours(out: Path, fresh: Path) -> None:
    """Copy files that no earlier run wrote into the new folder, where they have no namesake."""
    listed = out / LISTED
    ours = set(listed.read_text(encoding="utf-8").splitlines()) if listed.is_file() else set()
    for path in sorted(out.rglob("*")):
        name = str(path.relative_to(out))
        if path.is_dir() or name in ours or name == LISTED or (fresh / name).exists():
            continue
        (fresh / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, fresh / name, follow_symlinks=False)
