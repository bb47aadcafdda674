"""A newcomer's way: flatgen new, paste what flatgen profiles NAME shows, flatgen make. Nothing stops, or NAME said so.

The first shop is a small box-and-pan brake with 6061-T6 (common practice, no source).
"""

import json
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from click.testing import CliRunner
from making import every_second, once
from page_texts import clashes

from flatgen.cli import flatgen
from flatgen.drawings import enclosures
from flatgen.jobs.loading import load
from flatgen.jobs.make import compute
from flatgen.read.profile import profile_names
from flatgen.write.results_json import as_dict

UNITS = ("in", "mm")
# hems crack hard sheet; a tray with returns all round closes over the nose (trade notes, sections 5 and 9)
WANTING = {"hemmed-angle", "mitred-tray"}


def run(*words: object) -> str:
    result = CliRunner().invoke(flatgen, [str(word) for word in words])
    assert result.exit_code in (0, 3), result.output
    return result.stdout


def pasted(name: str, units: str) -> str:
    out = run("profiles", name, "--units", units)
    return out[out.index("[[part]]") :].replace("PART-1", name)


def made(names: list[str], units: str, *options: str) -> tuple[dict[str, list[str]], set[str]]:
    """Messages of the findings that stop, by part; and the parts with a setting or a place on a sheet.

    On no drawing that is made of them, every second in a usual run, a text lies over another.
    """
    with TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        run("new", folder, "--yes", "--units", units, *options)
        job.write_text(
            "\n".join([job.read_text(encoding="utf-8"), *(pasted(n, units) for n in names)]), encoding="utf-8"
        )
        answer = compute(load(job))
    for enclosure in every_second(enclosures(answer), 0):
        for page in enclosure.drawings:
            assert [] == clashes(page), (enclosure.name, page.title)
    results = as_dict(answer)
    stops: dict[str, list[str]] = {name: [] for name in names}
    for finding in results["findings"]:
        if finding["severity"] == "forbid":
            stops[finding["part"]].append(finding["message"])
    return stops, {place["part"] for nest in results["nests"] for place in nest["placements"]}


@pytest.fixture(scope="session", params=["in", pytest.param("mm", marks=pytest.mark.deep)])
def library_made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """What came of the whole library, drawn once for all workers."""
    units = request.param
    return once(tmp_path_factory, f"library-{units}", lambda _: made(profile_names(), units))[1]


@pytest.mark.parametrize("name", profile_names())
def test_pasted_entry_is_made_by_the_first_shop_or_says_what_it_wants(name: str, library_made: Any) -> None:
    stops, placed = library_made
    wants = json.loads(run("profiles", name, "--json"))["wants"]
    assert bool(stops[name]) == bool(wants) == (name in WANTING), stops[name]
    assert bool(stops[name]) != (name in placed)


@pytest.mark.parametrize("name", sorted(WANTING))
def test_what_is_wanted_stands_above_the_entry_and_in_it(name: str) -> None:
    out = run("profiles", name)
    wants = json.loads(run("profiles", name, "--json"))["wants"]
    assert f"It wants {wants}." in out.splitlines() and f"# wants {wants}" in out.splitlines()


@pytest.mark.parametrize("units", UNITS)
def test_with_what_it_wants_it_is_made(units: str) -> None:
    soft = "5052-H32, 0.040, 48, 24" if units == "in" else "5052-H32, 1, 1250, 625"
    assert ({"hemmed-angle": []}, {"hemmed-angle", "CLIP-1"}) == _parts(made(["hemmed-angle"], units, "--sheet", soft))


def _parts(answer: tuple[dict[str, list[str]], set[str]]) -> tuple[dict[str, list[str]], set[str]]:
    """The answer without coupons."""
    stops, placed = answer
    return stops, {name for name in placed if not name.startswith("CP")}


@pytest.mark.parametrize("units", UNITS)
def test_mitred_tray_without_returns_is_made(units: str, tmp_path: Path) -> None:
    run("new", tmp_path, "--yes", "--units", units)
    job = tmp_path / "job.toml"
    bare = pasted("mitred-tray", units).splitlines()
    bare = ["return_flange = 0" if line.startswith("return_flange") else line for line in bare]
    job.write_text("\n".join([job.read_text(encoding="utf-8"), *bare]), encoding="utf-8")
    assert [] == [f for f in json.loads(run("check", job, "--json")) if f["severity"] == "forbid"]
