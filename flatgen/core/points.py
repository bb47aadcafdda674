"""Points, plane motions and rigid frames in space. Lengths in mm; angles say their unit.

A motion is (a, b, c, d, e, f): x' = a·x + c·y + e, y' = b·x + d·y + f, with no scaling; its determinant is +1 for a
turn and -1 for a mirror. A frame is three rows of four, the rotation followed by the shift.
"""

import math

Point = tuple[float, float]
Point3 = tuple[float, float, float]
Motion = tuple[float, float, float, float, float, float]
Row = tuple[float, float, float, float]
Frame = tuple[Row, Row, Row]

STILL: Motion = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
FLAT_FRAME: Frame = ((1.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.0, 1.0, 0.0))


def add(p: Point, q: Point) -> Point:
    """Sum of two vectors [mm]."""
    return (p[0] + q[0], p[1] + q[1])


def sub(p: Point, q: Point) -> Point:
    """Vector from q to p [mm]."""
    return (p[0] - q[0], p[1] - q[1])


def scale(p: Point, factor: float) -> Point:
    """Vector times a number."""
    return (p[0] * factor, p[1] * factor)


def along(p: Point, direction: Point, distance: float) -> Point:
    """Point at a distance from p in a unit direction [mm]."""
    return (p[0] + direction[0] * distance, p[1] + direction[1] * distance)


def dot(p: Point, q: Point) -> float:
    """Scalar product [mm²]."""
    return p[0] * q[0] + p[1] * q[1]


def cross(p: Point, q: Point) -> float:
    """Z of the vector product [mm²]; positive when q lies to the left of p."""
    return p[0] * q[1] - p[1] * q[0]


def distance(p: Point, q: Point) -> float:
    """Distance between two points [mm]."""
    return math.hypot(p[0] - q[0], p[1] - q[1])


def unit(p: Point) -> Point:
    """Vector of length one in the direction of p; p must not be zero."""
    length = math.hypot(p[0], p[1])
    return (p[0] / length, p[1] / length)


def left(direction: Point) -> Point:
    """Direction turned a quarter counter-clockwise."""
    return (-direction[1], direction[0])


def right(direction: Point) -> Point:
    """Direction turned a quarter clockwise."""
    return (direction[1], -direction[0])


def line_crossing(p: Point, u: Point, q: Point, v: Point) -> Point | None:
    """Crossing of the line through p along u with the line through q along v; None when parallel."""
    denominator = cross(u, v)
    if abs(denominator) < 1e-12:
        return None
    return along(p, u, cross(sub(q, p), v) / denominator)


def move(motion: Motion, p: Point) -> Point:
    """Carry a point by a motion [mm]."""
    a, b, c, d, e, f = motion
    return (a * p[0] + c * p[1] + e, b * p[0] + d * p[1] + f)


def turn(motion: Motion, v: Point) -> Point:
    """Carry a direction by a motion, leaving out the shift."""
    a, b, c, d, _, _ = motion
    return (a * v[0] + c * v[1], b * v[0] + d * v[1])


def mirrors(motion: Motion) -> bool:
    """Whether the motion turns the plane over."""
    return motion[0] * motion[3] - motion[1] * motion[2] < 0


def after(second: Motion, first: Motion) -> Motion:
    """The motion that does first, then second."""
    a, b, c, d, _, _ = first
    x = turn(second, (a, b))
    y = turn(second, (c, d))
    shift = move(second, (first[4], first[5]))
    return (x[0], x[1], y[0], y[1], shift[0], shift[1])


def inverse(motion: Motion) -> Motion:
    """The motion that undoes this one."""
    a, b, c, d, e, f = motion
    return (a, c, b, d, -(a * e + b * f), -(c * e + d * f))


def shifted(x: float, y: float) -> Motion:
    """Motion that only shifts [mm]."""
    return (1.0, 0.0, 0.0, 1.0, x, y)


def turned(angle: float) -> Motion:
    """Motion that turns about the origin, counter-clockwise positive [deg]; quarters are exact."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    cosine, sine = quarter.get(angle % 360.0, (math.cos(math.radians(angle)), math.sin(math.radians(angle))))
    return (cosine, sine, -sine, cosine, 0.0, 0.0)


MIRROR_X: Motion = (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def laying(rotation: float, mirrored: bool, x: float = 0.0, y: float = 0.0) -> Motion:
    """Mirrored in x where asked, then turned counter-clockwise about the origin [deg], then shifted [mm]."""
    *plane, _, _ = after(turned(rotation), MIRROR_X) if mirrored else turned(rotation)
    return (plane[0], plane[1], plane[2], plane[3], x, y)


def placed(frame: Frame, p: Point3) -> Point3:
    """Carry a point in space by a frame [mm]."""
    x, y, z = (row[0] * p[0] + row[1] * p[1] + row[2] * p[2] + row[3] for row in frame)
    return x, y, z


def frame_after(second: Frame, first: Frame) -> Frame:
    """The rigid motion that does first, then second."""
    rows = []
    for row in second:
        cells = [math.fsum(row[k] * first[k][j] for k in range(3)) for j in range(3)]
        shift = math.fsum(row[k] * first[k][3] for k in range(3)) + row[3]
        rows.append((cells[0], cells[1], cells[2], shift))
    return (rows[0], rows[1], rows[2])


def frame_inverse(frame: Frame) -> Frame:
    """The rigid motion that undoes this one."""
    rows = []
    for j in range(3):
        column = [frame[k][j] for k in range(3)]
        rows.append((column[0], column[1], column[2], -math.fsum(frame[k][j] * frame[k][3] for k in range(3))))
    return (rows[0], rows[1], rows[2])


def frame_about(origin: Point3, axis: Point3, angle: float) -> Frame:
    """Turn about an axis (unit vector) through a point, right-handed [deg]."""
    x, y, z = axis
    cosine, sine = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    rest = 1.0 - cosine
    rows = (
        (cosine + x * x * rest, x * y * rest - z * sine, x * z * rest + y * sine),
        (y * x * rest + z * sine, cosine + y * y * rest, y * z * rest - x * sine),
        (z * x * rest - y * sine, z * y * rest + x * sine, cosine + z * z * rest),
    )
    result = []
    for row, o in zip(rows, origin, strict=True):
        shift = o - math.fsum(c * q for c, q in zip(row, origin, strict=True))
        result.append((row[0], row[1], row[2], shift))
    return (result[0], result[1], result[2])
