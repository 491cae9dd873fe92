"""What the process that solves can be asked besides a proposal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from optimiser.page.questions import Question
from optimiser.requests.draft import Sources
from optimiser.workflows.ask import ask
from optimiser.workflows.learning import learn_from
from optimiser.workflows.tradeoff import tradeoff
from optimiser.workflows.why import why

Tell = Callable[[str], None]


def _learn(sources: Sources, _question: Question, tell: Tell) -> Any:
    tell("learning from the trials")
    return learn_from(sources, ())


def _curve(sources: Sources, question: Question, tell: Tell) -> Any:
    between, other = question.about
    return tradeoff(sources, ask(sources, question.formula, question.asking.said), between, other, tell)


def _why(sources: Sources, question: Question, tell: Tell) -> Any:
    return why(sources, ask(sources, question.formula, question.asking.said), tell)


KINDS: Mapping[str, Callable[[Sources, Question, Tell], Any]] = {
    "learn": _learn,
    "curve": _curve,
    "why": _why,
}
