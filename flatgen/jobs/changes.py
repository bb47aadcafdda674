"""What a make changed: the results of before and of now, told in a few lines. Lengths of results are mm."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from flatgen.core.words import Units, counted
from flatgen.units import format_length

OF_A_BEND = ("angle", "direction", "inside_radius", "allowance", "deduction", "overbend_to")
MOST = 12  # lines of one kind; more are counted


def changes(old: Mapping[str, Any], new: Mapping[str, Any], units: Units) -> tuple[str, ...]:
    """Lines about parts, sheets, settings and findings; both are the contents of a results.json."""
    return (
        *_first(list(_parts(old, new, units)), "part"),
        *_sheets(old["nests"], new["nests"]),
        *_settings(old["setups"], new["setups"]),
        *_first(list(_findings(old["findings"], new["findings"])), "finding"),
        *_others(old, new),
    )


def _first(lines: Sequence[str], what: str) -> list[str]:
    more = len(lines) - MOST
    return [*lines[:MOST], *([f"and {counted(more, f'more {what}')} changed"] if more > 0 else [])]


def _by_id(results: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    return {part["id"]: part for part in results["parts"]}


def _parts(old: Mapping[str, Any], new: Mapping[str, Any], units: Units) -> Iterator[str]:
    before, now = _by_id(old), _by_id(new)
    yield from (f"{_what(now[part])}: new" for part in now if part not in before)
    yield from (f"{_what(before[part])}: not wanted any more" for part in before if part not in now)
    for part in now:
        if part in before and now[part] != before[part]:
            said = list(_part(before[part], now[part], units))
            if said:
                yield f"{part}: {'; '.join(said)}"


def _what(part: Mapping[str, Any]) -> str:
    return f"test bend {part['id']}" if part["kind"] == "coupon" else str(part["id"])


def _part(old: Mapping[str, Any], new: Mapping[str, Any], units: Units) -> Iterator[str]:
    was, now = old["blank"], new["blank"]
    sizes = [(_shown(was[side], units), _shown(now[side], units)) for side in ("width", "height")]
    if any(a != b for a, b in sizes):
        yield f"blank {', '.join(f'{a} -> {b}' for a, b in sizes if a != b)} {units}"
    elif was["outline"] != now["outline"]:
        yield "outline changed"
    if (was["holes"], was["cutouts"]) != (now["holes"], now["cutouts"]):
        yield "holes or openings changed"
    bends, bends_now = ({bend["id"]: [bend[key] for key in OF_A_BEND] for bend in some["bends"]} for some in (old, new))
    if bends != bends_now:
        ids = [name for name in (*bends_now, *bends) if bends.get(name) != bends_now.get(name)]
        yield f"{', '.join(dict.fromkeys(ids))} changed"
    for key, name in (("quantity", "wanted"), ("pieces", "to cut")):
        if old[key] != new[key]:
            yield f"{old[key]} -> {new[key]} {name}"
    if old["stopped"] != new["stopped"]:
        yield "STOP" if new["stopped"] else "not stopped any more"
    for key in ("material", "revision", "method"):
        if old[key] != new[key]:
            yield f"{key} {old[key] or 'none'} -> {new[key] or 'none'}"
    if _shown(old["thickness"], units) != _shown(new["thickness"], units):
        yield f"T {_shown(old['thickness'], units)} -> {_shown(new['thickness'], units)} {units}"


def _shown(length: float, units: Units) -> str:
    return format_length(length, units)


def _sheets(old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    left = [_layout(nest) for nest in old]
    anew = []
    for number, nest in enumerate(new, 1):
        if (layout := _layout(nest)) in left:
            left.remove(layout)
        else:
            anew.append(str(number))
    if len(old) != len(new):
        yield f"{len(old)} -> {counted(len(new), 'sheet')}"
    if anew:
        yield f"{_listed('sheet', anew)} laid anew"


def _layout(nest: Mapping[str, Any]) -> tuple[object, ...]:
    """What lies where; letters of off-cuts go on from sheet to sheet, and are told on the sheet."""
    sheet = nest["sheet"]
    return nest["material"], nest["thickness"], sheet["width"], sheet["height"], nest["placements"]


def _settings(old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    left = list(old)
    changed = []
    for number, setup in enumerate(new, 1):
        if setup in left:
            left.remove(setup)
        else:
            changed.append(str(number))
    if len(old) != len(new):
        yield f"{len(old)} -> {counted(len(new), 'setting')}"
    if changed:
        yield f"{_listed('setting', changed)} changed"


def _findings(old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    def told(finding: Mapping[str, Any]) -> str:
        part = f"{finding['part']}: " if finding["part"] else ""
        return f"{part}{finding['message']} [{finding['rule']}]"

    before, now = ([(told(one), one["severity"]) for one in some if one["severity"] != "note"] for some in (old, new))
    yield from (f"{'STOP' if kind == 'forbid' else 'decide'} {text}" for text, kind in Counter(now) - Counter(before))
    yield from (f"settled: {text}" for text, _ in Counter(before) - Counter(now))


def _others(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    before, now = _by_id(old), _by_id(new)
    same = sum(before.get(name) == part for name, part in now.items() if part["kind"] == "part")
    if same:
        yield f"{counted(same, 'part')} as before"


def _listed(word: str, names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"{word} {names[0]}"
    return f"{word}s {', '.join(names[:-1])} and {names[-1]}"
