"""What is left of a part follows from its events alone, whatever their order."""

from flatgen.model.tally import Counts, Event, Ordered
from flatgen.tally.counts import faults, implied, left, placed, reject_rate

TRAY = Ordered("TF-102", 12, ("b1", "b2"), drilled=True)


def counted(*events: Event, rate: float = 0.0, order: Ordered = TRAY) -> Counts:
    return left([order], events, rate)[0]


def test_the_tally_of_the_bench() -> None:
    """12 wanted, 13 cut and drilled, all through b1 where one cracked, 9 through b2, 8 of them good."""
    entered = [Event("cut", "TF-102", 13), Event("drilled", "TF-102", 13), Event("bent", "TF-102", 13, "b1")]
    cracked = placed(Event("rejected", "TF-102", 1, "b1", why="cracked"), TRAY, counted(*entered))
    found = counted(*entered, cracked, Event("bent", "TF-102", 9, "b2"), Event("good", "TF-102", 8), rate=0.02)
    assert (13, 8, 1, 4, 0, 0) == (
        found.cut,
        found.good,
        found.rejected,
        found.in_work,
        found.spares,
        found.to_cut,
    )
    assert (("drilled", 0), ("b1", 0), ("b2", 3)) == found.waiting
    assert 1 == found.ready


def test_a_good_piece_has_been_bent() -> None:
    now = counted(Event("cut", "TF-102", 5), Event("bent", "TF-102", 2, "b1"))
    more = implied(Event("good", "TF-102", 3), TRAY, now)
    assert [("drilled", "", 3), ("bent", "b1", 1), ("bent", "b2", 3)] == [(e.kind, e.place, e.pieces) for e in more]


def test_what_cannot_have_happened_is_refused() -> None:
    now = counted(Event("cut", "TF-102", 3), Event("bent", "TF-102", 3, "b1"))
    assert "0 of 3 cut wait for b1" in faults(Event("bent", "TF-102", 1, "b1"), TRAY, now)
    assert 'no bend "b3"; it has b1, b2' in faults(Event("bent", "TF-102", 1, "b3"), TRAY, now)
    assert 'drilled has no place ("b2")' in faults(Event("drilled", "TF-102", 1, "b2"), TRAY, now)
    assert 'cut has no place ("b1")' in faults(Event("cut", "TF-102", 1, "b1"), TRAY, now)
    assert "3 are in work" in faults(Event("good", "TF-102", 4), TRAY, now)
    assert "" == faults(Event("good", "TF-102", 3), TRAY, now)


def test_a_fault_seen_late_leaves_no_piece_that_was_never_bent() -> None:
    now = counted(Event("cut", "TF-102", 2), Event("bent", "TF-102", 2, "b1"))
    late = placed(Event("rejected", "TF-102", 1, why="miscut"), TRAY, now)
    assert ("cut", ("cut", "b1")) == (late.place, late.passed)
    assert (("drilled", 1), ("b1", 0), ("b2", 1)) == counted(
        Event("cut", "TF-102", 2), Event("bent", "TF-102", 2, "b1"), late
    ).waiting


def test_parts_that_left_the_job_are_still_told_of() -> None:
    found = left([TRAY], [Event("cut", "TF-109", 4)], 0.0)
    assert [("TF-102", 12, 0), ("TF-109", 0, 4)] == [(one.part, one.wanted, one.in_work) for one in found]


def test_spares_come_from_the_rate_and_go_with_what_is_rejected() -> None:
    """Binomial, 95 % sure: 12 good wanted at 5 % spoiled are 14 blanks."""
    assert 2 == counted(rate=0.05).spares
    assert 0 == counted(Event("cut", "TF-102", 14), Event("rejected", "TF-102", 2, "cut", ("cut",)), rate=0.05).to_cut
    rate, own = reject_rate(48, 5, 0.02)
    assert own and abs(rate - 5.5 / 54.0) < 1e-12
    assert (0.02, False) == reject_rate(20, 2, 0.02)
