"""Why a part cannot be made on a brake, and what would make it possible: tried out, not guessed.

The refusal that came nearest to success names bend, tool and depth. Then the search is run again on changed brakes
(another brake of the shop, fingers, a shorter foot, a narrower leaf, a shallower bed): what lets the part be made is
offered, the smallest change found by halving. Lengths mm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from flatgen.brake.bench import Bench, Refusal
from flatgen.brake.figures import EVERY_TOOL, TRAPPED, Figure, Trials, kindest, smallest_change, worth_trying
from flatgen.brake.meets import BEAM, ITSELF, LEAF, NOSE
from flatgen.brake.order import Order
from flatgen.brake.pictures import stopped_picture
from flatgen.brake.proof import best_orders
from flatgen.brake.section import lay
from flatgen.model.finding import Finding, Severity
from flatgen.model.part import Part
from flatgen.model.plan import RefusedBend
from flatgen.model.shop import Brake, Shop
from flatgen.said import Said, Text, joined, said, size

MOST_STROKES = 4  # parts with more strokes get the reason without trials, which would take too long
MADE_WITH = "measure first: it can be made with "


def why_not(part: Part, bench: Bench, shop: Shop) -> Iterator[Finding]:
    """The one finding that says which bend is stopped by what, by how much, and what would free it."""
    refusal = nearest_refusal(bench)
    if refusal is None:
        return
    if len(bench.folds) <= MOST_STROKES:
        ways = list(ways_out(bench, shop))
        none = "use a form block or two pieces, since no other nose, leaf or bed that was tried would do"
        advice = said("what would help: ", joined("; ", ways)) if ways else said(none)
    else:
        advice = said(
            f"other tools were not tried for a part of {len(bench.folds)} strokes; in the way were ",
            f"{_in_the_way(bench)}; fingers between the walls, a shorter foot and a higher nose bar are the usual ways,"
            " else a form block",
        )
    hit = refusal.contact
    if hit is not None and hit.tool in (NOSE, LEAF, BEAM) and hit.angle < 0.5:
        advice += said("; or the flat beside that bend wider, by ", size(hit.depth), " at the least")
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
        said(
            f'cannot be bent on brake "{bench.brake.name}" with nose bar "{setting.nose_name}" in any order, since ',
            describe(refusal),
        ),
        f'simulated with the sections of [[brake]] "{bench.brake.name}" and [[brake.nose]] "{setting.nose.name}"'
        " in shop.toml",
        todo=advice,
    )


def _in_the_way(bench: Bench) -> str:
    """Tools that refused strokes, most often first, with how often."""
    counts: dict[str, int] = {}
    for _, refusal in bench.refusals():
        name = refusal.contact.tool if refusal.contact else "walls at both ends" if refusal.window else "no way out"
        counts[name] = counts.get(name, 0) + 1
    return ", ".join(f"{name} ({count})" for name, count in sorted(counts.items(), key=lambda c: (-c[1], c[0])))


def describe(refusal: Refusal) -> Text:
    """What stops a stroke, in words."""
    bend = refusal.fold.name
    if refusal.contact is not None:
        hit = refusal.contact
        when = "before the leaf moves" if hit.angle < 0.5 else f"with the leaf at {hit.angle:.0f}°"
        if hit.tool == ITSELF:
            return said(f"at bend {bend} {hit.owner} runs into the part itself by ", size(hit.depth), f" {when}")
        return said(f"at bend {bend} {hit.owner} runs into the {hit.tool} by ", size(hit.depth), f" {when}")
    if refusal.window is not None:
        low, high = refusal.window
        return said(
            f"at bend {bend} walls stand at both ends and need a nose between ", size(low), " and ", size(high), " wide"
        )
    return f"after bend {bend} the part is trapped round the nose bar, also when it is tipped"


def nearest_refusal(bench: Bench) -> Refusal | None:
    """The refusal met with most bends made already, and among those the shallowest for the bend that is left."""
    found = _nearest(bench)
    return found and found[1]


def _nearest(bench: Bench) -> tuple[int, Refusal] | None:
    """That refusal with the bends made before it."""
    refusals = bench.refusals()
    most = max((made.bit_count() for made, _ in refusals), default=0)
    late = [(made, refusal) for made, refusal in refusals if made.bit_count() == most]
    return min(late, key=lambda one: (one[1].depth, one[1].fold.name, one[1].clamped_hub), default=None)


def refused_bend(part: Part, bench: Bench) -> RefusedBend | None:
    """The same stroke as it looks where the metal meets what is in its way; None where nothing is met."""
    found = _nearest(bench)
    hit = found[1].contact if found else None
    if found is None or hit is None:
        return None
    made, refusal = found
    setting = bench.settings[bench.folds.index(refusal.fold)]
    laid = lay(bench.body(made), refusal.fold, refusal.clamped_hub, bench.known)
    drawn = stopped_picture(laid, setting, hit.angle)
    return RefusedBend(part.id, refusal.fold.name, hit.tool, drawn)


def ways_out(bench: Bench, shop: Shop) -> Iterator[Text]:
    """Changes of tools with which the part can be made."""
    brake, trials = bench.brake, Trials(bench)
    works = trials.makes
    for other in shop.brakes:
        if other.name != brake.name and other.noses and works(other):
            yield f'brake "{other.name}" makes it'
    windows = _windows(bench)
    alone = [w for w in windows if works(_with_fingers(brake, [w]))]
    yield from (_finger_words(window) for window in alone)
    figures = worth_trying(brake, _refused(bench))
    # one figure cannot be asked to be smaller and larger at once
    found = None if alone else smallest_change(_with_fingers(brake, windows), figures[: _first_twin(figures)], trials)
    together = found[0] if found else []
    if together:
        yield joined(" together with ", [*together, *(["fingers between the standing walls"] if windows else [])])
    if len(together) != 1 and not windows and not alone:
        # one change alone may do as well, if it goes farther
        for one in figures:
            yield from (change := smallest_change(brake, [one], trials)) and change[0] or ()


def measured_first(part: Part, bench: Bench) -> tuple[Bench, tuple[Order, ...], Finding] | None:
    """The brake with its guesses, and only these, changed as little as lets the part be made, with what to measure.

    None when it cannot be made whatever the guessed figures turn out to be: all of them at their kindest is tried last.
    """
    for brake, words in _kinder(bench):
        kinder = Bench(bench.blank, brake, fitted="fingers" in brake.guessed, known=bench.known)
        orders = best_orders(kinder, part)
        if orders:
            windows = {step.trial.window for step in orders[0].steps} - {None}
            fingers = [_finger_words(w) for w in sorted(w for w in windows if w)] if kinder.fitted else []
            return kinder, orders, _to_measure(part, bench, joined("; ", [*words, *fingers]))
    return None


def _kinder(bench: Bench) -> Iterator[tuple[Brake, list[Text]]]:
    """Brakes that may make the part, the least changed first, with the figures that must be kinder, in words."""
    brake, fitted = bench.brake, "fingers" in bench.brake.guessed
    trials = Trials(bench, fitted=fitted)
    if fitted and trials.makes(brake):
        yield brake, []
    figures = worth_trying(brake, _refused(bench), guessed=True)
    # once these are kinder, tools come in the way that were not before
    every = worth_trying(brake, EVERY_TOOL, guessed=True)
    together = [some for some in (every[: _first_twin(every)], _other_twin(every)) if some]
    for some in (*([one] for one in figures), *together):
        # whether all of them together would do is decided, however long the others took
        own = trials if len(some) == 1 else Trials(bench, fitted=fitted)
        found = smallest_change(brake, some, own, guessed=True)
        if found is not None:
            yield found[1], found[0]
            if len(some) > 1:
                yield kindest(brake, some)


def _to_measure(part: Part, bench: Bench, words: Text) -> Finding:
    """A part that only guessed figures of the brake stand in the way of: measure these first."""
    refusal = nearest_refusal(bench)
    why = said("; as guessed, ", describe(refusal)) if refusal else ""
    return Finding(
        "brake-collision",
        Severity.WARN,
        part.id,
        f"bend {refusal.fold.name}" if refusal else "",
        refusal.contact.depth if refusal and refusal.contact else None,
        None,
        said(f'brake "{bench.brake.name}" has figures that nobody measured', why),
        f'simulated with the guessed figures of [[brake]] "{bench.brake.name}" in shop.toml',
        todo=said(MADE_WITH, words, ". The settings take it to be so"),
    )


def _first_twin(figures: Sequence[Figure]) -> int:
    """Number of figures before the one that is there a second time, the other way round."""
    keys = [one.key for one in figures]
    return next((k for k, key in enumerate(keys) if key in keys[:k]), len(keys))


def _other_twin(figures: Sequence[Figure]) -> list[Figure]:
    """The figures with the twin in place of the first; nothing without a twin."""
    place = _first_twin(figures)
    if place == len(figures):
        return []
    return [figures[place], *(one for one in figures[:place] if one.key != figures[place].key)]


def _refused(bench: Bench) -> frozenset[str]:
    """What was in the way."""
    tools = {r.contact.tool for _, r in bench.refusals() if r.contact}
    return frozenset(tools | {TRAPPED for _, r in bench.refusals() if r.trapped})


def _with_fingers(brake: Brake, windows: Sequence[tuple[float, float]]) -> Brake:
    """The brake with fingers that fit the windows."""
    return replace(brake, fingers=(*brake.fingers, *((low + high) / 2.0 for low, high in windows)))


def _finger_words(window: tuple[float, float]) -> Said:
    low, high = window
    return said(
        "fingers ", size(low), " to ", size(high), " wide in all between the standing walls (fingers of [[brake]])"
    )


def _windows(bench: Bench) -> list[tuple[float, float]]:
    """Widths of nose, least and greatest, that strokes between walls were refused for [mm]."""
    return sorted({(round(r.window[0], 1), round(r.window[1], 1)) for _, r in bench.refusals() if r.window})
