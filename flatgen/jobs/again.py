"""The main job made once more: nothing is done where nothing has changed, and what has changed is told."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen.core.words import Units
from flatgen.jobs.changes import changes
from flatgen.jobs.loading import load
from flatgen.jobs.make import PLAINLY, How, make, shown_in
from flatgen.jobs.nests import lock_file
from flatgen.kept import keeping, note, recall
from flatgen.model.job import Job
from flatgen.model.results import Results
from flatgen.output import manifest
from flatgen.output.folder import check_folder
from flatgen.track import Track, silent

RESULTS = "results.json"


@dataclass(frozen=True, slots=True)
class Made:
    """What a make came to.

    results : None where the packet stood there already, whole
    changes : lines about what differs from the packet that was there; None where there was none of this job
    """

    results: Results | None
    status: int
    doubts: str
    changes: tuple[str, ...] | None


def make_again(path: Path, out: Path, how: How = PLAINLY, track: Track = silent) -> Made:
    """The main job; see :func:`flatgen.jobs.make.make` for what is given and raised."""
    with keeping():
        job = load(path, whole=how.whole)
        check_folder(out, into=how.into)
        asked = (job, how.units, how.names, _kept_nests(job))
        standing = _standing(out)
        noted = recall("packet", *asked)
        if noted is not None and noted[0] == standing and not how.effort:
            return Made(None, noted[1], noted[2], ())
        before = _results(out) if standing else None
        results = make(job, out, how, track)
        doubts = _doubts(results, job, how.units)
        if not how.effort:  # a longer search may find more each time
            note((_standing(out), results.exit_status, doubts), "packet", *asked)
        told = None
        if before is not None and before.get("job") == job.title:
            told = changes(before, _results(out) or {}, results.job.units)
        return Made(results, results.exit_status, doubts, told)


def _doubts(results: Results, job: Job, units: Units | None) -> str:
    from flatgen.page.findings import doubts

    return doubts(results.findings, shown_in(results, units).job.units)


def _kept_nests(job: Job) -> bytes:
    try:
        return lock_file(job).read_bytes()
    except OSError:
        return b""


def _standing(out: Path) -> dict[str, str]:
    """Files of the packet that stand there, with the digests of what they hold now."""
    names = manifest.read(out).of("make")
    return {name: manifest.written(out / name, "make").sha256 for name in sorted(names) if (out / name).is_file()}


def stands(job: Job, out: Path) -> bool:
    """Whether the packet that stands there was made of the job, its shop and its tally as they are now."""
    found = _results(out)
    return found is not None and found.get("input_digest") == job.digest


def _results(out: Path) -> Mapping[str, Any] | None:
    """The results of the packet that stands there, where flatgen wrote them so."""
    try:
        found: Mapping[str, Any] = json.loads((out / RESULTS).read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    own = manifest.read(out).files.get(RESULTS)
    whole = own is not None and own.sha256 == manifest.written(out / RESULTS, "make").sha256
    return found if whole and isinstance(found, dict) else None
