"""The part that a request is about, read as its file has it or with changes that are not written, for its pages."""

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from starlette.requests import Request

from flatgen.brake.reasons import MADE_WITH
from flatgen.errors import FlatgenError, InputError
from flatgen.jobs.cures import Cure
from flatgen.jobs.trial import Look, Trials
from flatgen.model.finding import Finding
from flatgen.page.findings import told as told_line
from flatgen.read.lettered import letters
from flatgen.read.profile import Profile, find_profile, load_profile
from flatgen.served.files import Desk, Document, Edit
from flatgen.served.part_fields import (
    cure_words,
    without_other_angles,
)
from flatgen.served.part_pictures import pictures, shown_lines
from flatgen.served.shell import desk_of, part_of_page, sent, sent_pairs, told

SHOWN_BEFORE = "shown "  # before the name of a hidden field: what stood there when the page was made
TRYING = threading.Lock()  # one change is tried at a time


@dataclass(frozen=True, slots=True)
class Place:
    """The part that a request is about: the job's file as it is, the number of its [[part]], its profile.

    chosen : of a table of sizes the part that is shown
    back : the page to go on with
    """

    desk: Desk
    trials: Trials
    file: Document
    row: int
    profile: Profile
    chosen: str
    back: str

    @property
    def data(self) -> dict[str, Any]:
        """The [[part]] as it is written."""
        found: dict[str, Any] = self.file.tree["part"][self.row]
        return found

    @property
    def sizes(self) -> Document | None:
        """The table of sizes that it is a row of, where the page may change it."""
        name = self.data.get("sizes")
        try:
            return self.desk.text(str(name)) if name else None
        except InputError:
            return None

    @property
    def units(self) -> str:
        """The job's."""
        return str(self.file.tree.get("units", "in"))


def at_row(request: Request, row: int) -> Place:
    """The part of a [[part]], counted from 0; InputError where there is none or no profile of it."""
    desk = desk_of(request)
    file = desk.text(desk.job_name)
    parts = file.tree.get("part", [])
    if row >= len(parts):
        raise InputError(f"the job has {len(parts)} parts; there is no part {row + 1}", file=file.name)
    profile = load_profile(find_profile(str(parts[row].get("profile", "")), desk.folder))
    chosen = sent(request).get("chosen", request.query_params.get("part", ""))
    here = f"/part/{row}{f'?part={quote(chosen)}' if chosen else ''}"
    return Place(desk, _trials(request), file, row, profile, chosen, sent(request).get("back", here))


def place(request: Request) -> Place:
    """The part whose number stands in the address."""
    return at_row(request, int(request.path_params["row"]))


def _trials(request: Request) -> Trials:
    state, desk = request.app.state, desk_of(request)
    if getattr(state, "trials", None) is None or state.trials.path != desk.job_path:
        state.trials = Trials(desk.job_path)
    trials: Trials = state.trials
    return trials


def look_at(at: Place, edits: Sequence[Edit] = (), part: str = "") -> Look:
    """A part with changes: the one named of a table of sizes, else the first."""
    with TRYING:
        return at.trials.look(at.row, edits, part)


def told_fields(request: Request) -> list[tuple[str, str]]:
    """The fields of the part's form, each angle told one way."""
    pairs = sent_pairs(request)
    before = {name.removeprefix(SHOWN_BEFORE): text for name, text in pairs if name.startswith(SHOWN_BEFORE)}
    return without_other_angles([pair for pair in pairs if not pair[0].startswith(SHOWN_BEFORE)], before)


def shown_part(at: Place) -> dict[str, Any]:
    """What comes of a part as its file has it, for the page: pictures, what is wrong; or why nothing comes of it."""
    try:
        look = look_at(at, (), at.chosen)
    except FlatgenError as error:
        return {"look": None, "pictures": None, "wrong": " ".join(told(error)), "found": ""}
    first, rest = shown_lines(look.findings, look.job.units)
    drawn = pictures(look, at.profile, look.findings)
    return {"look": look, "pictures": drawn, "wrong": "", "found": found_lines(at, first, rest, {})}


def tried(at: Place, edits: Sequence[Edit]) -> dict[str, Any]:
    """A part with changes that are not written: pictures and findings; FlatgenError where nothing comes of it."""
    look = look_at(at, edits, at.chosen)
    first, rest = shown_lines(look.findings, look.job.units)
    found = found_lines(at, first, rest, {})
    return {**pictures(look, at.profile, look.findings), "found": found, "sentences": {}}


def found_lines(at: Place, first: Sequence[Any], rest: Sequence[Any], cured: Mapping[Finding, Cure | None]) -> str:
    """What is wrong, one line a cause, each with its cure or its waiver."""
    letter = letters(at.profile)
    items = [
        {
            "line": line,
            "told": folded(told_line(line)),
            "finding": line.same[0],
            "cure": (cure := cured.get(line.same[0])),
            "words": cure_words(cure, letter) if cure else "",
            "waits": line.same[0] not in cured,
        }
        for line in first
    ]
    others = [(line.state, told_line(line)) for line in rest]
    answer = part_of_page("part_found.html", items=items, others=others, row=at.row, file=at.file, back=at.back)
    return bytes(answer.body).decode("utf-8")


def folded(text: str) -> tuple[str, str]:
    """What is wrong; and, folded aside, with which figures of a brake that nobody measured it could be made."""
    head, found, figures = text.partition(f": {MADE_WITH}")
    return (f"{head}: measure it first.", figures) if found else (text, "")


def faces_of(look: Look) -> dict[str, list[str]]:
    """The faces with their edges, those first that carry no bend."""
    from flatgen.develop.drawn import drawn_outlines

    bent = {(b.parent, b.parent_edge) for b in look.part.bends} | {(b.child, b.child_edge) for b in look.part.bends}
    return {
        face: sorted(dict.fromkeys(edges), key=lambda edge: (face, edge) in bent)
        for face, (_, edges) in drawn_outlines(look.part).items()
    }
