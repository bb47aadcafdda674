"""A brake brought square: from legs and angles of test strips at its left, middle and right, what to move and how far.

Three narrow strips in one clamping show the geometry, one strip as long as the bar the bow under load, a gauge strip
the set-back at both ends. All readings of all rounds are explained together; each correction also tells how strongly
this brake answers, so the next one is better. Lengths mm, angles deg; places run from left (0) to right (1).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy

    State = Sequence[float] | numpy.ndarray[Any, Any]

GAUGE, CALIPER, PROTRACTOR = 0.05, 0.04, 0.2  # spread of one reading [mm, mm, deg]; common practice, no source
LEG_ALLOWED, ANGLE_ALLOWED = 0.15, 0.5  # where nothing more is moved [mm, deg]
SURE = 0.8  # of what is allowed that a likeliest value may take, since readings scatter; by simulation
LEAST_MOVE, LEAST_SHIM, LEAST_TWIST = 0.03, 0.03, 0.05  # smaller ones cannot be set by hand [mm, mm, deg]
LEAST_STOP, LEAST_LEAF = LEG_ALLOWED / 3.0, ANGLE_ALLOWED / 3.0  # the first piece of a setting tells these [mm, deg]
UNSTEADY = 3.0  # spreads that readings are off what any setting of the brake explains: it does not repeat
FACTOR = 0.6  # spread of the logarithm of a sensitivity: a third to three times is within two of it


@dataclass(frozen=True, slots=True)
class Strips:
    """Readings less what was wanted, at left, middle and right: legs [mm] and angles [deg]."""

    legs: tuple[float, float, float]
    angles: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Moves:
    """What was moved, or is to be: both ends' set-back (plus: back), shim under the middle, leaf, stop, leaf's stop.

    twist : right end of the leaf raised against the left, as an angle [deg]
    stop : back stop, both ends [mm]; leaf : farther [deg]
    """

    left: float = 0.0
    right: float = 0.0
    shim: float = 0.0
    twist: float = 0.0
    stop: float = 0.0
    leaf: float = 0.0

    def __add__(self, other: "Moves") -> "Moves":
        """Both, one after the other."""
        return Moves(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))


@dataclass(frozen=True, slots=True)
class Round:
    """One round at the brake. ``moved`` : since the first round, before these readings.

    gauge : set-back less what it should be, at left and right, by the gauge strip [mm]; None: not looked at
    narrow, long : None where none were bent
    """

    moved: Moves
    gauge: tuple[float, float] | None = None
    narrow: Strips | None = None
    long: Strips | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """How strongly a brake answers, by the model: leg and angle for a mm of set-back, angle for a degree of leaf."""

    leg: float
    angle: float
    leaf: float


@dataclass(frozen=True, slots=True)
class Found:
    """What the rounds tell of a brake as it stands now.

    left, right : set-back beyond what it should be; ``bow``, ``loaded`` : of the middle, and what load adds [mm]
    twist : of the leaf, right end against left [deg]; ``legs``, ``angles`` : what a strip as long as the bar would show
    short : leg [mm] and angle [deg] of a short strip in the middle less the long one's there, which the load bows
    factors : this brake's answers against the model's: leg, angle, shim, twist, set-back
    misfit : root mean square of what stays unexplained, in spreads of a reading
    moves : what is to be moved, and no more than is told: nothing where it is square or does not repeat
    """

    left: float
    right: float
    bow: float
    loaded: float
    twist: float
    legs: tuple[float, float, float]
    angles: tuple[float, float, float]
    short: tuple[float, float]
    factors: tuple[float, ...]
    misfit: float
    moves: Moves

    @property
    def square(self) -> bool:
        """Whether a strip as long as the bar has legs and angles within what is allowed at all three places."""
        return all(abs(leg) <= SURE * LEG_ALLOWED for leg in self.legs) and all(
            abs(angle) <= SURE * ANGLE_ALLOWED for angle in self.angles
        )


def answer(leaf_angle: float, flange: float, ratio: float) -> Answer:
    """What a set-back beyond flush does, from the model of the bend being made.

    Parameters
    ----------
    leaf_angle : that the strips are bent to [deg]
    flange : flat that lies on the leaf [mm]
    ratio : angle after release over the leaf's

    Notes
    -----
    Flush is s = (R + T)·tan(A/2) - R: the nose's centre C is then R + T from the leaf's face (``brake.stop``). With the
    nose e farther back C is (s + e + R)·sin A + (T + R)·cos A from it, e·sin A more. What happens then lies between two
    ends. Either the bend opens its radius until the flange lies on the leaf again: leg and angle stay. Or it keeps its
    radius and the flange touches with its free edge only: it leans open by e·sin A over its flat, and the clamped leg,
    gauged from a stop on the bed, is e shorter. Half of the second is taken; a brake's own answers correct it::

        leg = -e/2      angle = -(e·sin A/flat)/2·ratio, in radians

    Trade figures: a flange leans open by up to e/L (derived), .010 in turns .5 to 1 deg (from memory).

    Examples
    --------
    >>> found = answer(94.0, 12.7, 0.957)
    >>> found.leg, round(found.angle, 2)
    (-0.5, -2.15)
    """
    lean = math.degrees(math.sin(math.radians(leaf_angle)) / flange)
    return Answer(-0.5, -0.5 * lean * ratio, ratio)


# what is not known: set-back left and right, bow, bow under load, twist, leg and angle of all, five logarithms
PRIOR = (0.8, 0.8, 0.4, 0.4, 0.25, 0.5, 3.0, FACTOR, FACTOR, FACTOR, FACTOR, FACTOR)


def found(rounds: Sequence[Round], by: Answer) -> Found:
    """The likeliest state of the brake after all rounds, and the moves that would make it square.

    The squares of what readings and common sense (``PRIOR``) are off are made least, by Gauss and Newton's steps.
    """
    import numpy as np

    state = np.zeros(len(PRIOR))
    weight = 1.0 / np.array(PRIOR)
    damping = 1e-3
    off = _residuals(state, rounds, by)
    cost = float(off @ off + (state * weight) @ (state * weight))
    for _ in range(60):
        slope = np.array([(_residuals(state + step, rounds, by) - off) / 1e-5 for step in 1e-5 * np.eye(len(state))]).T
        matrix = slope.T @ slope + np.diag(weight**2)
        step = np.linalg.solve(matrix + damping * np.diag(np.diag(matrix)), -(slope.T @ off + weight**2 * state))
        tried = state + step
        new = _residuals(tried, rounds, by)
        cost_new = float(new @ new + (tried * weight) @ (tried * weight))
        if cost_new < cost:
            done = cost - cost_new < 1e-9
            state, off, cost, damping = tried, new, cost_new, damping / 5.0
            if done:
                break
        else:
            damping *= 5.0
            if damping > 1e8:
                break
    misfit = math.sqrt(float(off @ off) / max(1, len(off)))
    return _told([float(x) for x in state], rounds[-1].moved, by, misfit)


def _residuals(state: "State", rounds: Sequence[Round], by: Answer) -> "numpy.ndarray[Any, Any]":
    """What each reading is off what the state explains, in spreads of a reading."""
    import numpy as np

    values = []
    for one in rounds:
        left, right = _ends(state, one.moved)
        if one.gauge is not None:
            values += [(one.gauge[0] - left) / GAUGE, (one.gauge[1] - right) / GAUGE]
        for strips, loaded in ((one.narrow, False), (one.long, True)):
            if strips is not None:
                legs, angles = _shown(state, one.moved, by, loaded=loaded)
                values += [(a - b) / CALIPER for a, b in zip(strips.legs, legs, strict=True)]
                values += [(a - b) / PROTRACTOR for a, b in zip(strips.angles, angles, strict=True)]
    return np.array(values)


def _ends(state: "State", moved: Moves) -> tuple[float, float]:
    own = math.exp(state[11])
    return state[0] + own * moved.left, state[1] + own * moved.right


def _shown(state: "State", moved: Moves, by: Answer, *, loaded: bool) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Legs and angles that strips show."""
    left, right = _ends(state, moved)
    middle = (left + right) / 2.0 + state[2] - math.exp(state[9]) * moved.shim + (state[3] if loaded else 0.0)
    back = (left, middle, right)
    turned = state[4] + math.exp(state[10]) * moved.twist
    legs = tuple(state[5] + moved.stop + by.leg * math.exp(state[7]) * e for e in back)
    angle = by.angle * math.exp(state[8])
    angles = tuple(
        state[6] + by.leaf * moved.leaf + angle * e + turned * (y - 0.5)
        for e, y in zip(back, (0.0, 0.5, 1.0), strict=True)
    )
    return legs, angles


def _told(state: Sequence[float], moved: Moves, by: Answer, misfit: float) -> Found:
    left, right = _ends(state, moved)
    legs, angles = _shown(state, moved, by, loaded=True)
    leg, angle = (one[1] for one in _shown(state, moved, by, loaded=False))
    factors = tuple(math.exp(x) for x in state[7:12])
    bow = state[2] - factors[2] * moved.shim
    twist = state[4] + factors[3] * moved.twist
    all_moves = Moves(
        left=_worth(-left / factors[4], LEAST_MOVE),
        right=_worth(-right / factors[4], LEAST_MOVE),
        shim=_worth((bow + state[3]) / factors[2], LEAST_SHIM),
        twist=_worth(-twist / factors[3], LEAST_TWIST),
        stop=_worth(-(state[5] + moved.stop), LEAST_STOP),
        leaf=_worth(-(state[6] + by.leaf * moved.leaf) / by.leaf, LEAST_LEAF),
    )
    short = (leg - legs[1], angle - angles[1])
    told = Found(left, right, bow, state[3], twist, _three(legs), _three(angles), short, factors, misfit, all_moves)
    return replace(told, moves=Moves()) if told.square or misfit > UNSTEADY else told


def _three(values: Sequence[float]) -> tuple[float, float, float]:
    return (values[0], values[1], values[2])


def _worth(move: float, least: float) -> float:
    return move if abs(move) >= least else 0.0
