"""A process that solves: started warm, asked through a pipe, ended at once where it is not wanted."""

from __future__ import annotations

import multiprocessing
import time
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.context import BaseContext
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from optimiser.files.same_program import started_alike
from optimiser.page.carrying import packed, unpacked
from optimiser.page.questions import Question
from optimiser.requests.sources import Sources

GO_ON = "go on"
"""Said to a process that has told the words of its answer: now the rest of it."""
ENDED_S = 2.0


@dataclass
class Hand:
    """A process that solves, and the pipe to it; `stamp` is that of the files it was given, 0 before any.

    Everything that reads from the pipe raises EOFError or OSError where the process ended.
    """

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

    def hear(self) -> tuple[str, Any, Any]:
        """("told", what it does, None), ("fault", seconds, what stopped it) or ("done", seconds, words)."""
        kind, *told = unpacked(self.pipe.recv_bytes(), None)
        first, second = (*told, None)[:2]
        return kind, first, second

    def bring_the_rest(self, sources: Sources | None) -> Any:
        """What was found, of an answer whose words are there."""
        self.pipe.send(GO_ON)
        return unpacked(self.pipe.recv_bytes(), sources)

    def kill(self) -> None:
        if self.process.is_alive():  # the number of one that ended may be another's by now
            self.process.kill()

    def end(self) -> None:
        self.kill()
        self.process.join(ENDED_S)
        self.pipe.close()


def hire(folder: Path) -> Hand:
    """Raises OSError, or whatever else the system makes of having no room for a process more."""
    context = _context()
    ours, theirs = context.Pipe()
    process = context.Process(target=_serve, args=(theirs, str(folder)), daemon=True)  # type: ignore[attr-defined]
    with started_alike():
        process.start()
    theirs.close()
    return Hand(process, ours)


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
    from optimiser.page.waste import settle

    solver = Solver(Path(folder))
    settle()
    while True:
        try:
            question, sources, both_have = pipe.recv()
            _answer(pipe, solver, question, sources, both_have=both_have)
        except (EOFError, OSError):
            return


def _answer(
    pipe: Connection, solver: Any, question: Question, sources: Sources | None, *, both_have: bool
) -> None:
    """What is shown of an answer goes ahead of the rest of it."""

    def say(*told: Any) -> None:
        pipe.send_bytes(packed(told, None))

    began = time.perf_counter()
    kind, found = solver.answer(question, partial(say, "told"), sources)
    took = time.perf_counter() - began
    if kind == "done":
        kind, told = solver.words(question, found)
    else:
        told = found
    say(kind, took, told)
    if kind == "fault":
        return
    pipe.recv()
    pipe.send_bytes(packed(found, solver.sources if both_have else None))
