"""The ways in which a part can be made, what each takes, and the formed lengths of those that are bent long.

Parts of one section and metal are one family: they lie side by side at one setting, or are sawn from one formed length.
Lengths mm, minutes.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flatgen.core.overrun import pieces_to_cut
from flatgen.develop.allowed import allowed_length
from flatgen.develop.develop import develop
from flatgen.develop.formed_length import NOT_ONE_WAY, WIDER, Section, formed_part, section_of
from flatgen.develop.strokes import bend_groups
from flatgen.errors import CannotMake, InputError, InputErrors
from flatgen.kept import kept
from flatgen.model.blank import Blank
from flatgen.model.job import Job
from flatgen.model.part import Part, Process, Sawn
from flatgen.model.shop import LONG_BEND, Brake, Minutes, abreast
from flatgen.model.spent import RIP_SHARE, side_by_side
from flatgen.nest.lengths import Pattern, cut_lengths

SAW_OFF = 0.5  # that a sawn and filed end is off, ± [mm]; common practice, no source
BOWS = 24.0  # a flange this many times longer than wide comes out curved; common practice, no source
MOST_SPLIT = 12  # lengths that a sheet's side is shared into
RIP = 12.0  # least that is ripped off, for the saw to run in [mm]; common practice, no source
SHORTER = 6.0  # that a formed length may be longer than it must [mm]
NAME = {"long": "L", "wide": "W"}
NO_PATTERN = "it has no flat pattern"
TOO_FEW = "no length that brake and sheet take holds two of its pieces"
STRAIGHT = "no flange of it is so narrow that it comes out curved"
CURVED = "a flange so long and narrow comes out curved along its length"
SOURCES = "minutes: [minutes] of the shop file, guesses until a log replaces them; sawn ends ±0.5 mm: common practice"


@dataclass(frozen=True, slots=True)
class Member:
    """A part of a family with its section."""

    part: Part
    section: Section
    pieces: int
    allowed: float


@dataclass(frozen=True, slots=True)
class Family:
    """Parts of one section, metal and tool.

    longest : formed length that brake and sheet take, with its trims; ``sides`` : of sheets, along the bends [mm]
    price : of the sheet, cheapest of its metal [1/mm²]
    """

    members: tuple[Member, ...]
    longest: float
    usable: float
    sides: tuple[float, ...]
    price: float

    @property
    def strokes(self) -> int:
        """Bends of each."""
        return len(self.members[0].section.bends)

    @property
    def pieces(self) -> int:
        """Of all parts."""
        return sum(one.pieces for one in self.members)

    @property
    def wide(self) -> float:
        """Width of the blank across its bends [mm]."""
        section = self.members[0].section
        return math.fsum([f for _, f, _ in section.flats] + [arc for _, _, _, arc, _ in section.bends])

    @property
    def narrowest(self) -> float:
        """The narrower of the outer flats [mm]."""
        flats = self.members[0].section.flats
        return min(flats[0][1], flats[-1][1])


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make a family: what it takes, and whether it holds the tolerance. ``metal`` : area of blanks [mm²]."""

    process: Process
    clampings: int
    minutes: float
    metal: float
    holds: bool
    accuracy: str
    grain: str
    lengths: tuple[float, tuple[tuple[int, tuple[int, ...]], ...]] | None = None

    @property
    def count(self) -> int:
        """Formed lengths."""
        return sum(many for many, _ in self.lengths[1]) if self.lengths else 0


def families(job: Job) -> tuple[Family, ...]:
    """Parts that have a section, those of one together."""
    groups: dict[tuple[object, ...], list[Member]] = {}
    tools = dict(job.cutting)
    for part, section in _sections(job, [part for part in job.parts if not part.cut_list]):
        if isinstance(section, str):
            continue
        key = (part.material.key, part.thickness, part.nominal, tools.get(part.id), section.key())
        pieces = pieces_to_cut(part.quantity, job.shop.spoilage)
        allowed = allowed_length(part, job.shop, section.length)
        groups.setdefault(key, []).append(Member(part, section, pieces, allowed))
    return tuple(_family(job, members) for members in groups.values())


def _sections(job: Job, parts: Sequence[Part]) -> Iterator[tuple[Part, Section | str]]:
    methods = dict(job.allowance)
    for part in parts:
        shop = job.shop.seen_from(part.material.key)
        try:
            yield part, section_of(part, kept(develop, part, shop, methods.get(part.id, shop.allowance)))
        except CannotMake:
            yield part, NO_PATTERN


def _family(job: Job, members: Sequence[Member]) -> Family:
    part, section = members[0].part, members[0].section
    shop = job.shop.seen_from(part.material.key)
    brake = shop.brake()
    blank = kept(develop, part, shop, dict(job.allowance).get(part.id, shop.allowance))
    usable = _usable(brake, blank)
    sides, prices = set(), []
    for sheet in job.shop.sheets:
        if sheet.is_of(part.material.key, part.nominal):
            prices += [sheet.cost / (sheet.width * sheet.height)] if sheet.cost is not None else []
            along, across = sheet.width - 2.0 * sheet.margin, sheet.height - 2.0 * sheet.margin
            if section.grain is None:
                sides.add(max(along, across))
            else:
                sides.add(along if min(section.grain, 180.0 - section.grain) < 45.0 else across)
    longest = min(usable, max(sides)) if sides else usable
    return Family(tuple(members), longest, usable, tuple(sorted(sides)), min(prices, default=0.0))


def _usable(brake: Brake, blank: Blank) -> float:
    """Length of the shortest bar that a blank is bent over [mm]."""
    noses = {nose.name: nose for nose in brake.noses}
    return min((brake.usable(noses[b.bent.bar]) for b in blank.bends if b.bent.bar), default=brake.length)


def ways(job: Job, family: Family) -> tuple[Way, ...]:
    """Every way that the shop has for a family."""
    return tuple(way for way in _ways_or_reasons(job, family) if isinstance(way, Way))


def _ways_or_reasons(job: Job, family: Family) -> tuple[Way | str, ...]:
    """One by one, side by side, long and wide; in place of one that cannot be, why."""
    curved = any(_rips(one.section) for one in family.members)
    strokes = [(one.pieces, one.section.length) for one in family.members for _ in range(family.strokes)]
    blanks = math.fsum(one.pieces * one.section.length for one in family.members) * family.wide
    flat = (family.pieces, blanks, _grain(family))
    single, beside = _short_ways(strokes, flat, family.usable, job.shop.minutes, curved=curved)
    return single, beside, _long(job, family), _wide(job, family, single)


def _short_ways(
    strokes: Sequence[tuple[int, float]], flat: tuple[int, float, str], usable: float, of: Minutes, *, curved: bool
) -> tuple[Way, Way | str]:
    """One by one and side by side, for strokes of so many pieces and such a length.

    flat : pieces, area of their blanks [mm²], grain in words
    """
    pieces, area, grain = flat
    cutting, bends = 2.0 * pieces * of.cut, sum(many for many, _ in strokes)
    spent = math.fsum(many * (of.bend_long if length > LONG_BEND else of.bend) for many, length in strokes) + cutting
    words = CURVED if curved else "each blank against the stop"
    single = Way("one by one", bends, spent, area, not curved, words, grain)
    clampings = sum(math.ceil(many / abreast(usable, length)) for many, length in strokes)
    if clampings == bends:
        return single, "no two lie beside each other on the bar"
    spent = side_by_side(clampings, bends, of) + cutting
    words = (
        CURVED if curved else "each blank against the stop itself; equal thickness, else thin ones slip (from memory)"
    )
    return single, Way("side by side", clampings, spent, area, not curved, words, grain)


def without_section(job: Job) -> Iterator[tuple[Part, tuple[Way, ...], str]]:
    """Parts that are not the same along their length: each with the ways that are left, and why the others are not."""
    for part, section in _sections(job, [part for part in job.parts if part.bends and not part.cut_list]):
        if isinstance(section, str) and section != NO_PATTERN:
            shop = job.shop.seen_from(part.material.key)
            blank = kept(develop, part, shop, dict(job.allowance).get(part.id, shop.allowance))
            pieces = pieces_to_cut(part.quantity, job.shop.spoilage)
            strokes = [(pieces, fold.length) for fold in bend_groups(blank)]
            flat, usable = (pieces, pieces * blank.area, "as drawn"), _usable(shop.brake(), blank)
            single, beside = _short_ways(strokes, flat, usable, job.shop.minutes, curved=False)
            boxed = NOT_ONE_WAY in section  # walls across may need fingers, which hold one piece
            yield part, (single,) if boxed or isinstance(beside, str) else (single, beside), section


def reasons(job: Job, family: Family) -> dict[str, str]:
    """Why a way is not there for a family; a flange that comes out straight needs no other."""
    names = ("one by one", "side by side", "long", "wide")
    found = zip(names, _ways_or_reasons(job, family), strict=True)
    return {name: way for name, way in found if isinstance(way, str) and way != STRAIGHT}


def _rips(section: Section) -> dict[str, float]:
    """By how much each outer flat is left wider so that it does not come out curved, less where it is wide enough."""
    if section.length <= LONG_BEND:
        return {}
    ends = (section.flats[0], section.flats[-1])
    wanted = section.length / BOWS
    return {name: max(RIP, wanted - flat) for name, flat, _ in ends if flat < wanted}


def _wide(job: Job, family: Family, single: Way) -> Way | str:
    """Bent with its narrow flanges wider, which are ripped to size then."""
    rips = [(one, _rips(one.section)) for one in family.members]
    if not any(rip for _, rip in rips):
        return STRAIGHT
    more = math.fsum(one.pieces * one.section.length * math.fsum(rip.values()) for one, rip in rips)
    cuts = sum(one.pieces * len(rip) for one, rip in rips)
    spent = single.minutes + cuts * RIP_SHARE * job.shop.minutes.saw
    words = "flanges straight; their edges ripped within 0.5 mm"
    tight = min(one.allowed for one in family.members)
    return Way("wide", single.clampings, spent, single.metal + more, tight >= SAW_OFF, words, _grain(family))


def _long(job: Job, family: Family) -> Way | str:
    """Bent in lengths and sawn."""
    shop, minutes = job.shop, job.shop.minutes
    trims = 2.0 * shop.saw_trim
    sizes, wanted = [one.section.length for one in family.members], [one.pieces for one in family.members]
    least = max(sizes) + trims
    if family.pieces < 2:
        return "there is one piece only"
    if least > family.longest + 1e-6:
        return "its longest piece with the saw's trims is longer than brake or sheet take"
    straight = max(LONG_BEND, BOWS * family.narrowest)  # beyond that its flange comes out curved
    longest = min(family.longest, straight) if least <= straight else family.longest
    shares = {side / n for side in family.sides for n in range(1, MOST_SPLIT + 1)}
    options = []
    for length in sorted({longest, *(share for share in shares if least <= share <= longest)}):
        patterns = cut_lengths(sizes, wanted, length - trims, shop.saw_kerf)
        fullest = max(_used(pattern, sizes, shop.saw_kerf) for _, pattern in patterns) + trims
        count = sum(many for many, _ in patterns)
        spent = count * (family.strokes * minutes.bend_long + 2.0 * minutes.cut) + (family.pieces + count) * minutes.saw
        metal = count * fullest * family.wide
        options.append((spent * minutes.hour / 60.0 + metal * family.price, metal, spent, fullest, patterns))
    _, _, spent, length, patterns = min(options)
    count = sum(many for many, _ in patterns)
    if count >= family.pieces:
        return TOO_FEW
    patterns, length = _shortened(sizes, wanted, patterns, shop.saw_kerf)
    length += trims
    metal = count * length * family.wide
    tight = min(one.allowed for one in family.members)
    bows = length > BOWS * family.narrowest and length > LONG_BEND
    accuracy = "ends sawn within 0.5 mm; look at the middle of the length, it opens by the bar's bow"
    if tight < SAW_OFF:
        accuracy = f"a length is to be within {tight:.2g} mm: saw long and file"
    if bows:
        accuracy = CURVED
    holds = tight >= SAW_OFF and not bows
    return Way("long", count * family.strokes, spent, metal, holds, accuracy, _grain(family), (length, patterns))


def _shortened(
    sizes: Sequence[float], wanted: Sequence[int], patterns: tuple[tuple[int, Pattern], ...], kerf: float
) -> tuple[tuple[tuple[int, Pattern], ...], float]:
    """As many lengths, each about as short as will do, and how long the fullest is: less is left over of each [mm]."""
    count = sum(many for many, _ in patterns)
    high = max(_used(pattern, sizes, kerf) for _, pattern in patterns)
    low = max(*sizes, math.fsum(many * _used(pattern, sizes, kerf) for many, pattern in patterns) / count)
    while high - low > max(SHORTER, 0.03 * high):
        middle = (low + high) / 2.0
        tried = cut_lengths(sizes, wanted, middle, kerf)
        if sum(many for many, _ in tried) > count:
            low = middle
        else:
            patterns, high = tried, max(_used(pattern, sizes, kerf) for _, pattern in tried)
    return patterns, high


def _used(pattern: Sequence[int], sizes: Sequence[float], kerf: float) -> float:
    return math.fsum(many * (size + kerf) for many, size in zip(pattern, sizes, strict=True)) - kerf


def _grain(family: Family) -> str:
    grain = family.members[0].section.grain
    if grain is None:
        return "any"
    off = min(grain, 180.0 - grain)
    return "along the bend" if off < 30.0 else "across the bend" if off > 60.0 else f"{off:.0f}° to the bend"


def proposed(found: Sequence[Way]) -> Way:
    """The quickest that holds the tolerance; where none does, the quickest."""
    return min((way for way in found if way.holds), default=min(found, key=_time), key=_time)


def _time(way: Way) -> float:
    return way.minutes


def with_formed(job: Job) -> Job:
    """The job with what is bent in place of parts that are made long or wide; those parts are sawn from it.

    A part that cannot be made so is made one by one where the job asks for it of all; raises InputError, with the
    reason, for parts that ask for it themselves.
    """
    chosen = [part for part in job.parts if part.process in NAME]
    if not chosen:
        return job
    bent, left = [], {part.id: section for part, section in _sections(job, chosen) if isinstance(section, str)}
    for made, members, why in _bent_first(job, [part for part in chosen if part.id not in left]):
        bent += [(made, members)] if made else []
        left |= {} if made else dict.fromkeys(members, why)
    wrong = [_refused(job, part, left[part.id]) for part in chosen if part.id in left and part.process != job.process]
    if wrong:
        raise wrong[0] if len(wrong) == 1 else InputErrors(wrong)
    parts, cutting, methods = list(job.parts), dict(job.cutting), dict(job.allowance)
    for made, members in bent:
        at = next(k for k, part in enumerate(parts) if part.id == members[0])
        parts.insert(at, made)
        parts = [replace(part, cut_from=made.id) if part.id in members else part for part in parts]
        for known in (cutting, methods):
            if members[0] in known:
                known[made.id] = known[members[0]]
    parts = [_single(part, left[part.id]) if part.id in left else part for part in parts]
    return replace(job, parts=tuple(parts), cutting=tuple(cutting.items()), allowance=tuple(methods.items()))


def _single(part: Part, why: str) -> Part:
    return replace(part, process="one by one", kept_single=f"made one by one, not {part.process}: {why}")


def _bent_first(job: Job, chosen: Sequence[Part]) -> Iterator[tuple[Part | None, list[str], str]]:
    """What is bent for the parts chosen, with the parts that are sawn from it; None where it cannot be, and why."""
    taken = {part.id for part in job.parts}

    def name(letter: str) -> str:
        found = next(f"{letter}{k}" for k in range(1, len(taken) + 2) if f"{letter}{k}" not in taken)
        taken.add(found)
        return found

    for family in families(replace(job, parts=tuple(part for part in chosen if part.process == "long"))):
        way, members = _long(job, family), [one.part.id for one in family.members]
        if isinstance(way, str):
            yield None, members, way
        else:
            yield _formed(family, way, name(NAME["long"])), members, ""
    for family in families(replace(job, parts=tuple(part for part in chosen if part.process == "wide"))):
        for one in family.members:
            rips = _rips(one.section)
            if not rips:
                yield None, [one.part.id], STRAIGHT
                continue
            flats = tuple((f, flat + rips.get(f, 0.0), size + rips.get(f, 0.0)) for f, flat, size in one.section.flats)
            wider = replace(one.section, flats=flats)
            made = formed_part(one.part, wider, name(NAME["wide"]), wider.length, one.part.quantity, [one.part.id])
            row = Sawn(one.part.quantity, ((one.part.id, wider.length, 1),), len(rips))
            yield replace(made, profile=WIDER, title=f"{WIDER} for {one.part.id}", cut_list=(row,)), [one.part.id], ""


def _formed(family: Family, way: Way, name: str) -> Part:
    assert way.lengths is not None
    length, patterns = way.lengths
    members = [one.part.id for one in family.members]
    first = family.members[0]
    made = formed_part(first.part, first.section, name, length, way.count, members)
    sizes = [one.section.length for one in family.members]
    rows = tuple(
        Sawn(many, tuple((part, size, n) for part, size, n in zip(members, sizes, pattern, strict=True) if n))
        for many, pattern in patterns
    )
    return replace(made, cut_list=rows)


def _refused(job: Job, part: Part, why: str) -> InputError:
    return InputError(f'it cannot be made {part.process}: {why}; write process = "one by one"', file=job.file,
                      where=f'part "{part.id}", process')  # fmt: skip
