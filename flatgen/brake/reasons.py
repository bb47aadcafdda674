"""Why a part cannot be made on a brake, and what would make it possible: tried out, not guessed.

The refusal that came nearest to success names bend, tool and depth. Then the search is run again on changed brakes
(another brake of the shop, fingers, a shorter foot, a narrower leaf, a shallower bed): what lets the part be made is
offered, the smallest change found by halving. Lengths mm.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.brake.bench import Bench, Refusal
from flatgen.brake.order import makeable
from flatgen.brake.simulate import BEAM, BED, ITSELF, LEAF, NOSE
from flatgen.model.finding import Finding, Severity
from flatgen.model.part import Part
from flatgen.model.shop import Brake, Shop

HALVINGS = 5
MOST_STROKES = 5  # parts with more strokes get the reason without trials, which would take too long


def why_not(part: Part, bench: Bench, shop: Shop) -> Iterator[Finding]:
    """The one finding that says which bend is stopped by what, by how much, and what would free it."""
    refusal = nearest_refusal(bench)
    if refusal is None:
        return
    ways = list(ways_out(part, bench, shop)) if len(bench.folds) <= MOST_STROKES else []
    advice = "; ".join(ways) if ways else "no other order, nose or leaf tried would do: use a form block or two pieces"
    value = refusal.contact.depth if refusal.contact else (refusal.window[0] if refusal.window else None)
    limit = 0.0 if refusal.contact else (refusal.window[1] if refusal.window else None)
    yield Finding(
        "brake-collision",
        Severity.FORBID,
        part.id,
        f"bend {refusal.fold.name}",
        value,
        limit,
        f'cannot be bent on brake "{bench.brake.name}" in any order: {describe(refusal)}. What would help: {advice}.',
        "simulated with the brake's sections in shop.toml",
    )


def describe(refusal: Refusal) -> str:
    """What stops a stroke, in words."""
    bend = refusal.fold.name
    if refusal.contact is not None:
        hit = refusal.contact
        when = "before the leaf moves" if hit.angle < 0.5 else f"with the leaf at {hit.angle:.0f}°"
        if hit.tool == ITSELF:
            return f"at bend {bend} {hit.owner} runs into the part itself by {hit.depth:.1f} mm {when}"
        return f"at bend {bend} {hit.owner} runs into the {hit.tool} by {hit.depth:.1f} mm {when}"
    if refusal.window is not None:
        low, high = refusal.window
        return f"at bend {bend} walls stand at both ends and need a nose between {low:.1f} and {high:.1f} mm wide"
    return f"after bend {bend} the part is trapped round the nose bar"


def nearest_refusal(bench: Bench) -> Refusal | None:
    """The refusal met with most bends made already, and among those the shallowest for the bend that is left."""
    refusals = bench.refusals()
    if not refusals:
        return None
    most = max(made.bit_count() for made, _ in refusals)
    late = [refusal for made, refusal in refusals if made.bit_count() == most]
    return min(late, key=lambda r: (r.depth, r.fold.name, r.clamped_hub))


def ways_out(part: Part, bench: Bench, shop: Shop) -> Iterator[str]:
    """Changes of tools with which the part can be made."""
    brake, blank = bench.brake, bench.blank

    def works(changed: Brake) -> bool:
        return makeable(Bench(blank, changed))

    for other in shop.brakes:
        if other.name != brake.name and other.noses and works(other):
            yield f'brake "{other.name}" makes it'
    windows = {(round(r.window[0], 1), round(r.window[1], 1)) for _, r in bench.refusals() if r.window}
    for low, high in sorted(windows):
        if works(replace(brake, fingers=(*brake.fingers, (low + high) / 2.0))):
            yield f"fingers {low:.1f} to {high:.1f} mm wide in all between the standing walls"
    refused = {r.contact.tool for _, r in bench.refusals() if r.contact}
    sizes = [size for size in SIZES if refused & size.tools and size.now(brake) > size.least(brake)]
    together = _smallest_change(brake, sizes, works)
    if together:
        yield " together with ".join(together)
    if len(together) > 1:
        # one change alone may do as well, if it goes farther
        for size in sizes:
            alone = _smallest_change(brake, [size], works)
            if alone:
                yield alone[0]


@dataclass(frozen=True)
class Size:
    """A size of the brake that may be too large for a part."""

    words: str
    tools: frozenset[str]
    now: Callable[[Brake], float]
    least: Callable[[Brake], float]
    changed: Callable[[Brake, float], Brake]


def _foot(brake: Brake) -> float:
    return max(nose.depth for nose in brake.noses)


def _least_foot(brake: Brake) -> float:
    return max(nose.radius + sum(nose.shoes[:1]) for nose in brake.noses) + 2.0


def _with_foot(brake: Brake, depth: float) -> Brake:
    noses = tuple(replace(nose, depth=min(nose.depth, depth), section=()) for nose in brake.noses)
    beam = None if brake.beam_depth is None else min(brake.beam_depth, depth)
    return replace(brake, noses=noses, beam_depth=beam)


SIZES = (
    Size(
        "a bed no deeper than {0:.1f} mm behind its edge (now {1:.1f})",
        frozenset({BED}),
        lambda brake: 0.0 if brake.bed_section else brake.bed_depth,
        lambda _: 12.0,
        lambda brake, depth: replace(brake, bed_depth=depth),
    ),
    Size(
        "a leaf no wider than {0:.1f} mm (now {1:.1f})",
        frozenset({LEAF}),
        lambda brake: 0.0 if brake.leaf_section else brake.leaf_land,
        lambda _: 5.0,
        lambda brake, land: replace(brake, leaf_land=land),
    ),
    Size(
        "a nose bar with a foot no deeper than {0:.1f} mm (now {1:.1f})",
        frozenset({NOSE, BEAM}),
        _foot,
        _least_foot,
        _with_foot,
    ),
)


def _smallest_change(brake: Brake, sizes: Sequence[Size], works: Callable[[Brake], bool]) -> list[str]:
    """Which of these sizes must be smaller, and how small, each as large as it can be; nothing when none would do.

    All are first made as small as they get; then one after the other is let grow as far as the part allows.
    """
    values = {size: size.least(brake) for size in sizes}

    def goes(size: Size, value: float) -> bool:
        tried = brake
        for other, smallest in values.items():
            tried = other.changed(tried, value if other is size else smallest)
        return works(tried)

    if not sizes or not goes(sizes[0], values[sizes[0]]):
        return []
    words = []
    for size in sizes:
        now = size.now(brake)
        if goes(size, now):
            values[size] = now
            continue
        low, high = values[size], now
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if goes(size, middle) else (low, middle)
        values[size] = low
        words.append(size.words.format(low, now))
    return words
