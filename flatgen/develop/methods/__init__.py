"""Ways to find the allowance of a bend, by name: a function a method, found by scanning this folder."""

from collections.abc import Callable
from dataclasses import dataclass

from flatgen.model.material import Material
from flatgen.model.shop import Shop, ShopBend
from flatgen.model.source import Source
from flatgen.registry import Registry


@dataclass(frozen=True, slots=True)
class Case:
    """One bend to find the allowance of. Lengths mm, angles deg.

    deduction : between mould lines, from 165 deg on between outside tangents; None: not given
    grain : bend line "across" or "along" the rolling direction
    nominal : thickness that picks the shop's records; 0: ``thickness``
    """

    angle: float
    inside_radius: float
    thickness: float
    material: Material
    shop: Shop | None = None
    neutral_axis_ratio: float | None = None
    deduction: float | None = None
    grain: str = "across"
    nominal: float = 0.0

    @property
    def records(self) -> tuple[ShopBend, ...]:
        """The shop's own records, none without a shop."""
        return self.shop.records if self.shop else ()


@dataclass(frozen=True, slots=True)
class Method:
    """A named method: what it is for, how far it is to be trusted, and where it stands.

    ``allowance`` gives the length [mm] and its source, or None where the method has nothing to go by; ``needs`` says
    what it would take.
    """

    name: str
    title: str
    meant_for: str
    trust: str
    allowance: Callable[[Case], tuple[float, Source] | None]
    needs: str = ""
    springback_in: bool = False  # its length is of finished bends: nothing is added for the over-bent leaf


METHODS: Registry[Method] = Registry("allowance method", "flatgen.develop.methods")

Allowance = Callable[[Case], tuple[float, Source] | None]


def method(
    name: str, *, title: str, meant_for: str, trust: str, needs: str = "", springback_in: bool = False
) -> Callable[[Allowance], Allowance]:
    """Enter a function as a method of this name."""

    def enter(function: Allowance) -> Allowance:
        METHODS.add(name, Method(name, title, meant_for, trust, function, needs, springback_in))
        return function

    return enter
