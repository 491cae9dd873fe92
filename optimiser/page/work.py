"""Solving in a process of its own, which is kept warm, tells how far it is, and can be stopped at once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from optimiser.page.hands import ENDED_S, Hand, hire
from optimiser.page.jobs import Job
from optimiser.page.questions import LOST, Question
from optimiser.requests.sources import Sources

MOST_AT_ONCE = 2
MOST_KEPT = 60


@dataclass
class Work:
    """The hands of one server. Answers are kept, so that going back costs nothing."""

    folder: Path
    _idle: list[Hand] = field(default_factory=list)
    _all: list[Hand] = field(default_factory=list)
    _jobs: OrderedDict[Question, Job] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _room: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(MOST_AT_ONCE))
    _closed: bool = False

    def warm(self) -> None:
        """Starts processes ahead of the questions, as many as may be at work."""
        with self._lock:
            while not self._closed and len(self._all) < MOST_AT_ONCE:
                self._idle.append(self._hire())

    def ask(self, question: Question, owner: str, sources: Sources | None = None) -> Job:
        """The answer under way or already there, of `sources`; without them, of the folder as it is by then.

        What the same owner asked just before may end in the other process, so that steps in quick succession
        cost no new start; what was asked before that is stopped.
        """
        with self._lock:
            running = [j for j in self._jobs.values() if j.owner == owner and j.state == "running"]
            known = self._jobs.get(question)
            if known is None or known.state == "stopped":
                known = self._jobs[question] = Job(question, owner, sources=sources)
                self._begin(known)
            self._jobs.move_to_end(question)
            while len(self._jobs) > MOST_KEPT:
                self._jobs.popitem(last=False)
        others = [job for job in running if job is not known]
        early = others[: max(0, len(others) - MOST_AT_ONCE + 1)]
        for job in others:
            if job.hand is None or (job in early and job.version):  # one that only just starts is kept
                self.stop(job)
        return known

    def _begin(self, job: Job) -> None:
        """Beside this; processes that wait to bring the rest of an answer are wanted now."""
        for one in self._jobs.values():
            if one.state == "done":
                one.want_the_rest()
        try:
            threading.Thread(target=self._run, args=(job,), daemon=True).start()
        except RuntimeError:  # no room for a thread more
            job.fail(LOST)

    def known(self, question: Question) -> Job | None:
        with self._lock:
            return self._jobs.get(question)

    def forget(self, question: Question) -> None:
        """Lets go of an answer that failed by itself, so that the same question is asked anew."""
        with self._lock:
            job = self._jobs.get(question)
            if job is not None and job.fault is not None and job.fault.again:
                del self._jobs[question]

    def stop(self, job: Job) -> None:
        """Ends the process that works on it; another is there at once."""
        with self._lock:
            if job.state != "running":
                return
            job.stop()
            hand = job.hand
        if hand is not None:
            hand.kill()

    def close(self) -> None:
        with self._lock:
            self._closed = True
            hands, self._all, self._idle = self._all, [], []
        for hand in hands:
            hand.kill()
        for hand in hands:
            hand.process.join(ENDED_S)

    def _free(self) -> Hand | None:
        """One that waits for a question; those that died while they waited are let go."""
        while self._idle:
            hand = self._idle.pop()
            if hand.process.is_alive():
                return hand
            self._all.remove(hand)
            hand.pipe.close()
        return None

    def _hire(self) -> Hand:
        hand = hire(self.folder)
        self._all.append(hand)
        return hand

    def _run(self, job: Job) -> None:
        """Where the process that works on it dies by itself, another is asked once more."""
        sources = job.sources
        with self._room:
            for last in (False, True):
                hand = self._given(job)
                if hand is None:
                    return
                try:
                    hand.send(job.question, sources)
                    self._listen(job, hand, sources)
                except Exception:  # it died, was stopped, or sent what cannot be read; no job runs for ever
                    self._let_go(hand)
                    if self._ended(job, last):
                        return
                    continue
                if job.was_stopped:  # its answer came at the moment it was stopped
                    self._let_go(hand)
                else:
                    with self._lock:
                        self._idle.append(hand)
                return

    def _given(self, job: Job) -> Hand | None:
        """A process for the job; None where it ended meanwhile, or where there is no room for one."""
        with self._lock:
            if self._closed and job.state == "running":
                job.fail(LOST)
            if job.state != "running":
                return None
            try:
                job.hand = self._free() or self._hire()
            except Exception:  # no memory, or no room for one process more; no job runs for ever
                job.fail(LOST)
                return None
            return job.hand

    def _listen(self, job: Job, hand: Hand, sources: Sources | None) -> None:
        while True:
            kind, told, found = hand.hear()
            if kind == "told":
                job.tell(told)
                continue
            job.took = told
            with self._lock:
                if job.state == "running":
                    (job.answer if kind == "done" else job.fail)(found)
            if kind == "done":
                job.let_words_go_first()
                job.complete(hand.bring_the_rest(sources))
            return

    def _ended(self, job: Job, last: bool) -> bool:
        """Whether a job whose process died is over: stopped, or lost for good."""
        with self._lock:
            if job.lacks_the_rest and (last or job.state == "done" or self._closed):
                job.fail(LOST)
            elif job.state == "running":
                job.tell("the work broke off; it is begun once more")
            return job.state != "running"

    def _let_go(self, hand: Hand) -> None:
        """Ends the process, stopped by the maker or broken by itself, and starts another in its place."""
        with self._lock:
            if hand in self._all:
                self._all.remove(hand)
        hand.end()
        with suppress(Exception):  # no room for another by now; the next question tries again
            self.warm()
