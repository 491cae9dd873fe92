"""At which value of a number that nobody looked up an 'impossible' would vanish."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.request import Request
from optimiser.domain.rules import Acidity, Covers, Level, Mean, Reaches, Rule, Thickness
from optimiser.explain.rest import Rest
from optimiser.requests.sentences import number
from optimiser.solver.interface import Limits

HALVINGS = 7
MOST_TRIED = 6


def vanishes(request: Request, limits: Limits, numbers: Iterable[tuple[str, str]]) -> dict[str, str]:
    """By `ingredient figure`: `impossible at 0.3, possible from 0.42 on`; only numbers that do it alone."""
    rest = Rest(request, limits, lenient=False)
    found: dict[str, str] = {}
    for name, figure in list(numbers)[:MOST_TRIED]:
        one = request.ingredients.get(name)
        value = one.figure(figure) if one is not None else None
        if one is None or value is None or value.sure:
            continue
        told = _turning(rest, one, figure, value)
        if told:
            found[f"{name} {figure}"] = told
    return found


def _turning(rest: Rest, one: Ingredient, name: str, figure: Figure) -> str:
    """The value nearest to today's from which on the rows have an answer, to three digits or so."""
    for end, word in ((figure.high, "from {} on"), (figure.low, "up to {}")):
        if end == figure.value or not _possible(rest, one, name, figure, end):
            continue
        bad, good = figure.value, end
        for _ in range(HALVINGS):
            middle = (bad + good) / 2
            bad, good = (bad, middle) if _possible(rest, one, name, figure, middle) else (middle, good)
        unit = f" {figure.unit}" if figure.unit else ""
        at = word.format(f"{_short(good)}{unit}")
        return f"Impossible at {number(figure.value)}{unit}, possible {at}."
    return ""


def _short(value: Fraction) -> str:
    return f"{float(value):.3g}"


def _possible(rest: Rest, one: Ingredient, name: str, figure: Figure, value: Fraction) -> bool:
    """With this number known to be `value`."""
    known = replace(figure, value=value, low=value, high=value, status="measured")
    changed = replace(one, figures={**one.figures, name: known})
    request = replace(rest.request, ingredients={**rest.request.ingredients, one.id: changed})
    redo = [rule.head.id for rule in request.rules if _reads(rule, name) and rule.head.rank is None]
    return bool(rest.solved(rest.with_changed(request, redo=redo)).has_values)


def _reads(rule: Rule, name: str) -> bool:
    """Whether the rows of a rule may hang on a number of that name; in doubt they do."""
    match rule:
        case Level():
            return rule.strength == name
        case Mean():
            return rule.figure == name
        case Covers():
            return name in (f"least_dose_{rule.group}", "ph_works_max")
        case Acidity() | Thickness() | Reaches():
            return True
        case _:
            return hasattr(rule, "predicted")
