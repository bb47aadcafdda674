"""A simulated brake with hidden errors is brought square by the check sheet, followed to the letter."""

import pytest
from hidden_brake import BY, HiddenBrake

from flatgen.core.aligning import Moves, Round, found


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
