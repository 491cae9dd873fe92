"""A trial's measures and entries in words, the same on every screen."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from optimiser.domain.readings import READABLE, SETTABLE
from optimiser.domain.trials import Entry, Trial
from optimiser.domain.vocabulary import unit_words

Short = Callable[[Fraction], str]


def measure_words(measure: str) -> str:
    """`thickness`, `pH of the finished batch`, `speed of stirring`; a score's own name."""
    known = READABLE.get(measure) or SETTABLE.get(measure)
    return measure if known is None else known.words


def taken_back(one: Entry, trial: Trial) -> bool:
    """Whether a later entry says that this one does not count."""
    return one.number not in {entry.number for entry in trial.counting} and one.what != "corrected"


def entry_words(one: Entry, short: Short) -> str:
    """All that an entry says but its day and kind: `pH of the finished batch 5.1 at 22 °C; Ilse`."""
    value = "" if one.value is None else _value(one, short(one.value), short)
    weight = "" if one.grams is None else f"{one.ingredient} {short(one.grams)} g"
    stored = "" if one.stored_c is None else f"stood at {short(one.stored_c)} °C"
    cycles = "" if one.cycles is None else f"{one.cycles} times frozen and thawed"
    back = "" if one.corrects is None else f"entry {one.corrects} does not count"
    texts = (weight, value, stored, one.light, cycles, one.outcome, one.path, one.text, back, one.who)
    return "; ".join(filter(None, texts))


def _value(one: Entry, value: str, short: Short) -> str:
    """What was read, and how warm it was then."""
    words = (measure_words(one.measure), value, unit_words(one.unit))
    at = "" if one.at_c is None else f"at {short(one.at_c)} °C"
    return " ".join(filter(None, (*words, at)))
