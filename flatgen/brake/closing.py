"""Settings that close hems: after each setting that bends some, one for every opening that is squeezed over a strip.

Lengths mm, angles deg.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from flatgen.model.handling import CLOSED
from flatgen.model.plan import Operation, Setup

SQUEEZED = 180.0


def with_closings(setups: Sequence[Setup]) -> tuple[Setup, ...]:
    """All settings, those that close hems among them, numbered anew."""
    every = [one for setup in setups for one in (setup, *_closings(setup))]
    return tuple(replace(setup, number=number) for number, setup in enumerate(every, 1))


def _closings(setup: Setup) -> Iterator[Setup]:
    """Nothing is set on the brake for them, so its stop, leaf and nose stay for what comes next."""
    gaps = sorted({0.0 if op.gap < CLOSED else round(op.gap, 2) for op in setup.operations if op.gap is not None})
    for gap in gaps:
        same = [op for op in setup.operations if op.gap is not None and abs(op.gap - gap) < CLOSED]
        yield replace(
            setup,
            stop=gap,
            stop_side="squeeze",
            stop_nose=0.0,
            stop_pad=0.0,
            stop_spread=0.0,
            offset=0.0,
            squeeze=0.0,
            overbend_to=SQUEEZED,
            changes=(),
            coupon_first=False,
            operations=tuple(_closed(op) for op in same),
            pieces=sum({(op.part, op.step): op.pieces for op in same}.values()),
        )


def _closed(op: Operation) -> Operation:
    """The same fold, laid in to be squeezed: nothing touches a stop."""
    return replace(
        op,
        angle=SQUEEZED,
        squeezed=True,
        flip=False,
        turn=0.0,
        behind=None,
        ahead=None,
        sight=None,
        leg="",
        leg_size=None,
        picture=None,
        leaves="front",
        clearance=None,
        nearest_tool="",
    )
