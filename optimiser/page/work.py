"""Solving in a process of its own, which is kept warm, tells how far it is, and can be stopped at once."""

from __future__ import annotations

import multiprocessing
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Literal

from optimiser.files.same_program import started_alike
from optimiser.page.carrying import packed, unpacked
from optimiser.page.questions import LOST, Fault, Question
from optimiser.requests.sources import Sources

MOST_AT_ONCE = 2
MOST_KEPT = 60
State = Literal["running", "done", "fault", "stopped"]


@dataclass
class Job:
    """One question under way; `version` grows whenever something is new to tell, `took` is the seconds that
    the process that solves worked on it.
    """

    question: Question
    owner: str = ""
    state: State = "running"
    told: str = "starting"
    version: int = 0
    outcome: Any = None
    took: float = 0.0
    fault: Fault | None = None
    hand: Hand | None = None
    sources: Sources | None = None
    _heard: list[Callable[[], None]] = field(default_factory=list)

    @property
    def was_stopped(self) -> bool:
        return self.state == "stopped"

    @contextmanager
    def heard_by(self, told: Callable[[], None]) -> Iterator[None]:
        """`told` is called at each change, from whatever thread it comes."""
        self._heard.append(told)
        try:
            yield
        finally:
            self._heard.remove(told)

    def tell(self, text: str) -> None:
        self.told = text
        self._changed()

    def end(self, state: State) -> None:
        self.state = state
        self.sources = None
        self._changed()

    def _changed(self) -> None:
        self.version += 1
        for told in tuple(self._heard):
            told()


@dataclass
class Hand:
    """A process that solves, and the pipe to it; `stamp` is that of the files it was given, 0 before any."""

    process: BaseProcess
    pipe: Connection
    stamp: int = 0

    def send(self, question: Question, sources: Sources | None) -> None:
        """Hands the question over, with the files it speaks of where the process has others.

        Where they are at hand here, the answer only names what stands in them.
        """
        given = None if self.stamp == question.stamp else sources
        self.pipe.send((question, given, sources is not None))
        self.stamp = question.stamp if given is not None or self.stamp == question.stamp else 0


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
                threading.Thread(target=self._run, args=(known,), daemon=True).start()
            self._jobs.move_to_end(question)
            while len(self._jobs) > MOST_KEPT:
                self._jobs.popitem(last=False)
        others = [job for job in running if job is not known]
        early = others[: max(0, len(others) - MOST_AT_ONCE + 1)]
        for job in others:
            if job.hand is None or (job in early and job.version):  # one that only just starts is kept
                self.stop(job)
        return known

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
            job.end("stopped")
            hand = job.hand
        if hand is not None:
            hand.process.kill()

    def close(self) -> None:
        with self._lock:
            self._closed = True
            hands, self._all, self._idle = self._all, [], []
        for hand in hands:
            hand.process.kill()
        for hand in hands:
            hand.process.join(2)

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
        context = _context()
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, str(self.folder)), daemon=True)  # type: ignore[attr-defined]
        with started_alike():
            process.start()
        theirs.close()
        hand = Hand(process, ours)
        self._all.append(hand)
        return hand

    def _run(self, job: Job) -> None:
        with self._room:
            with self._lock:
                if self._closed or job.state != "running":
                    return
                sources = job.sources
                try:
                    job.hand = hand = self._free() or self._hire()
                except Exception:  # no memory, or no room for one process more; no job runs for ever
                    job.fault = LOST
                    job.end("fault")
                    return
            try:
                hand.send(job.question, sources)
                self._listen(job, hand.pipe, sources)
            except Exception:  # it died, was stopped, or sent what cannot be read; no job runs for ever
                hand.process.kill()
                self._lost(job, hand)
                return
            if job.was_stopped:  # its answer came at the moment it was stopped
                self._lost(job, hand)
                return
            with self._lock:
                self._idle.append(hand)

    def _listen(self, job: Job, pipe: Connection, sources: Sources | None) -> None:
        while True:
            kind, what = unpacked(pipe.recv_bytes(), sources)
            if kind == "told":
                job.tell(what)
                continue
            if kind == "took":
                job.took = what
                continue
            with self._lock:
                if job.state == "running":
                    job.outcome, job.fault = (what, None) if kind == "done" else (None, what)
                    job.end("done" if kind == "done" else "fault")
            return

    def _lost(self, job: Job, hand: Hand) -> None:
        """The process ended: stopped by the maker, or by a fault of its own."""
        with self._lock:
            if job.state == "running":
                job.fault = LOST
                job.end("fault")
            if hand in self._all:
                self._all.remove(hand)
        hand.process.join(2)
        hand.pipe.close()
        with suppress(OSError, RuntimeError):  # no room for another by now; the next question tries again, and says so
            self.warm()


def _context() -> BaseContext:
    """Where the system can, processes are copies of one that has read the program already."""
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    multiprocessing.set_forkserver_preload(["optimiser.page.solving"])
    return multiprocessing.get_context("forkserver")


def _serve(pipe: Connection, folder: str) -> None:
    """Answers questions until the pipe ends; the worktable is read again when its stamp changes."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from optimiser.page.solving import Solver

    solver = Solver(Path(folder))
    while True:
        try:
            question, sources, both_have = pipe.recv()
        except (EOFError, OSError):
            return
        began = time.perf_counter()
        answer = solver.answer(question, lambda text: pipe.send(("told", text)), sources)
        pipe.send(("took", time.perf_counter() - began))
        pipe.send_bytes(packed(answer, solver.sources if both_have else None))
