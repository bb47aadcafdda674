"""Blanks laid out by hand for the brake's tests: a strip of flats whose bends are all parallel, and a tray.

Built from nothing but the allowance 0.01743·R + 0.0078·T a degree (the aviation handbook's form) and mould-line sizes,
so that the brake's tests do not lean on the unfolder.
"""

import math
from dataclasses import dataclass

from flatgen.core.outline import Outline, area, rectangle
from flatgen.core.points import FLAT_FRAME, STILL
from flatgen.model.blank import BendLine, BentRadius, Blank, FlatFace
from flatgen.model.material import Material
from flatgen.model.part import Bend, Face, Part
from flatgen.model.shop import Brake, NoseBar, Shop
from flatgen.model.source import Source

INCH = 25.4
SOURCE = Source("hand", "worked by hand", trust="derived")
ALLOYS = {
    "2024-T3": Material("2024-T3", "2024-T3", "aluminium", 0.00278, 72400, 324, 440, "hard", ()),
    "6061-T6": Material("6061-T6", "6061-T6", "aluminium", 0.0027, 68300, 276, 310, "medium", ()),
    "5052-H32": Material("5052-H32", "5052-H32", "aluminium", 0.00268, 70300, 193, 228, "soft", ()),
}


def allowance(angle: float, radius: float, thickness: float) -> float:
    return (0.01743 * radius + 0.0078 * thickness) * angle


def setback(angle: float, radius: float, thickness: float) -> float:
    """Mould line to tangent line; hems are sized to the tangent line."""
    if angle >= 165:
        return 0.0
    return (radius + thickness) * math.tan(math.radians(angle) / 2)


@dataclass(frozen=True)
class Strip:
    """A strip: outside (mould-line) sizes of its flats in order, and the signed bends between them, up positive."""

    name: str
    sizes: tuple[float, ...]
    bends: tuple[float, ...]
    radius: float
    thickness: float
    length: float
    overbend: float = 1.0  # leaf angle over bend angle
    alloy: str = "6061-T6"
    nose: str = "nose"
    mating: tuple[str, ...] = ()
    quantity: int = 1

    def flats(self) -> list[float]:
        """Mould-line size less the setback at each bent end."""
        out = []
        for k, size in enumerate(self.sizes):
            ends = [abs(self.bends[j]) for j in (k - 1, k) if 0 <= j < len(self.bends)]
            out.append(size - sum(setback(a, self.radius, self.thickness) for a in ends))
        return out

    def blank(self) -> Blank:
        faces, bends, y = [], [], 0.0
        flats = self.flats()
        for k, flat in enumerate(flats):
            faces.append(FlatFace(f"f{k}", rectangle(0, y, self.length, flat), STILL, FLAT_FRAME))
            y += flat
            if k < len(self.bends):
                angle = abs(self.bends[k])
                ba = allowance(angle, self.radius, self.thickness)
                bends.append(self.bend_line(k, y, ba))
                y += ba
        outline = rectangle(0, 0, self.length, y)
        return Blank(
            self.name,
            outline,
            (),
            (),
            tuple(bends),
            tuple(faces),
            self.length,
            y,
            area(outline),
            90.0,
            self.thickness,
            0.0,
            (0.0, 0.0, 0.0),
            (0.0, 0.0, 0.0),
        )

    def bend_line(self, k: int, y: float, ba: float) -> BendLine:
        angle = abs(self.bends[k])
        return line(
            f"b{k}",
            f"f{k}",
            f"f{k + 1}",
            self.bends[k],
            ((0.0, y), (self.length, y)),
            ((0.0, y + ba), (self.length, y + ba)),
            self.radius,
            self.thickness,
            angle * self.overbend,
            self.nose,
        )

    def part(self) -> Part:
        faces = tuple(
            Face(f"f{k}", rectangle(0, 0, self.length, s), ("a", "b", "c", "d")) for k, s in enumerate(self.sizes)
        )
        bends = tuple(
            Bend(f"b{k}", f"f{k}", "c", f"f{k + 1}", "a", angle, self.radius, (0, self.length), (0, self.length))
            for k, angle in enumerate(self.bends)
        )
        return Part(
            self.name,
            self.name,
            "strip",
            "f0",
            faces,
            bends,
            ALLOYS[self.alloy],
            self.thickness,
            self.quantity,
            mating=self.mating,
        )


def line(name, parent, child, angle, near, far, radius, thickness, leaf, nose="nose") -> BendLine:
    ba = allowance(abs(angle), radius, thickness)
    sb = setback(abs(angle), radius, thickness)
    bent = BentRadius(radius, radius, ba, sb, 2 * sb - ba, 0.4475, "handbook", SOURCE, nose)
    outline: Outline = tuple((*p, 0.0) for p in (near[0], near[1], far[1], far[0]))
    (ax, ay), (bx, by) = (((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in zip(near, far, strict=True))
    mid = ((ax, ay), (bx, by))
    return BendLine(
        name,
        parent,
        child,
        abs(angle),
        "up" if angle > 0 else "down",
        bent,
        mid,
        (near, far),
        outline,
        leaf,
        (near, far),
    )


def tf101(**changes) -> Strip:
    """Bulkhead clip: legs 1.000 and 0.750 in, .040 2024-T3, R 5/32."""
    base = {
        "name": "TF-101",
        "sizes": (25.4, 19.05),
        "bends": (90,),
        "radius": 0.15625 * INCH,
        "thickness": 0.04 * INCH,
        "length": 76.2,
        "alloy": "2024-T3",
        "mating": ("f0",),
        "quantity": 24,
    }
    return Strip(**{**base, **changes})


def tf102(**changes) -> Strip:
    """Stiffener channel: web 2.000, flanges .750 in, .032 2024-T3, R 1/8."""
    base = {
        "name": "TF-102",
        "sizes": (19.05, 50.8, 19.05),
        "bends": (90, 90),
        "radius": 3.175,
        "thickness": 0.032 * INCH,
        "length": 304.8,
        "alloy": "2024-T3",
        "mating": ("f1",),
        "quantity": 12,
    }
    return Strip(**{**base, **changes})


def gt201(**changes) -> Strip:
    """Zee bracket: web 1.500, flanges .875 in, .063 6061-T6, R 1/8; up, then down."""
    base = {
        "name": "GT-201",
        "sizes": (22.225, 38.1, 22.225),
        "bends": (90, -90),
        "radius": 3.175,
        "thickness": 0.063 * INCH,
        "length": 101.6,
        "quantity": 16,
    }
    return Strip(**{**base, **changes})


def sk301(**changes) -> Strip:
    """Hat stiffener: brims .675 in from the wall's inner face, walls .750, top 1.250 in outside, .050 6061-T6, R 1/8.

    Mould-line flat of a brim: between the brim's edge and the wall's outer mould plane on the brim's bend: .675.
    Brim up, wall down, wall down, brim up.
    """
    base = {
        "name": "SK-301",
        "sizes": (0.675 * INCH, 19.05, 31.75, 19.05, 0.675 * INCH),
        "bends": (90, -90, -90, 90),
        "radius": 3.175,
        "thickness": 0.05 * INCH,
        "length": 228.6,
        "quantity": 6,
    }
    return Strip(**{**base, **changes})


def tray(width=101.6, depth=63.5, wall=19.05, radius=2.38125, thickness=0.04 * INCH, name="TF-103"):
    """Pump tray: base with four walls up, corners open. Returns the part's blank."""
    ba, sb = allowance(90, radius, thickness), setback(90, radius, thickness)
    w, d, h = width - 2 * sb, depth - 2 * sb, wall - sb
    o = h + ba
    faces = [FlatFace("base", rectangle(o, o, w, d), STILL, FLAT_FRAME)]
    bends = []
    sides = {
        "front": (rectangle(o, 0, w, h), ((o, o), (o + w, o)), ((o, h), (o + w, h))),
        "back": (rectangle(o, o + d + ba, w, h), ((o, o + d), (o + w, o + d)), ((o, o + d + ba), (o + w, o + d + ba))),
        "left": (rectangle(0, o, h, d), ((o, o), (o, o + d)), ((h, o), (h, o + d))),
        "right": (rectangle(o + w + ba, o, h, d), ((o + w, o), (o + w, o + d)), ((o + w + ba, o), (o + w + ba, o + d))),
    }
    for side, (outline, near, far) in sides.items():
        faces.append(FlatFace(side, outline, STILL, FLAT_FRAME))
        bends.append(line(f"to-{side}", "base", side, 90, near, far, radius, thickness, 90))
    size = w + 2 * o, d + 2 * o
    outline = rectangle(0, 0, *size)
    return Blank(
        name,
        outline,
        (),
        (),
        tuple(bends),
        tuple(faces),
        *size,
        area(outline),
        0.0,
        thickness,
        0.0,
        (0, 0, 0),
        (0, 0, 0),
    )


def brake(**changes) -> Brake:
    """A straight 30 in brake with a plain nose bar; changes to the nose by ``nose_...``."""
    nose = {k[5:]: v for k, v in changes.items() if k.startswith("nose_") and k != "nose_setback_clearance"}
    rest = {k: v for k, v in changes.items() if k not in {f"nose_{n}" for n in nose}}
    bar = NoseBar(**{**{"name": "nose", "radius": 3.175, "depth": 31.75, "height": 40.0}, **nose})
    return Brake(**{**{"name": "hand-30", "length": 762.0, "noses": (bar,), "largest_angle": 120.0}, **rest})


def shop(*brakes: Brake, **changes) -> Shop:
    return Shop("test shop", "mm", brakes or (brake(),), (), (), **changes)


def nose_points(radius: float, foot: float = 22.0) -> tuple[tuple[float, float], ...]:
    """A nose bar with its arc in 5-degree chords, its front face at 50 deg, 30 high."""
    arc = [
        (radius - radius * math.sin(math.radians(a)), radius - radius * math.cos(math.radians(a)))
        for a in range(0, 131, 5)
    ]
    x, z = arc[-1]
    lean = 0.6 * (foot - x)
    return (*arc, (x + lean, z + lean * math.tan(math.radians(50))), (foot, 30.0), (foot, 0.0))


def bar(radius: float, foot: float = 22.0, **changes) -> Brake:
    """A brake with that nose under a beam that leans back, so that high flanges pass."""
    beam = ((8.0, 30.0), (60.0, 30.0), (60.0, 200.0), (8.0, 200.0))
    return brake(nose_section=nose_points(radius, foot), nose_radius=radius, beam_section=beam, **changes)
