"""A trial's measures and entries in words, the same on every screen."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from optimiser.domain.readings import READABLE, SETTABLE
from optimiser.domain.trials import Entry, Trial

Short = Callable[[Fraction], str]


def measure_words(measure: str) -> str:
    """`thickness`, `pH of the finished batch`, `speed of stirring`; a score's own name."""
    known = READABLE.get(measure) or SETTABLE.get(measure)
    return measure if known is None else known.words


def taken_back(one: Entry, trial: Trial) -> bool:
    """Whether a later entry says that this one does not count."""
    return one.number not in {entry.number for entry in trial.counting} and one.what != "corrected"


def entry_words(one: Entry, short: Short) -> str:
    """All that an entry says but its day and kind: `kaolin 45.1 g; lot 7`."""
    value = "" if one.value is None else f"{measure_words(one.measure)} {short(one.value)} {one.unit}".strip()
    weight = "" if one.grams is None else f"{one.ingredient} {short(one.grams)} g"
    stored = "" if one.stored_c is None else f"stood at {short(one.stored_c)} C"
    cycles = "" if one.cycles is None else f"{one.cycles} times frozen and thawed"
    back = "" if one.corrects is None else f"entry {one.corrects} does not count"
    texts = (weight, value, stored, one.light, cycles, one.outcome, one.path, one.text, back, one.who)
    return "; ".join(filter(None, texts))
