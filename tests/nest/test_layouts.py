"""Layouts of whole orders: nothing lost when strips are laid anew, and never worse."""

from hypothesis import given, settings
from hypothesis import strategies as st
from making import few

from flatgen.nest.guillotine.beam_search import Beam
from flatgen.nest.guillotine.column_generation import StripPool, height_of
from flatgen.nest.guillotine.knapsacks import Option, Rules
from flatgen.nest.guillotine.ruin_and_recreate import Budget, layouts_of, relaid


def pool_of(kinds) -> StripPool:
    """Strips along x on a sheet of 200 by 120 and along y of the same sheet, blanks not turned."""
    along = [Option(kind, 0, w, h) for kind, (w, h, _) in enumerate(kinds)]
    across = [Option(kind, 0, h, w) for kind, (w, h, _) in enumerate(kinds)]
    size = {"x": (200.0, 120.0), "y": (120.0, 200.0)}
    return StripPool({"x": along, "y": across}, size, [many for *_, many in kinds], Rules())


def budget(work: float = 3e5) -> Budget:
    return Budget(work, 1, work / 20.0, lambda: None)


orders = st.lists(st.tuples(st.integers(8, 90), st.integers(8, 90), st.integers(1, 12)), min_size=1, max_size=5)


@given(orders)
@settings(max_examples=few(25))
def test_layouts_hold_the_order_on_the_sheets(kinds):
    pool = pool_of(kinds)
    layouts = layouts_of(pool, budget())
    assert layouts
    for layout in layouts:
        have = [0] * len(kinds)
        for along, strips in layout.sheets:
            length, depth = pool.size[along]
            assert height_of(strips) <= depth + 1e-6
            for strip in strips:
                assert strip.block.width <= length + 1e-6
                for kind, many in strip.counts:
                    have[kind] += many
        assert all(a >= b for a, b in zip(have, pool.demand, strict=True))
    assert layouts[0].reach(pool) == min(layout.reach(pool) for layout in layouts)


@given(orders, st.integers(1, 999))
@settings(max_examples=few(25))
def test_strips_laid_anew_never_reach_farther(kinds, turn):
    pool = pool_of(kinds)
    layout = layouts_of(pool, budget(0.0))[-1]
    new = relaid(layout, pool, turn, budget())
    assert new is None or new.reach(pool) <= layout.reach(pool)


def test_more_work_draws_the_last_sheet_in():
    kinds = [(60, 36, 9), (44, 25, 14), (90, 17, 11), (31, 31, 12)]
    pool = pool_of(kinds)
    little, much = (layouts_of(pool, budget(work))[0].reach(pool) for work in (0.0, 3e6))
    assert much < little


def test_no_work_is_left_when_the_time_is_up():
    pool = pool_of([(60, 36, 9), (44, 25, 14)])
    spent = Budget(1e12, 1, 0.0, lambda: 0.0)
    assert layouts_of(pool, spent)
    assert spent.work == 0.0


def test_few_blanks_are_not_searched_for_long(monkeypatch):
    runs = []
    whole = Beam.run
    monkeypatch.setattr(Beam, "run", lambda self, look: runs.append(look) or whole(self, look))
    layouts_of(pool_of([(60, 36, 2), (44, 25, 1)]), Budget(1e6, 1, 1e5, lambda: None))
    assert 5 <= len(runs) <= 12  # a share of 1e5 each, though their few states count for far less
