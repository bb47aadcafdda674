"""How the book's tables came to be: numbered steps, each run once, in order, each in a transaction of its own.

A step is never changed after a release: what is to be different becomes a new step. The number of the last step is kept
in the file (``user_version``); a file with a higher number was written by a newer flatgen and is refused.
"""

import sqlite3
from dataclasses import dataclass

from flatgen.records.chain import SEALS, seal_the_rest

APPLICATION_ID = 0x666C6174  # "flat": marks the file as a book of ours


@dataclass(frozen=True, slots=True)
class Migration:
    """One step: its number, what it brings, and the statements that bring it."""

    version: int
    title: str
    statements: tuple[str, ...]


def only_grows(table: str) -> tuple[str, ...]:
    """Statements that make the database itself refuse to change or remove an entry of this table."""
    return tuple(
        f"""CREATE TRIGGER {table}_keeps_on_{event.lower()} BEFORE {event} ON {table}
        BEGIN SELECT RAISE(ABORT, 'entries of {table} are kept as written; a correction is a new entry'); END"""
        for event in ("UPDATE", "DELETE")
    )


_WHO = """id INTEGER PRIMARY KEY,
    recorded_at TEXT NOT NULL,
    recorded_by TEXT NOT NULL DEFAULT ''"""

_CORRECTS = """replaces INTEGER UNIQUE REFERENCES {table} (id),
    withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1)),
    reason TEXT NOT NULL DEFAULT '',
    CHECK (replaces IS NULL OR reason <> ''),
    CHECK (withdrawn = 0 OR replaces IS NOT NULL)"""

COUPONS_AND_INSPECTIONS = Migration(
    1,
    "coupons and inspections",
    (
        """CREATE TABLE migration (
            version INTEGER PRIMARY KEY, title TEXT NOT NULL, applied_at TEXT NOT NULL, program TEXT NOT NULL)""",
        *only_grows("migration"),
        f"""CREATE TABLE coupon (
            {_WHO},
            mark TEXT NOT NULL DEFAULT '',
            material TEXT NOT NULL CHECK (material <> ''),
            thickness REAL NOT NULL CHECK (thickness > 0),
            nose_radius REAL NOT NULL CHECK (nose_radius >= 0),
            grain TEXT NOT NULL CHECK (grain IN ('across', 'along')),
            angle REAL NOT NULL CHECK (angle > 0 AND angle < 180),
            blank_length REAL NOT NULL CHECK (blank_length > 0),
            leg_a REAL NOT NULL CHECK (leg_a > 0),
            leg_b REAL NOT NULL CHECK (leg_b > 0),
            measured_thickness REAL NOT NULL CHECK (measured_thickness > 0),
            leaf_angle REAL NOT NULL CHECK (leaf_angle > 0 AND leaf_angle < 180),
            released_angle REAL NOT NULL CHECK (released_angle > 0 AND released_angle < 180),
            inside_radius REAL CHECK (inside_radius >= 0),
            stop REAL CHECK (stop > 0),
            brake TEXT NOT NULL DEFAULT '',
            job TEXT NOT NULL DEFAULT '',
            batch TEXT NOT NULL DEFAULT '',
            note TEXT NOT NULL DEFAULT '',
            {_CORRECTS.format(table="coupon")})""",
        "CREATE INDEX coupon_by_combination ON coupon (material, thickness, nose_radius, grain, angle)",
        *only_grows("coupon"),
        f"""CREATE TABLE piece (
            {_WHO},
            job TEXT NOT NULL,
            part TEXT NOT NULL CHECK (part <> ''),
            revision TEXT NOT NULL DEFAULT '',
            number INTEGER NOT NULL CHECK (number > 0),
            verdict TEXT NOT NULL CHECK (verdict IN ('accepted', 'rejected', 'conceded')),
            note TEXT NOT NULL DEFAULT '',
            {_CORRECTS.format(table="piece")},
            CHECK (verdict <> 'conceded' OR note <> ''))""",
        "CREATE INDEX piece_by_part ON piece (job, part, number)",
        *only_grows("piece"),
        """CREATE TABLE measurement (
            id INTEGER PRIMARY KEY,
            piece INTEGER NOT NULL REFERENCES piece (id),
            dimension TEXT NOT NULL,
            kind TEXT NOT NULL CHECK (kind IN ('length', 'angle')),
            nominal REAL NOT NULL,
            lower REAL NOT NULL,
            upper REAL NOT NULL CHECK (upper > lower),
            value REAL NOT NULL,
            instrument TEXT NOT NULL DEFAULT '',
            stop TEXT NOT NULL DEFAULT '',
            UNIQUE (piece, dimension))""",
        *only_grows("measurement"),
    ),
)

STOCK_AND_LOG = Migration(
    2,
    "stock, remnants and job log",
    (
        f"""CREATE TABLE run (
            {_WHO},
            job TEXT NOT NULL,
            revision TEXT NOT NULL DEFAULT '',
            digest TEXT NOT NULL DEFAULT '',
            program TEXT NOT NULL DEFAULT '',
            remake INTEGER NOT NULL DEFAULT 0 CHECK (remake IN (0, 1)),
            note TEXT NOT NULL DEFAULT '')""",
        *only_grows("run"),
        f"""CREATE TABLE sheet (
            {_WHO},
            mark TEXT NOT NULL UNIQUE CHECK (mark <> ''),
            material TEXT NOT NULL CHECK (material <> ''),
            thickness REAL NOT NULL CHECK (thickness > 0),
            width REAL NOT NULL CHECK (width > 0),
            height REAL NOT NULL CHECK (height > 0),
            grain REAL NOT NULL DEFAULT 0,
            batch TEXT NOT NULL DEFAULT '',
            stock_size TEXT NOT NULL DEFAULT '',
            cost REAL CHECK (cost >= 0),
            cut_from INTEGER REFERENCES sheet (id),
            note TEXT NOT NULL DEFAULT '')""",
        *only_grows("sheet"),
        f"""CREATE TABLE stock_entry (
            {_WHO},
            sheet INTEGER NOT NULL REFERENCES sheet (id),
            change INTEGER NOT NULL CHECK (change IN (1, -1)),
            why TEXT NOT NULL CHECK (why IN ('received', 'left over', 'cut up', 'given up', 'found again')),
            run INTEGER REFERENCES run (id),
            note TEXT NOT NULL DEFAULT '')""",
        "CREATE INDEX stock_entry_by_sheet ON stock_entry (sheet)",
        *only_grows("stock_entry"),
        """CREATE TABLE cut_part (
            id INTEGER PRIMARY KEY,
            run INTEGER NOT NULL REFERENCES run (id),
            sheet INTEGER NOT NULL REFERENCES sheet (id),
            nest INTEGER NOT NULL CHECK (nest > 0),
            part TEXT NOT NULL,
            pieces INTEGER NOT NULL CHECK (pieces > 0),
            UNIQUE (run, nest, part))""",
        *only_grows("cut_part"),
        """CREATE TABLE made_part (
            id INTEGER PRIMARY KEY,
            run INTEGER NOT NULL REFERENCES run (id),
            part TEXT NOT NULL,
            title TEXT NOT NULL DEFAULT '',
            drawing TEXT NOT NULL DEFAULT '',
            revision TEXT NOT NULL DEFAULT '',
            material TEXT NOT NULL DEFAULT '',
            thickness REAL NOT NULL,
            pieces INTEGER NOT NULL CHECK (pieces > 0),
            method TEXT NOT NULL DEFAULT '',
            UNIQUE (run, part))""",
        *only_grows("made_part"),
        """CREATE TABLE run_finding (
            id INTEGER PRIMARY KEY,
            run INTEGER NOT NULL REFERENCES run (id),
            part TEXT NOT NULL DEFAULT '',
            rule TEXT NOT NULL,
            severity TEXT NOT NULL,
            place TEXT NOT NULL DEFAULT '',
            message TEXT NOT NULL,
            waived TEXT NOT NULL DEFAULT '')""",
        *only_grows("run_finding"),
        f"""CREATE TABLE log_note (
            {_WHO},
            job TEXT NOT NULL,
            part TEXT NOT NULL DEFAULT '',
            text TEXT NOT NULL CHECK (text <> ''))""",
        *only_grows("log_note"),
        # a coupon or an inspected piece can now be traced to the very sheet it was cut from
        "ALTER TABLE coupon ADD COLUMN sheet TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE piece ADD COLUMN sheet TEXT NOT NULL DEFAULT ''",
    ),
)

TICKS = Migration(
    3,
    "ticks kept at the bench",
    (
        f"""CREATE TABLE tick (
            {_WHO},
            job TEXT NOT NULL,
            digest TEXT NOT NULL,
            saved_at TEXT NOT NULL,
            key TEXT NOT NULL CHECK (key <> ''),
            place TEXT NOT NULL,
            what TEXT NOT NULL,
            value INTEGER NOT NULL CHECK (value >= 0))""",
        "CREATE INDEX tick_by_job ON tick (job, digest)",
        *only_grows("tick"),
    ),
)

WORK_AND_SCRATCHES = Migration(
    4,
    "what a run cut, whatever the stock was; scratches of sheets",
    (
        "ALTER TABLE run ADD COLUMN work TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE sheet ADD COLUMN bad_areas TEXT NOT NULL DEFAULT '[]'",
    ),
)

CHAIN = Migration(
    5,
    "entries sealed in a chain",
    (
        # columns: how many of the table the seal is over, since later steps may add some
        f"""CREATE TABLE {SEALS} (
            number INTEGER PRIMARY KEY,
            entry_table TEXT NOT NULL,
            entry INTEGER NOT NULL,
            columns INTEGER NOT NULL,
            digest TEXT NOT NULL,
            UNIQUE (entry_table, entry))""",
        *only_grows(SEALS),
    ),
)

MEASURED_SHEETS = Migration(
    6,
    "what sheets measure",
    ("ALTER TABLE sheet ADD COLUMN measured REAL CHECK (measured > 0)",),
)

CRACKS_AND_FAULTS = Migration(
    7,
    "whether a coupon cracked; why a piece is rejected whatever its sizes",
    (
        "ALTER TABLE coupon ADD COLUMN cracked TEXT NOT NULL DEFAULT '' CHECK (cracked IN ('', 'no', 'yes'))",
        "ALTER TABLE piece ADD COLUMN why TEXT NOT NULL DEFAULT ''",
    ),
)

TALLY = Migration(
    8,
    "the tally: what happened to sheets and pieces",
    (
        f"""CREATE TABLE event (
            {_WHO},
            job TEXT NOT NULL,
            kind TEXT NOT NULL CHECK (kind <> ''),
            part TEXT NOT NULL DEFAULT '',
            pieces INTEGER NOT NULL DEFAULT 0 CHECK (pieces >= 0),
            place TEXT NOT NULL DEFAULT '',
            passed TEXT NOT NULL DEFAULT '',
            sheet TEXT NOT NULL DEFAULT '',
            why TEXT NOT NULL DEFAULT '',
            note TEXT NOT NULL DEFAULT '',
            facts TEXT NOT NULL DEFAULT '',
            run INTEGER REFERENCES run (id),
            follows INTEGER REFERENCES event (id),
            undoes INTEGER UNIQUE REFERENCES event (id),
            CHECK (undoes IS NULL OR why <> ''))""",
        "CREATE INDEX event_by_job ON event (job, kind, part)",
        *only_grows("event"),
    ),
)

BRAKE_CHECKS = Migration(
    9,
    "checks of a brake: strips bent at its left, middle and right, and what was moved before them",
    (
        # readings: JSON of the round, deviations in mm and degrees; first: begins a series, as after a new nose bar
        f"""CREATE TABLE brake_check (
            {_WHO},
            brake TEXT NOT NULL CHECK (brake <> ''),
            nose TEXT NOT NULL CHECK (nose <> ''),
            material TEXT NOT NULL,
            thickness REAL NOT NULL CHECK (thickness > 0),
            first INTEGER NOT NULL CHECK (first IN (0, 1)),
            readings TEXT NOT NULL,
            note TEXT NOT NULL DEFAULT '')""",
        "CREATE INDEX brake_check_by_brake ON brake_check (brake, nose)",
        *only_grows("brake_check"),
    ),
)

MIGRATIONS: tuple[Migration, ...] = (
    COUPONS_AND_INSPECTIONS,
    STOCK_AND_LOG,
    TICKS,
    WORK_AND_SCRATCHES,
    CHAIN,
    MEASURED_SHEETS,
    CRACKS_AND_FAULTS,
    TALLY,
    BRAKE_CHECKS,
)
SEALS_SINCE = CHAIN.version
NEWEST = MIGRATIONS[-1].version


def schema_of(connection: sqlite3.Connection) -> int:
    """Number of the last step that ran in this file, 0 for an empty one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection, now: str, program: str, upto: int = NEWEST) -> tuple[Migration, ...]:
    """Run the steps that this file has not seen, each in its own transaction; return those that ran.

    The connection must be in autocommit mode. A process that migrates at the same time waits and then finds the step
    done.
    """
    ran = []
    for step in MIGRATIONS:
        if step.version > upto or schema_of(connection) >= step.version:
            continue
        connection.execute("BEGIN IMMEDIATE")
        try:
            if schema_of(connection) >= step.version:  # another process was quicker
                connection.execute("ROLLBACK")
                continue
            for statement in step.statements:
                connection.execute(statement)
            connection.execute("INSERT INTO migration VALUES (?, ?, ?, ?)", (step.version, step.title, now, program))
            if step.version >= SEALS_SINCE:  # what was entered before, and the line above
                seal_the_rest(connection)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {step.version}")
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
        ran.append(step)
    return tuple(ran)
