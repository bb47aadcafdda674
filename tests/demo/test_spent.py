"""Minutes of settings, sheets and parts: by hand for a small case, and their totals over a whole job."""

import math
from dataclasses import replace

import pytest

from flatgen.jobs.loading import load
from flatgen.jobs.make import compute
from flatgen.model.finding import Finding, Severity
from flatgen.model.spent import time_spent, to_bend, to_cut, to_set
from flatgen.write.results_json import as_dict


@pytest.fixture(scope="module")
def results(root):
    return compute(load(root / "examples/first-clips/job.toml"))


def test_a_setting_takes_what_is_changed_and_its_bends(results) -> None:
    minutes = replace(results.job.shop.minutes, nose=15.0, setback=12.0, leaf=4.0, stop=1.5, bend=0.5)
    first, second = results.setups[:2]
    assert (15.0 + 12.0 + 4.0 + 1.5, 1.5) == (to_set(first, minutes), to_set(second, minutes))
    pieces = sum({(op.part, op.step): op.pieces for op in second.operations}.values())
    assert 0.5 * pieces == to_bend(second, minutes)
    beside = replace(second, operations=tuple(replace(op, abreast=7) for op in second.operations))
    strokes = {(op.part, op.step): math.ceil(op.pieces / 7) for op in second.operations}
    assert to_bend(beside, minutes) == pytest.approx(sum(strokes.values()) * minutes.bend_long + 0.2 * pieces)


def test_a_sheet_takes_its_gauges_and_cuts(results) -> None:
    nest = results.nests[0].nests[0]
    gauges = [round(cut.gauge, 3) for cut in nest.cuts]
    changes = 1 + sum(a != b for a, b in zip(gauges, gauges[1:], strict=False))
    assert 3.0 * changes + 0.2 * len(gauges) == pytest.approx(to_cut(nest, {}, results.job.shop.minutes))


def test_what_is_stopped_takes_no_minutes_nor_what_is_sawn_from_it(results) -> None:
    first, second, third = [made for made in results.parts if made.part.kind == "part"][:3]
    no = Finding("r", Severity.FORBID, first.part.id, "", None, None, "no", "")
    sawn = replace(second, part=replace(second.part, cut_from=first.part.id))
    some = replace(results, parts=(replace(first, findings=(no,)), sawn, third), nests=(), plan=None)
    alone = replace(some, parts=(third,))
    assert dict(time_spent(alone)) == dict(time_spent(some))


def test_a_sheet_cut_along_outlines_takes_its_edges(results) -> None:
    """A 2 by 1 in blank with an opening 1 in round: 10 min for the sheet and 6 + 3.14 in at a tenth of a minute."""
    made, nest = results.parts[0], results.nests[0].nests[0]
    square = tuple((25.4 * x, 25.4 * y, 0.0) for x, y in ((0, 0), (2, 0), (2, 1), (0, 1)))
    blank = replace(made.blank, outline=square, cutouts=(((12.7, 0.0, 1.0), (-12.7, 0.0, 1.0)),))
    one = replace(nest, cuts=(), placements=(replace(nest.placements[0], part="P"),))
    assert 10.0 + 0.1 * (6.0 + math.pi) == pytest.approx(to_cut(one, {"P": blank}, results.job.shop.minutes))


def test_totals_are_the_sums_of_what_is_shown(results) -> None:
    shown = as_dict(results)
    told = dict(time_spent(results))
    assert told == pytest.approx(shown["totals"]["minutes"])
    for key, what in (("set", "set the brake"), ("bend", "bend")):
        assert told[what] == pytest.approx(math.fsum(setup["minutes"][key] for setup in shown["setups"]))
    assert told["test strips"] == 8.0 * sum(p["pieces"] for p in shown["parts"] if p["kind"] == "coupon")
