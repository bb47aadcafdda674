"""Which settings made the legs and angles of a piece what they are: all sizes solved together, once for each piece.

A size answers to settings: the stop that sets it, the stops of the legs beside it, the leaf, and what the blank and the
deduction leave, which formed legs cannot tell apart ("blank") and a blank measured before bending does ("cut",
"deduction"). ``causes`` finds by least squares how far each setting is off, so
that one fault is not counted in two places. Lengths mm, angles deg.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

CauseKind = Literal["back stop", "front stop", "sight line", "leaf", "blank", "cut", "deduction"]
LENGTH_SPREAD, ANGLE_SPREAD = 0.1, 0.3  # of a measured size about what its settings give; common practice [mm, deg]
FIRST_GUESS = 20.0  # so far off a setting may be before anything is measured: as good as anything [mm, deg]
TOLD = 1.0  # a setting is told of where measuring leaves it known to this [mm, deg]


@dataclass(frozen=True, slots=True, order=True)
class Cause:
    """A setting that may be off: a stop or leaf by the number of its set-up, what a blank leaves by its part.

    of : for a cut, the bends that it is measured across
    """

    kind: CauseKind
    name: str
    of: tuple[str, ...] = ()


Answers = Mapping[Cause, float]  # by how much a size moves when a setting is one mm or deg more


def causes(sizes: Sequence[tuple[Answers, float, bool]]) -> dict[Cause, float]:
    """How far each setting is off, from the deviations of one piece; settings that they do not tell of are left out.

    sizes : what a size answers to, its deviation, whether it is an angle

    Notes
    -----
    Least squares with the spread of each size and a wide first guess that a setting is right:
    x = (A'WA + P)^-1 A'Wd. Where two settings do the same to all that was measured, neither is told.
    """
    names = sorted({name for answers, _, _ in sizes for name in answers})
    order = range(len(names))
    normal = [[0.0] * len(names) for _ in order]
    right = [0.0] * len(names)
    for answers, off, angle in sizes:
        weight = 1.0 / (ANGLE_SPREAD if angle else LENGTH_SPREAD) ** 2
        row = [answers.get(name, 0.0) for name in names]
        for i in order:
            right[i] += weight * row[i] * off
            for j in order:
                normal[i][j] += weight * row[i] * row[j]
    for i in order:
        normal[i][i] += 1.0 / FIRST_GUESS**2
    spread = inverse(normal)
    return {names[i]: math.fsum(spread[i][j] * right[j] for j in order) for i in order if spread[i][i] < TOLD**2}


def inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    """Inverse of a positive definite matrix, by elimination."""
    n = len(matrix)
    rows = [[*row, *(float(i == k) for k in range(n))] for i, row in enumerate(matrix)]
    for i in range(n):
        best = max(range(i, n), key=lambda k: abs(rows[k][i]))
        rows[i], rows[best] = rows[best], rows[i]
        rows[i] = [value / rows[i][i] for value in rows[i]]
        for k in range(n):
            if k != i and rows[k][i]:
                rows[k] = [a - rows[k][i] * b for a, b in zip(rows[k], rows[i], strict=True)]
    return [row[n:] for row in rows]


def after_change(answers: Answers, off: float, cause: Cause, by: float) -> float:
    """What a size's deviation comes to when a setting is changed by so much."""
    return off + answers.get(cause, 0.0) * by
