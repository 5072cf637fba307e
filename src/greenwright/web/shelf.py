"""Answers kept while the record stays as it is, and the jobs that are making new ones."""

from __future__ import annotations

from collections import OrderedDict
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from datetime import date
from threading import Lock
from typing import Any

from greenwright import desk
from greenwright.base.answer import Answer
from greenwright.base.errors import BadInput, CannotAnswer
from greenwright.base.values import Course
from greenwright.show import Page, page

KEPT = 64
"""Answers held in memory."""

BY_WHAT_IS_KEPT = ("today", "track")
"""Questions whose answers rest also on forecasts that were kept, beside the record's rows."""

PATIENCE_S = 0.7
"""How long a page waits before it shows progress instead."""

Stamp = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Wanted:
    """One question on one day of one course, with what is asked of it beside (name, value)."""

    question: str
    course: str
    on: date
    options: tuple[tuple[str, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class Made:
    """An answer and its page."""

    answer: Answer
    page: Page


@dataclass(slots=True)
class Job:
    """An answer in the making: what is being done and the share done."""

    future: Future[Made]
    stamp: Stamp
    text: str = "Starting"
    share: float = 0.0

    def tell(self, text: str, share: float) -> None:
        """Take progress from the worker."""
        self.text, self.share = text, min(max(share, 0.0), 1.0)


class Shelf:
    """Every answer that was asked for since the record last changed.

    Args:
        store: the open record. A change of its rows makes answers old; what is only kept when it
            is given (advice, forecasts) does so for those that rest on it.
    """

    def __init__(self, store: Any) -> None:
        self._store = store
        self._pool = ThreadPoolExecutor(max_workers=2, thread_name_prefix="answer")
        self._jobs: OrderedDict[Wanted, Job] = OrderedDict()
        self._lock = Lock()

    def close(self) -> None:
        """Stop taking questions and wait for those being answered."""
        self._pool.shutdown(wait=True, cancel_futures=True)

    def job(self, wanted: Wanted, course: Course) -> Job:
        """Return the job of a question, started now unless a current one is there."""
        with self._lock:
            held = self._jobs.get(wanted)
            if held is not None and (not held.future.done() or held.stamp == self._stamp(wanted)):
                self._jobs.move_to_end(wanted)
                return held
            made = Job(Future(), self._stamp(wanted))
            made.future = self._pool.submit(self._make, wanted, course, made)
            self._jobs[wanted] = made
            while len(self._jobs) > KEPT:
                self._jobs.popitem(last=False)
            return made

    def _stamp(self, wanted: Wanted) -> Stamp:
        return self._store.stamp(kept=wanted.question in BY_WHAT_IS_KEPT)

    def ready(self, job: Job, patience_s: float = PATIENCE_S) -> Made | None:
        """Return what a job made, or None while it is still at work.

        Raises:
            GreenwrightError: what the question raised.
        """
        if not wait([job.future], timeout=patience_s).done:
            return None
        return self.made(job)

    def made(self, job: Job) -> Made:
        """Return what a job made, however long it takes.

        An accident is told once and let go, so that who tries again is answered anew; what the
        record or the question itself forbids stays.

        Raises:
            GreenwrightError: what the question raised.
        """
        try:
            return job.future.result()
        except (BadInput, CannotAnswer):
            raise
        except Exception:
            self._let_go(job)
            raise

    def _let_go(self, job: Job) -> None:
        with self._lock:
            for wanted in [w for w, held in self._jobs.items() if held is job]:
                del self._jobs[wanted]

    def _make(self, wanted: Wanted, course: Course, job: Job) -> Made:
        answer = desk.ask(
            wanted.question,
            self._store,
            on=wanted.on,
            course=wanted.course,
            progress=job.tell,
            **dict(wanted.options),
        )
        job.tell("Drawing", 0.95)
        return Made(answer, page(answer, course))
