"""A brake with hidden errors, of a geometry of its own: nothing of the corrections is used."""

import math
import random

from flatgen.core.aligning import Strips, answer

BY = answer(94.0, 20.0, 0.957)


class HiddenBrake:
    """Set-back off at either end, bow, leaf twist; every sensitivity its own; readings with the noise of the tools.

    Its geometry is its own: nothing of the corrections is used.
    """

    def __init__(self, seed):
        draw = self.draw = random.Random(seed)
        self.back = [draw.uniform(-0.3, 1.5), draw.uniform(-0.3, 1.5)]
        bow = draw.uniform(-1.0, 1.0)
        self.share = draw.uniform(0.3, 1.0)
        self.bow, self.loaded = bow * self.share, bow * (1.0 - self.share)
        self.twist = draw.uniform(-0.3, 0.3)
        self.leg_off, self.angle_off = draw.uniform(-0.5, 0.5), draw.uniform(-2.0, 2.0)
        factor = [math.exp(draw.uniform(math.log(0.3), math.log(3.0))) for _ in range(5)]
        self.per_leg, self.per_angle = -0.5 * factor[0], -0.5 * math.degrees(1.0 / 20.0) * factor[1]
        self.per_shim, self.per_twist, self.per_move = factor[2:]

    def moved(self, m):
        self.back = [self.back[0] + self.per_move * m.left, self.back[1] + self.per_move * m.right]
        self.bow -= self.per_shim * m.shim
        self.twist += self.per_twist * m.twist
        self.leg_off, self.angle_off = self.leg_off + m.stop, self.angle_off + 0.957 * m.leaf

    def true(self, loaded):
        e = [self.back[0], sum(self.back) / 2 + self.bow + self.loaded * loaded, self.back[1]]
        legs = [self.leg_off + self.per_leg * x for x in e]
        return legs, [
            self.angle_off + self.per_angle * x + self.twist * t for x, t in zip(e, (-0.5, 0, 0.5), strict=True)
        ]

    def bent(self, loaded):
        """Legs by a caliper read to .02 mm, angles by a protractor read to a sixth of a degree, both a little off."""
        legs, angles = self.true(loaded)
        near = lambda x, spread, step: round(self.draw.gauss(x, spread) / step) * step  # noqa: E731
        return Strips(tuple(near(x, 0.03, 0.02) for x in legs), tuple(near(x, 0.12, 1 / 6) for x in angles))

    def gauge(self):
        return tuple(self.draw.gauss(x, 0.05) for x in self.back)

    def is_square(self):
        """The bar-long strip; shims that straighten it under load must show on a narrow strip, which has none."""
        legs, angles = self.true(True)
        return max(map(abs, legs)) <= 0.15 and max(map(abs, angles)) <= 0.5
