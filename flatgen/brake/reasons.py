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
from flatgen.core.words import size
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding, Severity
from flatgen.model.part import Part
from flatgen.model.shop import Brake, Shop

HALVINGS = 5
MOST_TRIALS = 800  # strokes followed in search of a way out
TRAPPED = "trapped"
HIGHEST = 120.0  # nose bars are tried up to this height
MOST_STROKES = 4  # parts with more strokes get the reason without trials, which would take too long


def why_not(part: Part, bench: Bench, shop: Shop) -> Iterator[Finding]:
    """The one finding that says which bend is stopped by what, by how much, and what would free it."""
    refusal = nearest_refusal(bench)
    if refusal is None:
        return
    if len(bench.folds) <= MOST_STROKES:
        ways = list(ways_out(part, bench, shop))
        advice = (
            "; ".join(ways)
            if ways
            else "no other nose, leaf or bed that was tried would do: use a form block or two pieces"
        )
    else:
        advice = (
            f"other tools were not tried for a part of {len(bench.folds)} strokes. In the way: {_in_the_way(bench)}; "
            "fingers between the walls, a shorter foot and a higher nose bar are the usual ways, else a form block"
        )
    hit = refusal.contact
    if hit is not None and hit.tool in (NOSE, LEAF, BEAM) and hit.angle < 0.5:
        advice += f"; or the flat beside that bend wider, by {size(hit.depth)} at the least"
    setting = bench.settings[bench.folds.index(refusal.fold)]
    value = refusal.contact.depth if refusal.contact else (refusal.window[0] if refusal.window else None)
    limit = 0.0 if refusal.contact else (refusal.window[1] if refusal.window else None)
    yield Finding(
        "brake-collision",
        Severity.FORBID,
        part.id,
        f"bend {refusal.fold.name}",
        value,
        limit,
        f'cannot be bent on brake "{bench.brake.name}" with nose bar "{setting.nose_name}" in any order:'
        f" {describe(refusal)}. What would help: {advice}.",
        f'simulated with the sections of [[brake]] "{bench.brake.name}" and [[brake.nose]] "{setting.nose.name}"'
        " in shop.toml",
    )


def _in_the_way(bench: Bench) -> str:
    """Tools that refused strokes, most often first, with how often."""
    counts: dict[str, int] = {}
    for _, refusal in bench.refusals():
        name = refusal.contact.tool if refusal.contact else "walls at both ends" if refusal.window else "no way out"
        counts[name] = counts.get(name, 0) + 1
    return ", ".join(f"{name} ({count})" for name, count in sorted(counts.items(), key=lambda c: (-c[1], c[0])))


def describe(refusal: Refusal) -> str:
    """What stops a stroke, in words."""
    bend = refusal.fold.name
    if refusal.contact is not None:
        hit = refusal.contact
        when = "before the leaf moves" if hit.angle < 0.5 else f"with the leaf at {hit.angle:.0f}°"
        if hit.tool == ITSELF:
            return f"at bend {bend} {hit.owner} runs into the part itself by {size(hit.depth)} {when}"
        return f"at bend {bend} {hit.owner} runs into the {hit.tool} by {size(hit.depth)} {when}"
    if refusal.window is not None:
        low, high = refusal.window
        return f"at bend {bend} walls stand at both ends and need a nose between {size(low)} and {size(high)} wide"
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
    brake, trials = bench.brake, Trials(bench.blank)
    works = trials.makes
    for other in shop.brakes:
        if other.name != brake.name and other.noses and works(other):
            yield f'brake "{other.name}" makes it'
    alone = [w for w in _windows(bench) if works(replace(brake, fingers=(*brake.fingers, (w[0] + w[1]) / 2.0)))]
    for low, high in alone:
        yield f"fingers {size(low)} to {size(high)} wide in all between the standing walls (fingers of [[brake]])"
    refused = {r.contact.tool for _, r in bench.refusals() if r.contact}
    refused |= {TRAPPED for _, r in bench.refusals() if r.trapped}
    sizes = [one for one in SIZES if refused & one.tools and one.now(brake) > one.least(brake)]
    fingers = tuple((low + high) / 2.0 for low, high in _windows(bench))
    fitted = replace(brake, fingers=(*brake.fingers, *fingers))
    together = [] if alone else _smallest_change(fitted, sizes, trials)
    if together:
        yield " together with ".join([*together, *(["fingers between the standing walls"] if fingers else [])])
    if len(together) > 1 and not fingers:
        # one change alone may do as well, if it goes farther
        for one in sizes:
            yield from _smallest_change(brake, [one], trials)


class Trials:
    """Whether changed brakes make a part; counts the strokes tried, since a part of many bends could take for ever."""

    def __init__(self, blank: Blank) -> None:
        """Nothing tried yet."""
        self.blank = blank
        self.strokes = 0

    @property
    def over(self) -> bool:
        """Whether enough has been tried."""
        return self.strokes > MOST_TRIALS

    def makes(self, brake: Brake) -> bool:
        """Whether the part can be made on a brake."""
        bench = Bench(self.blank, brake)
        made = makeable(bench)
        self.strokes += bench.tried
        return made


def _windows(bench: Bench) -> list[tuple[float, float]]:
    """Widths of nose, least and greatest, that strokes between walls were refused for [mm]."""
    return sorted({(round(r.window[0], 1), round(r.window[1], 1)) for _, r in bench.refusals() if r.window})


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


def _with_height(brake: Brake, negative: float) -> Brake:
    noses = tuple(replace(nose, height=max(nose.height, -negative), section=()) for nose in brake.noses)
    return replace(brake, noses=noses, beam_section=())


SIZES = (
    Size(
        "a bed no deeper than {0} behind its edge (now {1}, bed_depth of [[brake]])",
        frozenset({BED}),
        lambda brake: 0.0 if brake.bed_section else brake.bed_depth,
        lambda _: 12.0,
        lambda brake, depth: replace(brake, bed_depth=depth),
    ),
    Size(
        "a leaf no wider than {0} (now {1}, leaf_land of [[brake]])",
        frozenset({LEAF}),
        lambda brake: 0.0 if brake.leaf_section else brake.leaf_land,
        lambda _: 5.0,
        lambda brake, land: replace(brake, leaf_land=land),
    ),
    Size(
        "a nose bar with a foot no deeper than {0} (now {1}, depth of [[brake.nose]])",
        frozenset({NOSE, BEAM}),
        _foot,
        _least_foot,
        _with_foot,
    ),
    # heights are entered as their negative, so that here too the larger value is the smaller change
    Size(
        "a nose bar at least {0} high under the beam (now {1}, height of [[brake.nose]])",
        frozenset({BEAM}),
        lambda brake: -min(nose.height for nose in brake.noses),
        lambda _: -HIGHEST,
        _with_height,
    ),
    Size(
        "a nose that lifts at least {0} (now {1}, largest_opening of [[brake]])",
        frozenset({BEAM, TRAPPED}),
        lambda brake: -brake.largest_opening,
        lambda _: -HIGHEST,
        lambda brake, negative: replace(brake, largest_opening=-negative),
    ),
)


def _smallest_change(brake: Brake, sizes: Sequence[Size], trials: Trials, *, with_fingers: bool = False) -> list[str]:
    """Which of these sizes must be smaller, and how small, each as large as it can be; nothing when none would do.

    All are first made as small as they get; then one after the other is let grow as far as the part allows.
    """
    values = {one: one.least(brake) for one in sizes}

    def goes(one: Size, value: float) -> bool:
        tried = brake
        for other, smallest in values.items():
            tried = other.changed(tried, value if other is one else smallest)
        return trials.makes(tried)

    if not sizes or trials.over or not goes(sizes[0], values[sizes[0]]):
        return []
    words = []
    for one in sizes:
        now = one.now(brake)
        if not trials.over and goes(one, now):
            values[one] = now
            continue
        low, high = values[one], now
        for _ in range(HALVINGS):
            if trials.over:
                break
            middle = 0.5 * (low + high)
            low, high = (middle, high) if goes(one, middle) else (low, middle)
        values[one] = low
        words.append(one.words.format(size(abs(low)), size(abs(now))))
    # a size that could not be tried at what it is now may be named without need: better no advice than that
    return [] if trials.over and len(words) == len(sizes) > 1 else words
