"""Where the stop goes and how far the nose stands back: one function an equation, rederived here.

Side view of a leaf brake: x forward (toward the operator), z up, the bed's top is z = 0 and its front edge x = 0. The
sheet lies on the bed, 0 <= z <= T. The nose's tip stands at x = -s; its arc of radius R has its centre at
C = (-(s + R), T + R), so that the clamped flat ends straight below C: the clamped bend tangent line is at
x = -(s + R), and the tip hangs over the sheet one R in front of it (the sight line).

The hinge lies ``hinge_forward`` in front of the bed's edge and ``hinge_up`` above the bed's top; 0, 0 is the usual
brake. Lengths mm, angles deg. Source of the geometry: derived here, no publication needed; that the set-back is one
thickness for a square bend is common practice, no source.
"""

import math


def flush_setback(
    leaf_angle: float, radius: float, thickness: float, hinge_forward: float = 0.0, hinge_up: float = 0.0
) -> float:
    """Set-back of the nose tip behind the bed's edge that lays the flange flat on the leaf at the leaf's angle [mm].

    Notes
    -----
    With the leaf down its face is the plane z = 0. Turned by A about the hinge (a, h), the face's unit normal on the
    sheet's side is n = (-sin A, cos A) and the face lies at -h along n from the hinge. The wrapped sheet's outer line
    stays R + T from C. Flush means that C is R + T from the face::

        (C - hinge)·n + h = (s + R + a)·sin A + (T + R - h)·cos A + h = R + T
        s = (R + T - h)·(1 - cos A)/sin A - R - a = (R + T - h)·tan(A/2) - R - a

    At 90 deg without hinge offset s = T. For open bends it may come out negative: the tip then stands in front of the
    bed's edge, still above the sheet. Before the leaf arrives the face is farther off than R + T, never nearer, since
    the distance is concave in A and equal at both ends: the sheet is not squeezed on the way.

    Examples
    --------
    >>> flush_setback(90, radius=3.175, thickness=0.8128)
    0.8128
    """
    half = math.radians(leaf_angle) / 2.0
    return (radius + thickness - hinge_up) * math.tan(half) - radius - hinge_forward


def squeeze(
    setback: float,
    leaf_angle: float,
    radius: float,
    thickness: float,
    hinge_forward: float = 0.0,
    hinge_up: float = 0.0,
) -> float:
    """By how much the leaf would press the sheet thinner at its end angle; negative: the gap that is left [mm].

    R + T less the distance of C from the leaf's face, see ``flush_setback``. With s = T and no hinge offset this is
    (R + T)·(1 - sin A - cos A), nought at 90 deg.
    """
    a = math.radians(leaf_angle)
    distance = (setback + radius + hinge_forward) * math.sin(a) + (thickness + radius - hinge_up) * math.cos(a)
    return radius + thickness - distance - hinge_up


def back_stop_from_bed(behind: float, nose_radius: float, setback: float) -> float:
    """Bed's edge to back stop [mm], for metal that reaches this far behind the clamped tangent line.

    The tip hangs R in front of that line and ``setback`` behind the bed's edge::

        D_nose = behind + R            D_bed = D_nose + s

    At 90 deg, s = T and no spring-back D_bed is the outside size of the clamped leg, whatever the radius.

    Examples
    --------
    >>> back_stop_from_bed(1.0 - 0.19625, 0.15625, 0.040)
    1.0
    """
    return behind + nose_radius + setback


def front_stop_from_bed(ahead: float, arc: float, nose_radius: float, setback: float) -> float:
    """Bed's edge to the front stop on the leaf, while the sheet is flat [mm].

    From the clamped tangent line at x = -(s + R) the flat metal runs through what the arc will take while the leaf
    stands over-bent, and through the flat beyond, to the edge that touches the stop::

        D_front = ahead + arc - (R + s)

    The stop is taken away once the sheet is clamped, since the free edge slides outward as the leaf rises.

    Examples
    --------
    Inches, a .750 leg of .040 on a 5/32 nose, leaf 94.4: flat .545, arc .2866, set-back .056.

    >>> front_stop_from_bed(0.545, 0.2866, 0.15625, 0.056)
    0.6194
    """
    return ahead + arc - (nose_radius + setback)


def with_wrap(radius: float, setback: float, wraps: tuple[float, ...]) -> tuple[float, float]:
    """Bare nose's radius and set-back for a radius and set-back reckoned over its wraps [mm].

    Each wrap of thickness w lies between nose and sheet all round: it adds w to the radius and moves the tip forward
    by w, so the bare tip must stand the whole stack farther back.
    """
    stack = math.fsum(wraps)
    return radius - stack, setback + stack
