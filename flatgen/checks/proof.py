"""What the shop's own test bends say of a doubt about cracking: settled, cracked, or how many are still to be bent."""

from dataclasses import dataclass
from typing import Literal

from flatgen.core.coupon import strips_wanted
from flatgen.core.nominal import same_nominal
from flatgen.core.words import counted
from flatgen.model.blank import BendLine, Blank
from flatgen.model.part import Part
from flatgen.model.shop import BendProof, Shop

SAME_RADIUS, SAME_ANGLE = 0.05, 0.5  # sizes within this are one [mm, deg]


@dataclass(frozen=True, slots=True)
class Proof:
    """Marks of the coupons that speak for one bend, and how many sound ones are asked for, with the reason."""

    sound: tuple[str, ...]
    cracked: tuple[str, ...]
    unsaid: tuple[str, ...]
    wanted: int
    reason: str

    @property
    def state(self) -> Literal["settled", "cracked", "open"]:
        """Cracked once: too sharp. Enough sound ones and none cracked: settled."""
        if self.cracked:
            return "cracked"
        return "settled" if len(self.sound) >= self.wanted else "open"

    def words(self) -> str:
        """A clause to follow what the tables say."""
        asked = f"{self.wanted} {'is' if self.wanted == 1 else 'are'} asked for, {self.reason}"
        if self.cracked:
            verb = "has" if len(self.cracked) == 1 else "have"
            return f"coupon {', '.join(self.cracked)} {verb} cracked: take a larger radius"
        if self.state == "settled":
            return (
                f"settled by {counted(len(self.sound), 'coupon')} without a crack ({', '.join(self.sound)}; {asked}); "
                "still look at every part"
            )
        text = "coupon first, check every part for cracks"
        if self.sound:
            text += f"; {counted(len(self.sound), 'coupon')} without a crack so far ({', '.join(self.sound)}; {asked})"
        if self.unsaid:
            text += (
                f"; of {', '.join(self.unsaid)} the book does not say whether it cracked: look, and correct the entry "
                "(--cracked no or yes)"
            )
        return text


def proof_of(part: Part, blank: Blank, bend: BendLine, shop: Shop) -> Proof:
    """The coupons that speak for a bend: same alloy and thickness, at its radius, angle and grain or a harder case.

    A coupon that held at a sharper radius, a greater angle or along the grain held at what asks less of the metal;
    one that cracked where less was asked of it speaks against the bend.
    """
    off = blank.angle_to_grain(bend)
    along = off is not None and off < 30.0
    radius = bend.bent.inside_radius
    sound: list[str] = []
    cracked: list[str] = []
    unsaid: list[str] = []
    for one in shop.proofs:
        if one.material != part.material.key or not same_nominal(one.thickness, part.nominal):
            continue
        if _asks_as_much(one, radius, bend.angle, along):
            sound += () if one.cracked else one.sound
            unsaid += one.unsaid
        if _asks_no_more(one, radius, bend.angle, along):
            cracked += one.cracked
    bends = part.quantity * sum(other.bent.inside_radius == radius for other in blank.bends)
    return Proof(
        tuple(sound),
        tuple(cracked),
        tuple(unsaid),
        strips_wanted(bends, may_crack=True),
        f"since {bends} bends depend on it" if strips_wanted(bends) > 1 else "since one sound strip may be luck",
    )


def _asks_as_much(one: BendProof, radius: float, angle: float, along: bool) -> bool:
    return (
        one.nose_radius <= radius + SAME_RADIUS
        and one.angle >= angle - SAME_ANGLE
        and (one.grain == "along" or not along)
    )


def _asks_no_more(one: BendProof, radius: float, angle: float, along: bool) -> bool:
    return (
        one.nose_radius >= radius - SAME_RADIUS and one.angle <= angle + SAME_ANGLE and (one.grain == "across" or along)
    )
