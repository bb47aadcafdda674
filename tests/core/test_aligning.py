"""A simulated brake with hidden errors is brought square by the check sheet, followed to the letter."""

import pytest
from hidden_brake import BY, HiddenBrake

from flatgen.core.aligning import UNSTEADY, Moves, Round, Strips, found


def rounds_needed(seed, most=4):
    """Rounds of strips until the brake is square; more than ``most`` where it is not by then."""
    brake, moved = HiddenBrake(seed), Moves()
    rounds = [Round(moved, brake.gauge())]  # direct survey first: nothing is bent for what a gauge strip shows
    for number in range(1, most + 1):
        step = found(rounds, BY).moves
        brake.moved(step)
        moved = moved + step
        if number > 1 and brake.is_square():
            return number - 1
        rounds.append(Round(moved, brake.gauge(), brake.bent(False), brake.bent(True)))
    brake.moved(found(rounds, BY).moves)
    return most if brake.is_square() else most + 1


def test_hidden_brakes_come_square_within_four_rounds() -> None:
    took = [rounds_needed(seed) for seed in range(60)]
    assert sum(count <= 4 for count in took) >= 54


@pytest.mark.deep
def test_five_hundred_hidden_brakes() -> None:
    took = [rounds_needed(seed) for seed in range(1000, 1500)]
    assert sum(count <= 4 for count in took) >= 450


def test_nothing_is_taken_as_moved_that_is_not_told() -> None:
    """A brake that is square though every leg is 0.04 mm long; one that fits no setting of nose, leaf and shims."""
    near = Strips((0.04, 0.04, 0.04), (0.1, 0.1, 0.1))
    square = found([Round(Moves(), (0.0, 0.0), near, near)], BY)
    assert square.square and Moves() == square.moves
    wild = Strips((1.5, -1.5, 1.5), (3.0, -3.0, 1.0)), Strips((-1.5, 1.5, -1.5), (-4.0, 4.0, -2.0))
    worn = found([Round(Moves(), (-0.5, 0.6), *wild)] * 2, BY)
    assert worn.misfit > UNSTEADY and Moves() == worn.moves
