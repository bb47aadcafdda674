"""Jobs that live for weeks: events in any legal order, reprints, revisions, kills. Every piece and all metal add up.

A second account is kept here in a few lines, by entry, and held against the book after each step.
"""

import math
import tempfile
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from flatgen.core.outline import flatten, moved, rectangle
from flatgen.errors import FlatgenError, InputError
from flatgen.model.plan import Nest, Piece
from flatgen.model.shop import CuttingTool, Sheet
from flatgen.model.tally import Event, Figures, Ordered
from flatgen.nest import Problem, nest_pieces
from flatgen.records.begun import begun_sheets, cut_sheet
from flatgen.records.book import open_book
from flatgen.records.inspections import Piece as Measured
from flatgen.records.inspections import record_pieces
from flatgen.records.runs import Packet, nest_of
from flatgen.records.tally import enter_in, events, keep_order, sums, tally, undo
from flatgen.tally.sheets import last_cut
from flatgen.write.results_json import nest_dict

JOB = "Oxbow random"
TOOLS = (CuttingTool("saw", "shear", kerf=2.0), CuttingTool("router", "profile-cut", gap=6.0))
PARTS = st.lists(
    st.tuples(
        st.integers(1, 9),
        st.integers(0, 3),
        st.booleans(),
        st.sampled_from((40, 90, 170)),
        st.sampled_from((30, 70, 110)),
    ),
    min_size=1,
    max_size=3,
)


@cache
def laid(tool: CuttingTool, asked: tuple) -> tuple[Nest, ...]:
    """Nests of so many blanks of each part on sheets of 500 x 320."""
    pieces = [Piece(part, outline, (), many, (0.0, 180.0)) for part, outline, many in asked]
    stock = [Sheet("S", "2024-T3", 1.0, 500.0, 320.0, margin=3.0)]
    return nest_pieces(Problem(pieces, stock, tool, offcut=(80.0, 50.0))).nests


class LifeOfAJob(RuleBasedStateMachine):
    """One job in one book."""

    @initialize(parts=PARTS, tool=st.sampled_from(TOOLS), guess=st.sampled_from((0.0, 0.05)))
    def begin(self, parts: list, tool: CuttingTool, guess: float) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "book.sqlite"
        self.sizes = {f"P{k}": (float(w), float(h)) for k, (*_, w, h) in enumerate(parts)}
        self.order = [
            Ordered(f"P{k}", n, tuple(f"b{j}" for j in range(bends)), drilled, "", self.figures(f"P{k}", "A"))
            for k, (n, bends, drilled, *_) in enumerate(parts)
        ]
        self.tool, self.guess, self.packets, self.measured = tool, guess, [], 0
        self.account: dict[int, Counter[Any]] = {}
        self.pieces: list[Counter[Any]] = []
        self.book = open_book(self.path)
        with self.book.entering():
            keep_order(self.book, JOB, self.order, {})
        self.reprint()

    def figures(self, part: str, revision: str) -> Figures:
        w, h = self.sizes[part]
        return Figures(revision, 1.0, w, h, f"{w} {h}")

    def teardown(self) -> None:
        if hasattr(self, "book"):
            self.book.close()
            self.folder.cleanup()

    def counts(self, part: str) -> Any:
        return next(one for one in tally(self.book, JOB, self.order, self.guess) if one.part == part)

    @precondition(lambda self: len(self.account) >= 8 * len(self.packets))
    @rule()
    def reprint(self) -> None:
        """Make: nests of what is left to cut."""
        found = {one.part: one for one in tally(self.book, JOB, self.order, self.guess)}
        outlines = {part: rectangle(0.0, 0.0, w, h) for part, (w, h) in self.sizes.items()}
        asked = tuple((p, outlines[p], found[p].to_cut) for p in outlines if found[p].to_cut)
        nests = laid(self.tool, asked) if asked else ()
        parts = {
            one.part: {
                "id": one.part,
                "kind": "part",
                "blank": {"outline": [list(v) for v in outlines[one.part]]},
                "figures": one.figures.as_dict(),
                "cut_by_number": found[one.part].loose,
            }
            for one in self.order
        }
        entries = tuple(nest_dict(nest, kerf=self.tool.kerf) for nest in nests)
        self.packets.append(Packet(JOB, f"packet {len(self.packets)}", entries, parts))

    def enter(self, event: Event) -> bool:
        before = self.stands()
        try:
            with self.book.entering():
                (number,) = enter_in(self.book, JOB, [event], self.order, {})
        except InputError:
            assert before == self.stands()
            return False
        kind = "good" if event.kind == "conceded" else event.kind
        self.account[number] = Counter({(event.part, kind): event.pieces})
        if event.kind == "rejected" and event.place == "good":
            self.account[number][event.part, "good"] = -event.pieces
        return True

    def stands(self) -> Any:
        return tally(self.book, JOB, self.order, self.guess), self.book.rows("SELECT count(*) FROM event")[0][0]

    @rule(data=st.data(), pieces=st.integers(1, 6))
    def by_number(self, data: Any, pieces: int) -> None:
        one = data.draw(st.sampled_from(self.order))
        kinds = ["cut", "good", "conceded", "rejected", "rejected", *["drilled"] * one.drilled, *["bent"] * 3]
        kind = data.draw(st.sampled_from(kinds))
        place = ""
        if kind == "bent":
            place = data.draw(st.sampled_from([*one.bends, "b9"]))
        elif kind == "rejected":
            place = data.draw(st.sampled_from(["", "cut", "good", *one.stations]))
        now = self.counts(one.part)
        entered = self.enter(Event(kind, one.part, pieces, place, why="lost" if kind == "rejected" else ""))
        room = {"cut": 99, "good": now.in_work, "conceded": now.in_work, "rejected": now.in_work}
        if kind == "rejected" and place == "good":
            assert entered == (pieces <= now.good)
        elif kind in room:
            assert entered == (pieces <= room[kind])
        else:
            assert entered == (pieces <= dict(now.waiting).get(place or "drilled", 0))

    @precondition(lambda self: any(packet.nests for packet in self.packets))
    @rule(data=st.data())
    def by_sheet(self, data: Any) -> None:
        packet = data.draw(st.sampled_from([p for p in self.packets if p.nests]))
        number = data.draw(st.integers(1, len(packet.nests)))
        before = {one.part: one.cut for one in tally(self.book, JOB, self.order, self.guess)}
        known = {(one.packet, one.number): one.done for one in begun_sheets(self.book, JOB, everything=True)}
        done, last = known.get((packet.digest, number), 0), last_cut(nest_of(packet.nests[number - 1]))
        if done == last:
            with pytest.raises(InputError), self.book.entering():
                cut_sheet(self.book, packet, number)
            return
        upto = data.draw(st.integers(done + 1, last))
        with self.book.entering():
            keep_order(self.book, JOB, self.order, {})
            made = cut_sheet(self.book, packet, number, upto)
        after = {one.part: one.cut for one in tally(self.book, JOB, self.order, self.guess)}
        new = Counter({(part, "cut"): after[part] - before[part] for part in after})
        # what was entered by number before may be these very blanks: none of them counts twice, none is lost
        assert all(0 <= new[part, "cut"] <= made.blanks.get(part, 0) for part in after)
        self.account[made.entry] = new

    @rule(data=st.data(), verdict=st.sampled_from(("accepted", "rejected", "conceded")))
    def measured_piece(self, data: Any, verdict: Any) -> None:
        one = data.draw(st.sampled_from(self.order))
        now = self.counts(one.part)
        self.measured += 1
        record_pieces(self.path, [Measured(JOB, one.part, "A", self.measured, (), verdict, note="by letter")])
        kind = "rejected" if verdict == "rejected" else "good"
        more = max(0, self.counts(one.part).cut - now.cut)
        self.pieces.append(Counter({(one.part, kind): 1, (one.part, "cut"): more}))
        assert more == (0 if now.in_work else 1)

    @precondition(lambda self: self.account)
    @rule(data=st.data())
    def take_back(self, data: Any) -> None:
        number = data.draw(st.sampled_from(sorted(self.account)))
        before = self.stands()
        self.book.close()
        try:
            undo(self.path, number, "was a slip")
            del self.account[number]
        except FlatgenError:
            pass
        self.book = open_book(self.path)
        if number in self.account:
            assert before == self.stands()

    @rule(data=st.data(), wanted=st.integers(0, 12), revision=st.booleans())
    def change(self, data: Any, wanted: int, revision: bool) -> None:
        k = data.draw(st.integers(0, len(self.order) - 1))
        one = replace(self.order[k], wanted=wanted)
        if revision:
            w, h = self.sizes[one.part]
            self.sizes[one.part] = (max(20.0, w - 1.0), h)
            one = replace(one, figures=self.figures(one.part, "B"))
        self.order[k] = one

    @rule(data=st.data())
    def killed(self, data: Any) -> None:
        """An entry that is broken off before it was acknowledged is not there."""
        one = data.draw(st.sampled_from(self.order))
        before = self.stands()
        with pytest.raises(KeyboardInterrupt), self.book.entering():
            enter_in(self.book, JOB, [Event("cut", one.part, 2)], self.order, {})
            raise KeyboardInterrupt
        assert before == self.stands()

    @invariant()
    def pieces_add_up(self) -> None:
        if not hasattr(self, "book"):
            return
        total: Counter[Any] = Counter()
        for change in (*self.account.values(), *self.pieces):
            total.update(change)
        for one in tally(self.book, JOB, self.order, self.guess):
            assert one.cut == one.good + one.rejected + one.in_work
            assert one.to_cut == max(0, one.wanted + one.spares - one.good - one.in_work)
            assert all(0 <= n <= one.in_work for _, n in one.waiting)
            assert (one.cut, one.good, one.rejected) == tuple(total[one.part, k] for k in ("cut", "good", "rejected"))
        assert sum(e.pieces for e in sums(self.book, JOB) if e.kind == "cut") == sum(
            n for (_, kind), n in total.items() if kind == "cut"
        )

    @invariant()
    def metal_adds_up(self) -> None:
        if not hasattr(self, "book"):
            return
        gone = {row["mark"]: row["n"] for row in self.book.rows(
            "SELECT mark, sum(change) AS n FROM stock_entry e JOIN sheet s ON s.id = e.sheet GROUP BY mark"
        )}  # fmt: skip
        cut = events(self.book, JOB, "cuts")
        for sheet in begun_sheets(self.book, JOB, everything=True):
            now = sheet.state
            assert 0 == gone[sheet.mark]
            off = [Polygon(flatten(moved(sheet.outlines[p.part], p.motion), 0.01)) for p in now.off]
            rects = [(o.x, o.y, o.width, o.height) for o in now.offcuts] + [*now.scrap]
            rests = []
            for rest in now.rests:
                holes = unary_union([box(a, b, a + c, b + d) for a, b, c, d in rest.gone])
                x, y, w, h = rest.rect
                rests.append(box(x, y, x + w, y + h).difference(holes))
            metal = [*off, *(box(x, y, x + w, y + h) for x, y, w, h in rects), *rests]
            whole = unary_union(metal)
            assert math.isclose(whole.area, math.fsum(m.area for m in metal), rel_tol=1e-6)
            if self.tool.method == "shear":
                assert math.isclose(whole.area, 500.0 * 320.0, rel_tol=1e-6)
            own = [e.facts["remnants"] for e in cut if e.sheet == sheet.mark]
            marks = [mark for one in own for mark in one.values()]
            assert len(marks) == len(now.offcuts) and all(gone[mark] == 1 for mark in marks)


def live(runs: int, steps: int) -> None:
    own = settings(max_examples=runs, stateful_step_count=steps, suppress_health_check=list(HealthCheck))
    run_state_machine_as_test(LifeOfAJob, settings=own)


RUNS = 10


def test_every_piece_and_all_metal_add_up() -> None:
    live(RUNS, 50)


@pytest.mark.deep
def test_every_piece_and_all_metal_add_up_in_500_lives() -> None:
    live(500, 60)
