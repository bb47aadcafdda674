"""An evening finishes what is begun, fits its minutes, and goes by the shop's own entries once there are enough."""

from pathlib import Path

from flatgen.jobs.evening import evening
from flatgen.model.tally import Event
from flatgen.tally.tonight import paces


def entries(kind: str, gaps: list[float], pieces: int = 2) -> list[Event]:
    at, found = 0.0, [Event(kind, "OX-8", pieces, at="2026-11-20T19:00:00+00:00")]
    for k, gap in enumerate(gaps, 1):
        at += gap
        stamp = f"2026-11-20T{19 + int(at // 60):02d}:{int(at % 60):02d}:00+00:00"
        found.append(Event(kind, "OX-8", pieces, at=stamp, id=k))
    return found


def test_minutes_are_the_shops_own_once_it_has_entries_enough() -> None:
    assert {} == paces(entries("bent", [4.0] * 7))
    (pace,) = paces(entries("bent", [2.0, 4.0, 4.0, 4.0, 6.0, 8.0, 4.0, 4.0])).values()
    assert (2.0, 8) == (pace.minutes, pace.entries) and pace.low <= 2.0 <= pace.high


def test_what_is_begun_is_finished_first(job: Path, run) -> None:
    run("tally", "cut", job, "OX-8", 4)
    run("tally", "bent", job, "OX-8", "b1", 4)
    _, tasks = evening(job, 240.0)
    kinds = [task.kind for task in tasks]
    assert ["bend", "measure", "cut"] == kinds
    assert "OX-8 b2 4" in tasks[0].text and "OX-8: 4" in tasks[1].text
    for minutes in (5.0, 21.0, 40.0):
        _, some = evening(job, minutes)
        assert sum(task.minutes for task in some) <= minutes


def test_the_tally_is_printed(job: Path, run) -> None:
    run("tally", "cut", job, "OX-9", 7)
    said = run("tally", "tonight", job, "--minutes", 60, "--out", job.parent / "tally.pdf").output
    assert "11 wanted   0 good   0 rejected   7 in work   4 to cut" in said and "of 60 min" in said
    assert (job.parent / "tally.pdf").read_bytes().startswith(b"%PDF")


def test_what_waits_for_test_bends_is_not_bent_tonight(job: Path, run) -> None:
    shop = job.parent / "shop.toml"
    shop.write_text(shop.read_text().removeprefix('work = "general"\n'))
    run("tally", "cut", job, "OX-8", 4)
    results, tasks = evening(job, 400.0)
    assert {"OX-8": ("CP1",), "OX-9": ("CP1",)} == {m.part.id: m.waits for m in results.parts if m.part.kind == "part"}
    assert ["test bends"] == [task.kind for task in tasks]
    assert "CP1: cut sheet 1 to cut" in tasks[0].text and "then ask again" in tasks[0].text


def test_no_evening_is_promised_more_than_its_minutes(job: Path, run) -> None:
    """Of seven angles and four channels that wait for the brake only so many are asked for as the time allows."""
    run("tally", "cut", job, "OX-9", 7)
    run("tally", "cut", job, "OX-8", 4)
    bent = []
    for minutes in range(30, 46):
        _, tasks = evening(job, float(minutes))
        assert sum(task.minutes for task in tasks) <= minutes + 1e-6
        bent.append(sum(task.minutes for task in tasks if task.kind == "bend"))
    assert sorted(bent) == bent and 0.0 < min(set(bent) - {0}) < 34.5  # of the first setting's four channels some too
