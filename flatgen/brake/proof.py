"""Orders of bends that hold when each stroke is followed in fine steps with the metal as it really is by then.

Every bend lies where its stop puts it, made bends have their radius after release, and the one on the leaf takes the
metal that it takes while it stands over-bent.
"""

from dataclasses import replace

from flatgen.brake.bench import Bench, Refusal
from flatgen.brake.carry import exact_stops
from flatgen.brake.order import EQUAL, KEEP, Order, Step, searched
from flatgen.model.part import Part


def best_orders(bench: Bench, part: Part) -> tuple[Order, ...]:
    """The best orders, best first and equal in all but which stops they use; empty when the part cannot be made."""
    while True:
        best: list[Order] = []
        failed: list[tuple[Step, Refusal]] = []
        for some in searched(bench, part):
            if best and (some.cost[:EQUAL] != best[0].cost[:EQUAL] or len(best) == KEEP):
                break
            order = _proved(bench, some, failed)
            if order is not None:
                best.append(order)
        if best or not failed:
            return tuple(best)
        for step, why in failed:
            bench.refuse(step.made, step.fold, why)


def _proved(bench: Bench, order: Order, failed: list[tuple[Step, Refusal]]) -> Order | None:
    """The order with its exact stops; None when a stroke fails, which is entered."""
    steps = []
    for step, real in exact_stops(bench, order.steps):
        trial = bench.prove(step.trial, real)
        if isinstance(trial, Refusal):
            failed.append((step, trial))
            return None
        steps.append(replace(step, trial=trial))
    return Order(tuple(steps), order.cost)
