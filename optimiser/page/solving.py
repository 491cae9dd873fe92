"""The inside of the process that solves: it holds the worktable and asks the workflows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from optimiser.errors import DataError, OptimiserError
from optimiser.page.desk import stamp_of
from optimiser.page.faults import fault_of
from optimiser.page.kinds import KINDS
from optimiser.page.questions import LOST, Question, broken
from optimiser.page.views.answer import outcome_shown
from optimiser.page.views.figures import Figures
from optimiser.requests.sources import Sources
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import propose
from optimiser.workflows.worktable import open_worktable


class Solver:
    """One worktable, read anew when its files changed."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._stamp = folder, stamp_of(folder)
        self.sources: Sources | None = None
        try:
            self.sources = open_worktable(folder)
        except DataError:
            self._stamp = 0

    def answer(
        self, question: Question, tell: Callable[[str], None], given: Sources | None = None
    ) -> tuple[str, Any]:
        """("done", outcome) or ("fault", what stopped it).

        What is `given` is kept for later questions of the same stamp; the folder may be another by then.
        """
        if given is not None:
            self.sources, self._stamp = given, question.stamp
        try:
            sources = self._read(question.stamp)
            if question.kind != "propose":
                return "done", KINDS[question.kind](sources, question, tell)
            asked = ask(sources, question.formula, question.asking.said)
            return "done", propose(sources, asked, tell)
        except OptimiserError as fault:
            return "fault", fault_of(fault)
        except MemoryError:
            return "fault", LOST
        except Exception as fault:  # told to the maker, never swallowed
            return "fault", broken(fault)

    def words(self, question: Question, found: Any) -> tuple[str, Any]:
        """("done", what is shown of a proposal or of what stands in its way, None of another answer) or
        ("fault", what stopped it).
        """
        if question.kind != "propose" or self.sources is None:
            return "done", None
        try:
            return "done", outcome_shown(found, Figures(self.sources.worktable.settings.decimal))
        except Exception as fault:
            return "fault", broken(fault)

    def _read(self, stamp: int) -> Sources:
        if self.sources is None or stamp != self._stamp:
            self.sources, self._stamp = open_worktable(self._folder), stamp
        return self.sources
