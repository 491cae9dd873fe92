"""Where a preservative does not count at the top of the pH window: the window moved down to where it does."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from optimiser.domain.rules import Acidity, Covers, Reaches
from optimiser.explain.concession import Cure
from optimiser.explain.giving import changed, may_give
from optimiser.explain.rest import Rest
from optimiser.explain.words import Tongue, asked_words, reworded, who
from optimiser.lp.aims import step_of

ZERO = Fraction(0)


def lowered(rest: Rest, rule: Covers | Reaches, tongue: Tongue) -> list[Cure]:
    """The highest window, as wide as the one asked, at whose top the group can be covered; none: nowhere."""
    window = _window_of(rest, rule)
    if window is None:
        return []
    for top in _tops(rest, rule):
        new = replace(window, low=max(ZERO, window.low - (window.high - top)), high=top)
        words = asked_words(new, tongue)
        cured = changed(rest.request, window, reworded(new, words))
        if rest.possible(cured):
            asked = asked_words(window, tongue)
            sentence = f"{who(window)} {asked}; at {words} what covers {rule.group} counts."
            steps = (window.high - top) / step_of(window)
            return [Cure(window, asked, words, sentence, steps, cured)]
    return []


def _window_of(rest: Rest, rule: Covers | Reaches) -> Acidity | None:
    """The must that the rule's pH comes from."""
    found = [
        one
        for one in rest.request.rules
        if isinstance(one, Acidity) and may_give(one) and one.high == rule.ph_top
    ]
    return found[0] if found else None


def _tops(rest: Rest, rule: Covers | Reaches) -> list[Fraction]:
    """Where some preservative begins to count, below the pH asked, the highest first."""
    tops = {
        figure.low
        for one in rest.request.ingredients.values()
        if one.figure(f"least_dose_{rule.group}") is not None
        and (figure := one.figure("ph_works_max")) is not None
    }
    asked = rule.ph_top or ZERO
    return sorted((top for top in tops if top < asked), reverse=True)
