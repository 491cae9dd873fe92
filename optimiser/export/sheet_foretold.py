"""What a batch should read beside its pH, and what its parts do, for the sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.outcome import ProposedLine
from optimiser.domain.trials import Expected
from optimiser.export.plain import clean
from optimiser.export.sheet import Check
from optimiser.export.wording import Wording

ZERO = Fraction(0)
DAY_OLD = "after 24 h"


def foretold_checks(expected: Iterable[Expected], wording: Wording) -> tuple[Check, ...]:
    """Density and thickness, to be read where one has the means; nothing where none is foretold."""
    found = []
    for one in expected:
        if one.measure == "density":
            what = "Density: a cup of known volume, weighed full"
            found.append(Check("before filling", what, _span(one, wording, 2), one.unit))
        if one.measure == "thickness" and one.rate is not None:
            what = f"Thickness, read at {wording.number(one.rate)}/s"
            found.append(Check(DAY_OLD, what, _span(one, wording, 1), one.unit))
    return tuple(found)


def _span(one: Expected, wording: Wording, places: int) -> str:
    """`about 1.2, between 1.09 and 1.24 g/ml`"""
    value, low, high = (wording.number(end, places) for end in (one.value, one.low, one.high))
    return f"about {value}, between {low} and {high} {one.unit}"


def by_role(
    lines: Iterable[ProposedLine], ingredients: Mapping[str, Ingredient]
) -> tuple[tuple[str, Fraction], ...]:
    """Shares of the whole by what each line does first, the largest first; else by its group."""
    found: dict[str, Fraction] = {}
    for line in lines:
        ingredient = ingredients.get(line.ingredient)
        said = (
            (ingredient.roles[0] if ingredient.roles else ingredient.group) if ingredient else line.ingredient
        )
        found[clean(said)] = found.get(clean(said), ZERO) + line.percent
    return tuple(sorted(found.items(), key=lambda pair: (-pair[1], pair[0])))
