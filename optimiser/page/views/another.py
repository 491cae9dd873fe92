"""The answer another way, beside the free one; or why there is none."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.domain.outcome import Proposals
from optimiser.export.why_words import stage_words
from optimiser.page.kinds import Other
from optimiser.page.views.answer import Answer, outcome_shown
from optimiser.page.views.beside import BesideShown, beside_shown
from optimiser.page.views.figures import Figures
from optimiser.requests.sentences import first_upper


@dataclass(frozen=True, slots=True)
class AnotherShown:
    """`told` are sentences on what each aim comes to; `answer` stands where there is no formula."""

    told: tuple[str, ...]
    beside: BesideShown | None
    answer: Answer | None


def another_of(found: Other, figures: Figures) -> AnotherShown:
    forced = found.forced
    if forced is None or not isinstance(found.free, Proposals):
        return AnotherShown((), None, outcome_shown(found.free, figures))
    if forced.beside is None or not isinstance(forced.outcome, Proposals):
        return AnotherShown((), None, outcome_shown(forced.outcome, figures))
    words = stage_words(found.free, forced.outcome, figures.short, figures.signed)
    told = tuple(first_upper(text) for text in words)
    return AnotherShown(told, beside_shown(forced.beside, figures, whole=False), None)
