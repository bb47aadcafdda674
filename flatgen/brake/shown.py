"""Some parts' share of a whole job's brake plan: the same settings with the same numbers, the others left out."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace

from flatgen.model.plan import BrakePlan, Setup

CHANGES = ("nose", "set-back", "leaf", "stop")


def only(
    plan: BrakePlan, parts: Collection[str], left: Callable[[str, str], tuple[int, int]] | None = None
) -> BrakePlan:
    """The plan with only the settings and bends of these parts; counts stay those of the whole job.

    What a setting changes is told against the last setting that is still there, so it takes in all that was changed in
    between; the coupon of a combination moves to its first setting that is still there.

    left : pieces of a part that a bend is still to be made on, and those that have it; bends that all have are left out
    """
    return replace(
        plan,
        setups=tuple(_kept(plan.setups, parts, left)),
        findings=tuple(finding for finding in plan.findings if finding.part in parts),
        order=tuple(one for one in plan.order if one[0] in parts),
        not_made=tuple(part for part in plan.not_made if part in parts),
        refused=tuple(one for one in plan.refused if one.part in parts),
    )


def _kept(
    setups: tuple[Setup, ...], parts: Collection[str], left: Callable[[str, str], tuple[int, int]] | None
) -> Iterator[Setup]:
    changed: set[str] = set(CHANGES)
    untold: set[tuple[object, ...]] = set()
    for setup in setups:
        changed.update(setup.changes)
        combination = (setup.material, setup.nominal, setup.bar, setup.wrap)
        if setup.coupon_first:
            untold.add(combination)
        operations = tuple(op for op in setup.operations if op.part in parts)
        if left:
            known = [(op, *left(op.part, op.bend)) for op in operations]
            counted = (replace(op, pieces=pieces, done=done) for op, pieces, done in known)
            operations = tuple(op for op in counted if op.pieces)
        if not operations:
            continue
        yield replace(
            setup,
            operations=operations,
            changes=tuple(name for name in CHANGES if name in changed),
            coupon_first=combination in untold,
            pieces=sum({(op.part, op.step): op.pieces for op in operations}.values()),
        )
        changed.clear()
        untold.discard(combination)
