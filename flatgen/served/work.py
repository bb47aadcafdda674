"""What takes longer than a page may wait: computed by one thread, the newest question first, with its progress.

An answer belongs to the digest of the job that it was asked for. A question about a job that is another by now is ended
the way Ctrl-C ends a command: what was there before is whole, and a longer search keeps the best nest so far.
"""

import ctypes
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from flatgen.errors import FlatgenError
from flatgen.jobs.again import Made
from flatgen.model.job import Job
from flatgen.model.results import Results
from flatgen.served.files import Desk

T = TypeVar("T")
MOST_ANSWERS = 16
PAUSE = 0.5  # between looks at whether the page has ended meanwhile [s]
OUT = "out"  # the packet's folder, beside the job


class Ended(FlatgenError):
    """The question was ended: by the user, or since the job is another by now."""


@dataclass(slots=True)
class _Question:
    key: tuple[Any, ...]
    ask: Callable[[], Any]
    done: threading.Event = field(default_factory=threading.Event)
    answer: Any = None
    error: BaseException | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """How far the work is: what is done just now, so many of so many."""

    what: str = ""
    done: int = 0
    of: int = 0


class Work:
    """The computing of one desk."""

    def __init__(self, desk: Desk) -> None:
        """Wait for the first question."""
        self.desk = desk
        self.stage = Stage()
        self._answers: OrderedDict[tuple[Any, ...], Any] = OrderedDict()
        self._waiting: list[_Question] = []
        self._running: _Question | None = None
        self._thread: threading.Thread | None = None
        self._lock = threading.Condition()
        self._closed = False

    @property
    def out(self) -> Path:
        """Where the packet goes."""
        return self.desk.folder / OUT

    def planned(self) -> Results:
        """The job's parts developed, checked and planned on the brake, without nests."""
        job = self.desk.job()
        return self._asked(("planned", job.digest), lambda: self._planned(job))

    def whole(self) -> Results:
        """All that is left of the job, nested too."""
        job = self.desk.job()
        return self._asked(("whole", job.digest), lambda: self._whole(job))

    def longer(self, effort: float) -> Results:
        """The same after a longer search for nests of so many seconds an alloy; they are kept for the job."""
        from flatgen.jobs.make import compute

        job = self.desk.job()
        found = self._asked(("longer", job.digest, effort), lambda: compute(job, effort, self.track, keep=True))
        self.forget()
        with self._lock:
            self._answers["whole", job.digest] = found
        return found

    def of_plan(self, name: str, make: Callable[[Results], T]) -> T:
        """Something made of the planned job, by the thread that computes."""
        job = self.desk.job()
        return self._asked((name, job.digest), lambda: make(self._planned(job)))

    def of_whole(self, name: str, make: Callable[[Results], T]) -> T:
        """Something made of the job with its nests, by the thread that computes."""
        job = self.desk.job()
        return self._asked((name, job.digest), lambda: make(self._whole(job)))

    def of_job(self, name: str, make: Callable[[Job], T]) -> T:
        """Something made of the job itself, by the thread that computes."""
        job = self.desk.job()
        return self._asked((name, job.digest), lambda: make(job))

    def forget(self) -> None:
        """Answers are asked for anew: something changed that is not in the job's digest."""
        with self._lock:
            self._answers.clear()

    def _planned(self, job: Job) -> Results:
        from flatgen.jobs.make import planned

        known = self._answers.get(("whole", job.digest)) or self._answers.get(("planned", job.digest))
        found: Results = known or planned(job)
        self._answers["planned", job.digest] = found
        return found

    def _whole(self, job: Job) -> Results:
        from flatgen.jobs.make import compute

        found: Results = self._answers.get(("whole", job.digest)) or compute(job, None, self.track)
        self._answers["whole", job.digest] = found
        return found

    def packet(self) -> Made:
        """The packet written into ``out``."""
        from flatgen.jobs.again import make_again

        key = ("packet", self.desk.job().digest)
        with self._lock:
            self._answers.pop(key, None)
        made: Made = self._asked(key, lambda: make_again(self.desk.job_path, self.out, track=self.track))
        return made

    def track(self, items: Sequence[T], what: str, /) -> Iterable[T]:
        """Hand on the items of a stage and remember how far it is."""
        for done, item in enumerate(items):
            self.stage = Stage(what, done, len(items))
            yield item
        self.stage = Stage(what, len(items), len(items))

    def cancel(self) -> bool:
        """End what is computed just now; whether there was something."""
        with self._lock:
            if self._running is None or self._thread is None or self._thread.ident is None:
                return False
            _interrupt(self._thread.ident)
            return True

    def close(self) -> None:
        """The page ends: nobody waits for an answer any more."""
        self._closed = True
        self.cancel()

    def _asked(self, key: tuple[Any, ...], ask: Callable[[], T]) -> T:
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                known: T = self._answers[key]
                return known
            question = self._put(key, ask)
        while not question.done.wait(PAUSE):
            if self._closed:
                raise Ended("The bench page has ended.")
        if question.error is not None:
            raise question.error
        found: T = question.answer
        return found

    def _put(self, key: tuple[Any, ...], ask: Callable[[], Any]) -> _Question:
        """The question as it waits or is answered already, or a new one; what is about an older job goes."""
        for one in (*self._waiting, *([self._running] if self._running else [])):
            if one.key == key:
                return one
        for one in [one for one in self._waiting if one.key[1] != key[1]]:
            self._waiting.remove(one)
            one.error = Ended("The job is another by now.")
            one.done.set()
        if self._running is not None and self._running.key[1] != key[1]:
            self.cancel()
        question = _Question(key, ask)
        self._waiting.append(question)
        if self._thread is None:
            self._thread = threading.Thread(target=self._work, name="bench-work", daemon=True)
            self._thread.start()
        self._lock.notify_all()
        return question

    def _work(self) -> None:
        while True:
            try:
                self._next()
            except KeyboardInterrupt:  # came when the answer was there already
                continue

    def _next(self) -> None:
        from flatgen.kept import keeping

        with self._lock:
            while not self._waiting:
                self._lock.wait()
            question = self._running = self._waiting.pop()
        try:
            with keeping():
                question.answer = question.ask()
            with self._lock:
                self._answers[question.key] = question.answer
                while len(self._answers) > MOST_ANSWERS:
                    self._answers.popitem(last=False)
        except KeyboardInterrupt:
            question.error = Ended("This was ended; what was there before is whole.")
        except BaseException as error:  # whoever asked is told
            question.error = error
        finally:
            with self._lock:
                self._running, self.stage = None, Stage()
            question.done.set()


def _interrupt(thread: int) -> None:
    """Ctrl-C, for a thread of ours."""
    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), ctypes.py_object(KeyboardInterrupt))
