"""What is known half-way: the formula as it is, the product as it will be, the numbers of the base."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.brief import Brief
from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.product import Product
from optimiser.domain.request import Slot
from optimiser.domain.wanted import Wanted
from optimiser.law.pick import Picked
from optimiser.requests.candidates import is_watery
from optimiser.requests.options import Options
from optimiser.requests.sources import Sources
from optimiser.requests.wants import Base


@dataclass(frozen=True, slots=True)
class Draft:
    """A request in the making. `day` dates the lots of the shelf; `window` is the pH asked for."""

    sources: Sources
    formula: Formula
    brief: Brief
    options: Options
    product: Product
    amounts: Amounts
    base: Base
    window: tuple[Fraction, Fraction] | None
    watery: bool
    day: date

    @property
    def ingredients(self) -> Mapping[str, Ingredient]:
        return self.sources.worktable.ingredients

    @property
    def only_shelf(self) -> bool:
        return "shelf" in (self.options.only_from, self.brief.only_from)

    @property
    def swaps(self) -> tuple[tuple[str, str], ...]:
        """(out, use) pairs of the brief and of the options."""
        return (*((item.out, item.use) for item in self.brief.instead_of), *self.options.instead_of)

    def limits(self, product: Product | None = None) -> Picked:
        """Limits in force for the product (as it will be, unless another is given)."""
        return self.sources.limits_for(product or self.product)

    def on_shelf(self) -> dict[str, Fraction]:
        """Grams of each ingredient in lots that are in date."""
        grams: dict[str, Fraction] = {}
        for lot in self.sources.worktable.shelf:
            if lot.expires is None or lot.expires >= self.day:
                grams[lot.ingredient] = grams.get(lot.ingredient, Fraction(0)) + lot.grams
        return grams


def draft(sources: Sources, formula: Formula, brief: Brief, options: Options, day: date | None) -> Draft:
    """The worktable's rules date stands in for today unless a day is given: no answer hangs on a clock."""
    amounts = Amounts(tuple(sorted(base_amounts(formula).items())), sources.worktable.ingredients)
    window = ph_window((*formula.targets, *brief.targets))
    settings = sources.worktable.settings
    return Draft(
        sources,
        formula,
        brief,
        options,
        product=replace(formula.product, **dict(brief.product)),
        amounts=amounts,
        base=Base(
            amounts,
            settings.currency,
            window[1] if window else None,
            window,
            sources.constants,
            sources.worktable.responses,
        ),
        window=window,
        watery=is_watery(formula, sources.worktable.ingredients),
        day=day or settings.rules_date,
    )


def base_amounts(formula: Formula) -> dict[Slot, Fraction]:
    """Share by slot, % w/w."""
    amounts: dict[Slot, Fraction] = {}
    for phase, line in formula.lines:
        slot = Slot(line.ingredient, phase)
        amounts[slot] = amounts.get(slot, Fraction(0)) + line.percent
    return amounts


def ph_window(wants: Iterable[Wanted]) -> tuple[Fraction, Fraction] | None:
    """The last pH window that is a must."""
    found = None
    for want in wants:
        if want.topic == "ph" and want.rank is None:
            found = (want.span.low or Fraction(0), want.span.high or Fraction(14))
    return found
