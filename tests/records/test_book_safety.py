"""What was acknowledged is kept, whatever happens; what is odd about the file is said in one sentence."""

import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from flatgen.errors import RecordError
from flatgen.records import migrations
from flatgen.records.backups import backup
from flatgen.records.book import open_book
from flatgen.records.coupons import Coupon, current_coupons, record_coupons

HERE = Path(__file__).parent
BOOKS = HERE.parent / "data" / "books"
GROUP = 40
MakeCoupon = Callable[..., Coupon]


def marks(path: Path) -> list[str]:
    with open_book(path, writing=False) as book:
        return [coupon.mark for coupon in current_coupons(book)]


def fork() -> int:
    """A child of this process. Threads that other tests left behind are no matter: the child needs none of them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def start_writer(coupon: MakeCoupon, path: Path, name: str, said: Path, groups: int = 10**9) -> int:
    """Start a recording process, which enters groups of coupons marked NAME/COUNT; return its id.

    What it acknowledges goes to the file ``said``. A group fills many pages, so that a kill can fall between two.
    """
    child = fork()
    if child:
        return child
    try:
        with said.open("w") as output:
            for group in range(groups):
                names = [f"{name}/{GROUP * group + k}" for k in range(GROUP)]
                record_coupons(path, [coupon(mark=mark, recorded_by=name, note="x" * 900) for mark in names])
                output.write("".join(f"{mark}\n" for mark in names))
                output.flush()
    except BaseException as error:
        said.write_text(f"{error}\n")
        os._exit(1)
    os._exit(0)


def acknowledged_in(said: Path) -> list[str]:
    """Marks in the file of acknowledgements; a line cut short was none."""
    if not said.exists():
        return []
    return [line[:-1] for line in said.read_text().splitlines(keepends=True) if line.endswith("\n")]


def wait_for(ready: Callable[[], bool]) -> None:
    until = time.monotonic() + 60.0
    while not ready() and time.monotonic() < until:
        time.sleep(0.0005)


def integrity(path: Path) -> str:
    connection = sqlite3.connect(path)
    try:
        return str(connection.execute("PRAGMA integrity_check").fetchone()[0])
    finally:
        connection.close()


@pytest.mark.parametrize("kills", [12, pytest.param(200, marks=pytest.mark.deep)])
def test_killed_at_any_moment_nothing_acknowledged_is_lost(kills: int, tmp_path: Path, coupon: MakeCoupon) -> None:
    """A recording process is killed at random moments: while it makes the book, migrates it, writes, checkpoints."""
    chance = random.Random(1947)
    grown = tmp_path / "grown.sqlite"
    grown_marks: set[str] = set()
    acknowledged = 0
    for run in range(kills):
        kind = run % 4
        path = grown if kind < 2 else tmp_path / f"run-{run}.sqlite"
        if kind == 3:
            shutil.copy(BOOKS / "schema-1.sqlite", path)
        output = tmp_path / f"said-{run}.txt"
        process = start_writer(coupon, path, f"r{run}", output)
        if kind == 2:  # so that the kill falls into making the file
            wait_for(path.exists)
        elif kind == 3:  # into bringing it up to date
            wait_for(path.with_name(f"{path.stem}-schema-1.sqlite").exists)
        else:  # into writing and checkpoints
            groups = chance.randrange(4)
            wait_for(lambda o=output, n=groups: len(acknowledged_in(o)) >= n * GROUP)
        time.sleep(chance.uniform(0.0, 0.03))
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
        said = acknowledged_in(output)
        acknowledged += len(said)
        if not path.exists():
            assert [] == said
            continue
        kept = marks(path)
        assert "ok" == integrity(path)
        assert set(said) <= set(kept)
        # a group is entered in one transaction: all of it or none
        own = [mark for mark in kept if mark.startswith(f"r{run}/")]
        assert 0 == len(own) % GROUP
        if kind < 2:
            grown_marks |= set(said)
            assert grown_marks <= set(kept)
    assert acknowledged >= 10 * kills
    print(f"{kills} kills, {acknowledged} entries acknowledged, all kept")


def test_two_writers_at_once_lose_nothing(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    outputs = [tmp_path / f"{name}.txt" for name in ("one", "two")]
    writers = [start_writer(coupon, path, output.stem, output, groups=20) for output in outputs]
    assert [0, 0] == [os.waitstatus_to_exitcode(os.waitpid(writer, 0)[1]) for writer in writers]
    said = [mark for output in outputs for mark in acknowledged_in(output)]
    assert [f"{name}/{k}" for name in ("one", "two") for k in range(20 * GROUP)] == said
    assert sorted(said) == sorted(marks(path))
    assert "ok" == integrity(path)


def test_busy_book_says_so(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon()])
    busy = pytest.raises(RecordError, match="busy too long; nothing was entered")
    with open_book(path) as first, first.entering(), open_book(path, wait=0.05) as second, busy, second.entering():
        pass
    assert 1 == len(marks(path))


@pytest.mark.parametrize("junk", [b"This is a shopping list, not a book.", b"\x00" * 4096])
def test_file_that_is_no_book_is_left_alone(tmp_path: Path, coupon: MakeCoupon, junk: bytes) -> None:
    path = tmp_path / "book.sqlite"
    path.write_bytes(junk)
    for writing in (True, False):
        with pytest.raises(RecordError, match="not a shop's book, or its beginning is damaged; it was left as it is"):
            open_book(path, writing=writing)
    with pytest.raises(RecordError):
        record_coupons(path, [coupon()])
    assert junk == path.read_bytes()


def test_damaged_book_is_left_alone(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon(mark=f"C{k}") for k in range(200)])
    damaged = bytearray(path.read_bytes())
    for page in range(2, len(damaged) // 4096):
        damaged[page * 4096 : page * 4096 + 200] = b"\xa5" * 200
    path.write_bytes(damaged)
    for writing in (True, False):
        with pytest.raises(RecordError, match="the book is damaged .*; it was left as it is"):
            open_book(path, writing=writing)
    assert bytes(damaged) == path.read_bytes()


def test_truncated_book_is_left_alone(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon(mark=f"C{k}") for k in range(200)])
    short = path.read_bytes()[:6000]
    path.write_bytes(short)
    with pytest.raises(RecordError, match="the book is damaged"):
        open_book(path)
    assert short == path.read_bytes()


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE songs (title TEXT)")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(RecordError, match="belongs to another program; it was left as it is"):
        open_book(path)
    assert before == path.read_bytes()


def test_newer_schema_is_left_alone(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon()])
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {migrations.NEWEST + 5}")
    connection.close()
    before = path.read_bytes()
    for writing in (True, False):
        with pytest.raises(
            RecordError,
            match=rf"newer flatgen \(schema {migrations.NEWEST + 5}; .* knows up to {migrations.NEWEST}\); it was",
        ):
            open_book(path, writing=writing)
    assert before == path.read_bytes()


def test_folder_and_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="this is a folder"):
        open_book(tmp_path)
    with pytest.raises(RecordError, match="there is no folder"):
        open_book(tmp_path / "nowhere" / "book.sqlite")


def test_missing_book_reads_as_empty_and_is_not_made(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    assert [] == marks(path)
    assert [] == list(tmp_path.iterdir())


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user can reach, for tests that give up root's rights."""
    folder = Path(tempfile.mkdtemp(prefix="flatgen-book-"))
    folder.chmod(0o777)
    yield folder
    shutil.rmtree(folder)


def as_plain_user(act: Callable[[], str]) -> str:
    """Run in a child process that is nobody in particular; root may write to any file."""
    read_end, write_end = os.pipe()
    child = fork()
    if child == 0:
        try:
            if os.getuid() == 0:
                os.setgid(65534)
                os.setuid(65534)
            text = act()
        except BaseException as error:
            text = f"{type(error).__name__}: {error}"
        os.write(write_end, text.encode())
        os._exit(0)
    os.close(write_end)
    with os.fdopen(read_end, "rb") as pipe:
        text = pipe.read().decode()
    os.waitpid(child, 0)
    return text


@pytest.mark.parametrize("locked", ["file", "folder", "both"])
def test_read_only_book(open_folder: Path, coupon: MakeCoupon, locked: str) -> None:
    path = open_folder / "book.sqlite"
    record_coupons(path, [coupon(mark="kept")])
    path.chmod(0o444 if locked in ("file", "both") else 0o666)
    open_folder.chmod(0o555 if locked in ("folder", "both") else 0o777)
    before = path.read_bytes()
    writes = as_plain_user(lambda: str(record_coupons(path, [coupon(mark="more")])))
    reads = as_plain_user(lambda: ",".join(marks(path)))
    assert writes.startswith(f"RecordError: {path}: "), writes
    assert "read-only" in writes or "cannot be written to" in writes
    assert "nothing was entered" in writes
    assert "kept" == reads
    assert before == path.read_bytes()
    assert ["kept"] == marks(path)


def test_read_only_book_of_an_older_schema_is_read_in_memory(open_folder: Path) -> None:
    path = open_folder / "book.sqlite"
    shutil.copy(BOOKS / "schema-1.sqlite", path)
    path.chmod(0o444)
    open_folder.chmod(0o555)
    before = path.read_bytes()
    assert "C1/1" in as_plain_user(lambda: ",".join(marks(path)))
    assert before == path.read_bytes()


def test_full_disk_by_page_limit(tmp_path: Path, coupon: MakeCoupon) -> None:
    """SQLite's own limit of pages gives the very result code of a full disk."""
    path = tmp_path / "book.sqlite"
    record_coupons(path, [coupon(mark="kept")])
    with open_book(path) as book:
        pages = book.connection.execute("PRAGMA page_count").fetchone()[0]
        book.connection.execute(f"PRAGMA max_page_count = {pages}")
        full = pytest.raises(RecordError, match="the disk is full; this entry was not kept, all earlier ones are")
        with full, book.entering():
            for _ in range(500):
                book.enter("log_note", recorded_at="2026", job="j", text="x" * 100)
    assert ["kept"] == marks(path)
    assert "ok" == integrity(path)


def test_disk_that_takes_no_more(open_folder: Path, coupon: MakeCoupon) -> None:
    """A real refusal by the operating system: no file may grow beyond a limit."""
    path = open_folder / "book.sqlite"
    record_coupons(path, [coupon(mark="kept")])
    path.chmod(0o666)

    def fill() -> str:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        limit = path.stat().st_size + 20_000
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        for k in range(200):
            record_coupons(path, [coupon(mark=f"more/{k}/{n}", note="x" * 1000) for n in range(20)])
        return "no end"

    answer = as_plain_user(fill)
    assert answer.startswith(f"RecordError: {path}: the disk "), answer
    assert "this entry was not kept, all earlier ones are" in answer
    assert "kept" == marks(path)[0]
    assert 0 == (len(marks(path)) - 1) % 20
    assert "ok" == integrity(path)


def test_really_full_disk(tmp_path: Path, coupon: MakeCoupon) -> None:
    """A small disk of its own, where this machine lets us have one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if (
        os.getuid() != 0
        or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(disk)], capture_output=True).returncode
    ):
        pytest.skip("no right to mount a disk")
    try:
        path = disk / "book.sqlite"
        record_coupons(path, [coupon(mark="kept")])
        with pytest.raises(RecordError, match="the disk is full; this entry was not kept, all earlier ones are"):
            for _ in range(300):
                record_coupons(path, [coupon(note="x" * 2000) for _ in range(10)])
        assert "kept" == marks(path)[0]
        assert "ok" == integrity(path)
        with pytest.raises(RecordError, match="the disk is full"):
            backup(path)
        assert [] == [*disk.glob("*-backup-*"), *disk.rglob(".*")]
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_backup_is_one_whole_file_and_never_over_another(tmp_path: Path, coupon: MakeCoupon) -> None:
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:  # left open: the newest entries are still in the log
        record_coupons(path, [coupon(mark="a"), coupon(mark="b")])
        target = backup(path, tmp_path / "copy.sqlite")
        assert book.path == path
    assert ["a", "b"] == marks(target)
    assert "ok" == integrity(target)
    with pytest.raises(RecordError, match="there is such a file already; it was left as it is"):
        backup(path, target)
    assert backup(path).name.startswith("book-backup-")
    with pytest.raises(RecordError, match="nothing to copy"):
        backup(tmp_path / "none.sqlite")


@pytest.mark.parametrize("table", ["coupon", "piece", "measurement", "migration", "sheet", "stock_entry", "run"])
@pytest.mark.parametrize("order", ["DELETE FROM {}", "UPDATE {} SET id = id"])
def test_the_database_itself_refuses_to_forget(tmp_path: Path, table: str, order: str) -> None:
    from flatgen.records.book import Book

    def fill(book: Book) -> None:
        book.enter("coupon", **sample())
        piece = book.enter("piece", recorded_at="t", job="j", part="p", number=1, verdict="accepted")
        sizes = {"nominal": 1.0, "lower": 0.5, "upper": 1.5, "value": 1.0}
        book.enter("measurement", piece=piece, dimension="A", kind="length", **sizes)
        run = book.enter("run", recorded_at="t", job="j")
        sheet = book.enter("sheet", recorded_at="t", mark="S1", material="m", thickness=1.0, width=9.0, height=9.0)
        book.enter("stock_entry", recorded_at="t", sheet=sheet, change=1, why="received", run=run)

    with open_book(tmp_path / "book.sqlite") as book:
        with book.entering():
            fill(book)
        statement = order.format(table).replace("id = id", "version = version" if table == "migration" else "id = id")
        with pytest.raises(sqlite3.IntegrityError, match="kept as written; a correction is a new entry"):
            book.connection.execute(statement)


def sample() -> dict[str, object]:
    lengths = {"blank_length": 70.0, "leg_a": 36.0, "leg_b": 36.0, "measured_thickness": 1.0}
    angles = {"angle": 90.0, "leaf_angle": 93.0, "released_angle": 90.0}
    return (
        {"recorded_at": "t", "material": "m", "thickness": 1.0, "nose_radius": 3.0, "grain": "across"}
        | lengths
        | angles
    )
