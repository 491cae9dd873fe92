"""What the process that solves can be asked besides a proposal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from optimiser.domain.lists import Lists
from optimiser.domain.outcome import Outcome
from optimiser.domain.request import Request
from optimiser.domain.trials import Trial
from optimiser.domain.why import Forced, Why
from optimiser.page.questions import Question
from optimiser.requests.sources import Sources
from optimiser.search.certified import MAX_CASES
from optimiser.workflows.ask import ask
from optimiser.workflows.learning import learn_from
from optimiser.workflows.sheet import PAPERS, SheetWanted, make_sheet
from optimiser.workflows.tradeoff import tradeoff
from optimiser.workflows.trials import plan_trial
from optimiser.workflows.why import clashes_of, why, why_not

Tell = Callable[[str], None]


def _learn(sources: Sources, _question: Question, tell: Tell) -> Any:
    tell("learning from the trials")
    return learn_from(sources, ())


def _curve(sources: Sources, question: Question, tell: Tell) -> Any:
    between, other = question.about
    return tradeoff(sources, ask(sources, question.formula, question.asking.said), between, other, tell)


@dataclass(frozen=True, slots=True)
class Reasons:
    """Why the proposal is so; of an impossible request, or a wish that is missed, every clash and way out."""

    found: Why | Outcome
    lists: tuple[Lists, ...]

    @property
    def request(self) -> Request:
        return (self.found.outcome if isinstance(self.found, Why) else self.found).request


@dataclass(frozen=True, slots=True)
class Other:
    """The free answer, and the answer another way where the free one is a proposal."""

    free: Outcome
    forced: Forced | None


def _why(sources: Sources, question: Question, tell: Tell) -> Reasons:
    said = {**question.asking.said, "certify": MAX_CASES}
    asked = ask(sources, question.formula, said)
    found = why(sources, asked, tell)
    outcome = found.outcome if isinstance(found, Why) else found
    return Reasons(found, clashes_of(outcome, asked, tell))


def _another(sources: Sources, question: Question, tell: Tell) -> Other:
    gone, come = question.about
    asked = ask(sources, question.formula, question.asking.said)
    without, swaps = ((), ((gone, come),)) if come else ((gone,), ())
    free, forced = why_not(sources, asked, without, swaps, tell)
    return Other(free, forced[0] if forced else None)


def _sheet(sources: Sources, question: Question, tell: Tell) -> Mapping[str, str]:
    """HTML by the name of the paper; the last of `about` marks the files besides the tables."""
    proposal, batch, because, trial, _mark = question.about
    path = Path(sources.worktable.folder) / "proposals" / f"{proposal}.yaml"
    tell("weighing out")
    made = make_sheet(SheetWanted(path, path.parent, batch=batch, because=because, trial=trial), sources)
    return {name: paper(made) for name, paper in PAPERS.items()}


def _trial(sources: Sources, question: Question, tell: Tell) -> Trial:
    """A trial as it is to be written; the last of `about` tells one press from another."""
    word, day, size, name, _once = question.about
    tell("weighing out")
    return plan_trial(sources, word, date.fromisoformat(day), name=name, size=size)


KINDS: Mapping[str, Callable[[Sources, Question, Tell], Any]] = {
    "learn": _learn,
    "curve": _curve,
    "why": _why,
    "another": _another,
    "sheet": _sheet,
    "trial": _trial,
}
