"""The pot of a trial as it was weighed, each lot apart, for the judge's own models."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.request import Slot
from optimiser.domain.trials import Trial
from optimiser.domain.worktable import Worktable
from optimiser.trials.causes import Cause

BETWEEN = " lot "
Stuff = tuple[str, str]
"""(ingredient, lot)."""


@dataclass(frozen=True, slots=True)
class Pot:
    """Grams and ingredients by a name of their own for each lot; `stuff` turns the name back."""

    grams: Mapping[str, Fraction]
    ingredients: Mapping[str, Ingredient]
    stuff: Mapping[str, Stuff]

    def amounts(self, ingredients: Mapping[str, Ingredient] | None = None) -> Amounts:
        whole = sum(self.grams.values(), Fraction(0))
        lines = ((Slot(name, ""), 100 * grams / whole) for name, grams in sorted(self.grams.items()))
        return Amounts(tuple(lines), ingredients or self.ingredients)

    def without(self, ingredients: frozenset[str]) -> Pot:
        kept = {name: grams for name, grams in self.grams.items() if self.stuff[name][0] not in ingredients}
        return replace(self, grams=kept)

    def with_values(self, values: Mapping[Cause, float]) -> dict[str, Ingredient]:
        """The ingredients with these numbers in the place of the table's."""
        found = dict(self.ingredients)
        for name in self.grams:
            one = found[name]
            figures = dict(one.figures)
            for what, figure in one.figures.items():
                value = values.get(Cause(*self.stuff[name], what))
                if value is not None:
                    figures[what] = _at(figure, value)
            found[name] = replace(one, figures=figures)
        return found


def _at(figure: Figure, value: float) -> Figure:
    known = Fraction(value)
    return replace(figure, value=known, low=known, high=known)


def pot_of(trial: Trial, table: Worktable, base: Mapping[Cause, Figure]) -> Pot:
    """What went into the trial; `base` holds the numbers to start from where they are not the table's."""
    grams: dict[Stuff, Fraction] = {}
    weighed = [one for one in trial.counting if one.what == "weighed" and one.grams is not None]
    named = {one.ingredient for one in weighed}
    for line in trial.lines:
        if line.ingredient not in named:
            key = (line.ingredient, line.lot)
            grams[key] = grams.get(key, Fraction(0)) + line.grams
    lots = {line.ingredient: line.lot for line in trial.lines}
    for one in weighed:
        key = (one.ingredient, one.lot or lots.get(one.ingredient, ""))
        grams[key] = grams.get(key, Fraction(0)) + (one.grams or Fraction(0))
    kept = {key: amount for key, amount in grams.items() if amount > 0}
    named_so = {key: f"{key[0]}{BETWEEN}{key[1]}" if key[1] else key[0] for key in kept}
    ingredients = {named_so[key]: _ingredient(key, named_so[key], table, base) for key in kept}
    return Pot(
        {named_so[key]: amount for key, amount in kept.items()},
        ingredients,
        {name: key for key, name in named_so.items()},
    )


def _ingredient(stuff: Stuff, name: str, table: Worktable, base: Mapping[Cause, Figure]) -> Ingredient:
    one = table.ingredients[stuff[0]]
    figures = {what: base.get(Cause(*stuff, what), figure) for what, figure in one.figures.items()}
    return replace(one, id=name, figures=figures)
