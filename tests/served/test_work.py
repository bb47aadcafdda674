"""What takes longer: the newest question counts, an answer is kept for its job, a search may be ended."""

import shutil
import threading
import time
from pathlib import Path

import pytest

from flatgen.served.files import Desk, Set
from flatgen.served.work import Ended, Work


@pytest.fixture
def work(tmp_path: Path, root: Path) -> Work:
    shutil.copytree(root / "examples" / "first-clips", tmp_path / "job")
    return Work(Desk(tmp_path / "job" / "job.toml"))


def busy(work: Work) -> None:
    """As a long search: small steps, with its progress told."""
    for _ in work.track(range(600), "searching"):
        time.sleep(0.05)


def test_an_answer_is_kept_for_the_job_as_it_is(work: Work) -> None:
    asked: list[str] = []
    for _ in range(2):
        work.of_job("parts", lambda job: asked.append(job.digest))
    desk = work.desk
    desk.change("job.toml", desk.text("job.toml").revision, [Set(("part", 0, "quantity"), 3)])
    work.of_job("parts", lambda job: asked.append(job.digest))
    assert 2 == len(asked) == len(set(asked))


def test_a_question_about_a_job_that_is_another_by_now_is_ended(work: Work) -> None:
    told: list[BaseException] = []

    def first() -> None:
        try:
            work.of_job("old", lambda job: busy(work))
        except Ended as ended:
            told.append(ended)

    thread = threading.Thread(target=first)
    thread.start()
    while work.stage.what != "searching":
        time.sleep(0.02)
    desk = work.desk
    desk.change("job.toml", desk.text("job.toml").revision, [Set(("part", 0, "quantity"), 3)])
    assert 3 == work.of_job("new", lambda job: job.parts[0].quantity)
    thread.join(20)
    assert 1 == len(told) and not thread.is_alive()


def test_a_longer_search_that_is_ended_keeps_the_best_so_far(work: Work) -> None:
    found: list[object] = []
    thread = threading.Thread(target=lambda: found.append(work.longer(300.0)))
    thread.start()
    end = time.monotonic() + 60
    while "searching" not in work.stage.what and time.monotonic() < end:
        time.sleep(0.05)
    time.sleep(0.5)
    assert work.cancel()
    thread.join(60)
    assert not thread.is_alive() and found
    assert 60 == sum(len(nest.placements) for report in work.whole().nests for nest in report.nests) - 3  # test strips
    assert (work.desk.folder / "nest.lock").exists() and not work.cancel()


def test_what_goes_wrong_is_told_to_whoever_asked(work: Work) -> None:
    def wrong(job: object) -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        work.of_job("wrong", wrong)
    assert 6 == work.of_job("right", lambda job: len(job.parts))


def test_whoever_waits_is_let_go_when_the_page_ends(work: Work) -> None:
    threading.Timer(1.0, work.close).start()
    began = time.monotonic()
    with pytest.raises(Ended):
        work.of_job("long", lambda job: busy(work))
    assert time.monotonic() - began < 20
