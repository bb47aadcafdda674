"""One part of a job with changes that are not in its file yet: its blank and what is found, as fast as one types.

``Trials`` reads the job again for each change; entries that stayed as they were are not made again (``read.earlier``).
"""

import copy
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.checks.rules import waived
from flatgen.errors import InputError
from flatgen.jobs.developed import develop_all, plan_brake, routed
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.model.job import Job
from flatgen.model.part import Part
from flatgen.model.plan import BrakePlan
from flatgen.model.results import Developed
from flatgen.model.shop import Shop
from flatgen.page.findings import STATES
from flatgen.read.earlier import Earlier
from flatgen.read.job import read_job
from flatgen.read.keys import TomlFile, open_toml
from flatgen.write import csv_edits
from flatgen.write.edits import Append, Drop, Edit, Place, Set, located

SIZES = "sizes"  # key of an entry that is a table of sizes
PLANS = 8  # of the brake that are remembered


@dataclass(frozen=True, slots=True)
class Look:
    """A part as it would come out; ``job`` is the whole job with this part alone."""

    job: Job
    made: Developed

    @property
    def part(self) -> Part:
        """The part as it is described."""
        return self.made.part

    @property
    def blank(self) -> Blank:
        """The part laid flat."""
        return self.made.blank

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was found, what stops first; without what the brake's plan finds."""
        return in_turn(self.made.findings)


@dataclass(slots=True)
class Trials:
    """The job of one file, tried with changes again and again."""

    path: Path
    earlier: Earlier = field(default_factory=Earlier)
    _plans: list[tuple[Look, BrakePlan, tuple[Finding, ...]]] = field(default_factory=list)
    _stock: tuple[object, Shop] | None = None

    def look(self, row: int, edits: Sequence[Edit] = (), part: str = "") -> Look:
        """A part of one [[part]], counted from 0: the one named, else the first.

        A change at ("sizes", id, column) is one of the table of sizes that the entry takes its parts from.

        Raises
        ------
        InputError, InputErrors : it cannot be read or has no flat; place and key as in the file
        """
        cells = [edit for edit in edits if edit.path[0] == SIZES]
        if cells:
            path = self.path.parent / str(self.entry(row)[SIZES])
            wanted = [Set(edit.path[1:], edit.value) for edit in cells if isinstance(edit, Set)]
            with budget.instead({path: csv_edits.applied(budget.text(path), wanted)}):
                return self.look(row, [edit for edit in edits if edit not in cells], part)
        job = self.job(edits, row)
        chosen = next((one for one in job.parts if one.id == part), job.parts[0])
        job = replace(job, parts=(chosen,))
        (made,) = develop_all(job)
        return Look(job, made)

    def braked(self, look: Look) -> tuple[BrakePlan, tuple[Finding, ...]]:
        """How the brake makes the part, and all findings with those of its plan and of the router: a slower answer.

        What was asked a moment ago is not planned again.
        """
        for one, plan, findings in self._plans:
            if (one.made, one.job.shop, one.job.waivers) == (look.made, look.job.shop, look.job.waivers):
                return plan, findings
        plan = plan_brake(look.job, [look.made])
        late = [waived(finding, look.job.waivers) for finding in (*plan.findings, *routed(look.job, [look.made]))]
        findings = in_turn((*look.made.findings, *late))
        self._plans = [*self._plans[1 - PLANS :], (look, plan, findings)]
        return plan, findings

    def entry(self, row: int) -> dict[str, Any]:
        """A [[part]] as it is written."""
        return dict(open_toml(self.path).data["part"][row])

    def cells(self, row: int, part: str) -> tuple[str, dict[str, str]]:
        """Of an entry with a table of sizes the id and the cells of a part's row; of any other nothing."""
        name = self.entry(row).get(SIZES)
        if name is None:
            return "", {}
        table = csv_edits.rows_of(budget.text(self.path.parent / str(name)))
        own = next((one for one in table if part in (one, f"{one}-L", f"{one}-R")), "")
        return own, table.get(own, {})

    def job(self, edits: Iterable[Edit] = (), only: int | None = None) -> Job:
        """The job with changes, all its parts or those of one [[part]]."""
        file = open_toml(self.path)
        data = changed(file.data, edits)
        if only is not None and only >= len(data.get("part", ())):
            raise InputError(f"there is no part {only + 1} in it", file=self.path)
        return read_job(
            self.path, self._stocked, file=TomlFile(file.path, file.text, data), earlier=self.earlier, only=only
        )

    def _stocked(self, shop: Shop) -> Shop:
        """The shop with what its book holds; the book is opened when it or the shop's file changed."""
        from flatgen.jobs.loading import with_book
        from flatgen.records.book import book_path, open_book

        path = book_path(shop)
        if not path.exists():
            return shop
        log = path.with_name(f"{path.name}-wal")
        stamp = [one.stat().st_mtime_ns for one in (path, log) if one.exists()]
        if self._stock is None or self._stock[0] != (shop, stamp):
            with open_book(path, writing=False) as book:
                self._stock = ((shop, stamp), with_book(shop, book))
        return self._stock[1]


def in_turn(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What stops first, then what is to be decided, notes, and what was waived."""
    return tuple(sorted(findings, key=lambda finding: STATES.index(finding.state)))


def changed(data: dict[str, Any], edits: Iterable[Edit]) -> dict[str, Any]:
    """A description after these changes; the one given stays as it is."""
    data = copy.deepcopy(data)
    for edit in edits:
        path = located(data, edit.path)
        holder = _inside(data, path[:-1])
        if isinstance(edit, Drop):
            if isinstance(holder, dict):
                holder.pop(path[-1], None)
            elif isinstance(path[-1], int) and path[-1] < len(holder):
                del holder[path[-1]]
        elif isinstance(edit, Append):
            holder.setdefault(path[-1], []).append(copy.deepcopy(dict(edit.table)))
        else:
            try:
                holder[path[-1]] = edit.value
            except (IndexError, TypeError):
                raise InputError(f"there is no {path[-1]} in it any more") from None
    return data


def _inside(tree: Any, path: Place) -> Any:
    for step in path:
        if isinstance(tree, dict) and step not in tree:
            tree[step] = {}
        try:
            tree = tree[step]
        except (IndexError, KeyError, TypeError):
            raise InputError(f"there is no {step} in it any more") from None
    return tree


def worse(before: Sequence[Finding], after: Sequence[Finding]) -> bool:
    """Whether something stops or is to be decided that did not before, told by rule and place."""

    def told(findings: Sequence[Finding]) -> set[tuple[str, str, str]]:
        return {(f.rule, f.where, f.state) for f in findings if f.state in ("stop", "decide")}

    known = {(rule, where) for rule, where, state in told(before)}
    softer = {(rule, where) for rule, where, state in told(before) if state == "decide"}
    return any(
        (rule, where) not in known or (state == "stop" and (rule, where) in softer)
        for rule, where, state in told(after)
    )
