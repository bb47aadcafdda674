"""A job from its first test bend to the last good piece in five evenings: what is told in examples/README.md.

Coupons first, two pieces cracked, a sheet of another thickness, a drawing raised, a nest spoiled. After each evening
the packet is of what is left, and in the end at most one sheet more was cut than one plan takes that knew it all.
"""

import json
import re
import shutil
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from flatgen.jobs.loading import load
from flatgen.jobs.make import compute
from flatgen.jobs.tallying import tally_place
from flatgen.kept import keeping
from flatgen.model.plan import OFFCUT
from flatgen.model.results import Results
from flatgen.records.begun import begun_sheets
from flatgen.records.book import book_path, open_book
from flatgen.records.coupons import Coupon, record_coupons
from flatgen.records.stale import stale_blanks
from flatgen.tally.sheets import last_cut, state
from flatgen.write.results_json import as_text

ROOT = Path(__file__).resolve().parent.parent.parent


class Shop:
    """A builder's evenings with one job."""

    def __init__(self, folder: Path, example: str, run) -> None:
        self.folder = folder / example
        shutil.copytree(ROOT / "examples" / example, self.folder, ignore=shutil.ignore_patterns("*.sqlite*"))
        self.job, self.run = self.folder / "job.toml", run
        self.out = self.folder / "out"
        self.out.mkdir()
        self.results = self.packet()

    def packet(self) -> Results:
        """What make plans now; it is of what is left, and nothing else."""
        with keeping():
            self.results = compute(load(self.job))
        (self.out / "results.json").write_text(as_text(self.results), encoding="utf-8")
        nested = self.results.nested
        for made in self.results.parts:
            if made.counts and not made.stopped:
                assert made.pieces == made.counts.to_cut <= nested[made.part.id] + self.results.not_nested
        bent = Counter()
        for setup in self.results.setups:
            for op in setup.operations:
                bent[op.part] = max(bent[op.part], op.pieces)
        for made in self.results.parts:
            if made.counts and made.finished:
                assert not bent[made.part.id]
        return self.results

    def tally(self, *words: object) -> str:
        return self.run("tally", words[0], self.job, *words[1:]).output

    def nests(self):
        return list(enumerate((n for report in self.results.nests for n in report.nests), 1))

    def cut(self, number: int, upto: int | None = None) -> None:
        words = ["cut", "--sheet", number, "--packet", self.out] + (["--upto", upto] if upto else [])
        self.tally(*words)

    def counts(self):
        return load(self.job).tally

    def stopped(self) -> set[str]:
        return {made.part.id for made in self.results.parts if made.stopped}

    def asked(self) -> list[str]:
        """Lines of the tally that ask what becomes of old blanks."""
        return [line for line in self.tally("show").splitlines() if line.startswith("decide")]

    def settle(self, how: str, *words: str) -> None:
        """Answer all of them alike."""
        at = tally_place(self.job)
        with open_book(at.book, writing=False) as book:
            old = stale_blanks(book, at.title, at.order)
        for one in old:
            self.tally(how, one.part, one.pieces, *words)

    def bend_coupons(self) -> None:
        """Strips are cut first, bent and recorded: this brake takes a little more than the handbook says."""
        for number, nest in self.nests():
            if nest.first:
                outlines = {made.part.id: made.blank.outline for made in self.results.parts}
                wanted = sum(p.part in nest.first for p in nest.placements)
                for upto in range(1, last_cut(nest) + 1):
                    if sum(p.part in nest.first for p in state(nest, outlines, upto).off) == wanted:
                        self.cut(number, upto)
                        break
        strips = []
        for made in self.results.parts:
            if made.part.kind == "coupon":
                (line,) = made.blank.bends
                deduction = line.bent.deduction + 0.1
                leg = (max(made.blank.width, made.blank.height) + deduction) / 2.0
                part = made.part
                for k in range(part.quantity):
                    strips.append(
                        Coupon(
                            part.material.key,
                            part.nominal,
                            line.bent.inside_radius,
                            line.angle,
                            "across" if part.grain == 90.0 else "along",
                            2.0 * leg - deduction,
                            leg,
                            leg,
                            part.thickness,
                            line.angle + 3.0,
                            line.angle,
                            mark=f"{part.id}/{k + 1}",
                            job=self.results.job.title,
                            cracked="no",
                        )  # fmt: skip
                    )
        record_coupons(book_path(self.results.job.shop), strips)


def first_evening(shop: Shop) -> None:
    """Test bends before all else: the packet says which sheet to which cut, and what is provisional until then."""
    waiting = [made for made in shop.results.parts if made.waits]
    assert waiting and {mark for made in waiting for mark in made.waits} <= {p.part.id for p in shop.results.parts}
    assert "test bend" in shop.tally("tonight", "--minutes", 150)
    shop.bend_coupons()
    shop.packet()
    assert not [made for made in shop.results.parts if made.waits or made.part.kind == "coupon"]


def second_evening(shop: Shop) -> None:
    """The first sheet is cut up, the small ones are bent; two crack."""
    shop.cut(shop.nests()[0][0])
    there = [one for one in shop.counts() if one.in_work >= 4 and any(s != "drilled" for s, _ in one.done)]
    for one in (there * 2)[:2]:
        now = next(other for other in shop.counts() if other.part == one.part)
        bend = next(s for s, _ in one.done if s != "drilled")
        waiting = dict(now.waiting)[bend]
        if waiting:
            shop.tally("bent", one.part, bend, waiting)
        shop.tally("reject", one.part, 1, "--why", "cracked", "--at", bend)
        shop.tally("good", one.part, 1)
    assert 2 == sum(one.rejected for one in shop.counts()) == sum(one.good for one in shop.counts())
    shop.packet()


def third_evening(shop: Shop) -> None:
    """A sheet comes in that measures otherwise: what lies on the bench was cut for the nominal thickness."""
    one = next(one for one in shop.counts() if one.in_work)
    part = shop.results.developed(one.part).part
    sheet = next(s for s in shop.results.job.shop.sheets if s.is_of(part.material.key, part.nominal) and not s.remnant)
    sizes = {"thickness": part.nominal, "measured": part.nominal - 0.03, "length": sheet.width, "width": sheet.height}
    options = [word for key, value in sizes.items() for word in (f"--{key}", f"{value:.4f} mm")]
    shop.run("stock", "add", "--material", part.material.key, *options, "--shop", shop.folder / "shop.toml")
    shop.packet()
    assert any(f"of {one.part} cut to old figures: developed for a thickness" in line for line in shop.asked())
    shop.settle("use", "--note", "within the tolerance of the drawing")
    shop.packet()
    shop.cut(next(k for k, nest in shop.nests() if nest.material == part.material.key))
    shop.packet()


def fourth_evening(shop: Shop) -> None:
    """A drawing is raised while its blanks lie on the bench, and a nest is spoiled: its blanks are all miscut."""
    raised = next(one for one in shop.counts() if one.in_work >= 2)
    text = shop.job.read_text(encoding="utf-8")
    shop.job.write_text(raise_revision(text), encoding="utf-8")
    assert any(f"of {raised.part} cut to old figures: revision" in line for line in shop.asked())
    shop.tally("reject", raised.part, 1, "--old", "--why", "hole edge of the old revision")
    shop.settle("use", "--note", "designer: same size")
    assert [] == shop.asked()
    shop.packet()
    before = Counter({one.part: one.in_work for one in shop.counts()})
    there = [number for number, nest in shop.nests() if not nest.sheet.id.startswith(OFFCUT)]
    if there:
        shop.cut(there[-1])
        for one in shop.counts():
            if one.in_work > before[one.part]:
                shop.tally("reject", one.part, one.in_work - before[one.part], "--why", "miscut")
    shop.packet()


def fifth_evening(shop: Shop) -> None:
    """All that is left, to the last good piece."""
    for number, _ in shop.nests():
        shop.cut(number)
    for one in shop.counts():
        if one.in_work and not one.formed:
            shop.tally("good", one.part, one.in_work)
    shop.packet()
    assert all(one.good >= one.wanted for one in shop.counts() if one.part not in shop.stopped())
    assert not shop.nests() and not shop.results.setups
    assert {} == {made.part.id: made.pieces for made in shop.results.parts if made.pieces and not made.stopped}
    assert "0 to cut" in shop.tally("show") or shop.stopped()


EVENINGS = (first_evening, second_evening, third_evening, fourth_evening, fifth_evening)


def raise_revision(text: str) -> str:
    return re.sub(r'(?m)^revision = "\w"', 'revision = "Z"', text)


def whole_sheets_used(shop: Shop) -> int:
    with open_book(book_path(shop.results.job.shop), writing=False) as book:
        return sum(not one.nest.sheet.remnant for one in begun_sheets(book, everything=True))


def one_plan(shop: Shop) -> int:
    """Sheets of one plan that knew how many would be rejected, with the test bends that were bent."""
    counts = {one.part: one for one in shop.counts()}
    job = load(shop.job, book=shop.folder / "none.sqlite", whole=True)
    tally = tuple(replace(one, wanted=one.wanted + counts[one.part].rejected) for one in job.tally)
    with keeping():
        planned = compute(replace(job, tally=tally))
    return sum(not nest.sheet.remnant for report in planned.nests for nest in report.nests)


@pytest.mark.parametrize("example", ["first-clips", pytest.param("float-fittings", marks=pytest.mark.deep)])
def test_a_job_over_evenings(example: str, tmp_path: Path, run) -> None:
    shop = Shop(tmp_path, example, run)
    for evening in EVENINGS:
        evening(shop)
    used, known = whole_sheets_used(shop), one_plan(shop)
    print(f"{example}: {used} sheets over the evenings, {known} by one plan that knew it all")
    assert used <= known + 1
    assert 0 == json.loads((shop.out / "results.json").read_text())["totals"]["pieces"]
