"""Checks of a brake in the book: a series of rounds for each nose bar, begun anew when the bar was changed."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from flatgen.core.aligning import Moves, Round, Strips
from flatgen.model.checked import Checked, Figures
from flatgen.records.book import Book, now, open_book


@dataclass(frozen=True, slots=True)
class BrakeCheck:
    """One round as entered; ``first`` begins a series. Readings less what was wanted [mm, deg].

    square : whether the brake was, by all rounds so far; ``figures`` : of the bar
    """

    brake: str
    nose: str
    material: str
    thickness: float
    first: bool
    round: Round
    square: bool = False
    figures: Figures = ()
    note: str = ""
    recorded_by: str = ""
    recorded_at: str = ""


def record_check(book_file: Path, check: BrakeCheck) -> int:
    """Enter one round; its number."""
    with open_book(book_file) as book, book.entering():
        return book.enter(
            "brake_check",
            recorded_at=now(),
            recorded_by=check.recorded_by,
            brake=check.brake,
            nose=check.nose,
            material=check.material,
            thickness=check.thickness,
            first=int(check.first),
            readings=json.dumps(asdict(check.round) | {"square": check.square, "bar": check.figures}),
            note=check.note,
        )


def series(book: Book, brake: str, nose: str) -> tuple[BrakeCheck, ...]:
    """The rounds of the newest series of a brake with a nose bar, in order; empty without any."""
    rows = book.rows("SELECT * FROM brake_check WHERE brake = ? AND nose = ? ORDER BY id", (brake, nose))
    starts = [k for k, row in enumerate(rows) if row["first"]]
    return tuple(_check(row) for row in rows[starts[-1] if starts else 0 :])


def checked(book: Book) -> tuple[Checked, ...]:
    """The newest check with each bar, in the order of the book."""
    found: dict[tuple[str, str], Checked] = {}
    for one in map(_check, book.rows("SELECT * FROM brake_check ORDER BY id")):
        for key, other in found.items():
            if key[0] == one.brake and other.nose != one.nose:
                found[key] = replace(other, since=one.nose)
        day = one.recorded_at.partition("T")[0]
        found[one.brake, one.nose] = Checked(one.brake, one.nose, day, one.square, one.figures)
    return tuple(found.values())


def rounds(checks: Sequence[BrakeCheck]) -> tuple[Round, ...]:
    """What the brake is judged by."""
    return tuple(check.round for check in checks)


def _check(row: Any) -> BrakeCheck:
    told = json.loads(row["readings"])
    strips = {key: Strips(*(tuple(told[key][name]) for name in ("legs", "angles"))) if told[key] else None
              for key in ("narrow", "long")}  # fmt: skip
    gauge = tuple(told["gauge"]) if told["gauge"] else None
    return BrakeCheck(
        row["brake"],
        row["nose"],
        row["material"],
        row["thickness"],
        bool(row["first"]),
        Round(Moves(**told["moved"]), gauge, **strips),
        told.get("square", False),
        tuple(told.get("bar", ())),
        row["note"],
        row["recorded_by"],
        row["recorded_at"],
    )
