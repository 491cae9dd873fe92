"""What the law wants said on the pack because of what is in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.product import Product
from optimiser.domain.request import Remark
from optimiser.domain.selector import contains_substance
from optimiser.law.allergens import LISTED
from optimiser.law.facts import applies, read_facts
from optimiser.law.limits import Limit, LimitRow
from optimiser.law.pick import in_force

SAYS = ("label must", "pack must", "on the label", "label the", "keep from children", "keep away")


def demanded(
    rows: Iterable[LimitRow], place: str, on: date, product: Product, present: Iterable[Ingredient]
) -> tuple[Remark, ...]:
    """Conditions of limits in force that speak of the pack, for substances that are there; each once."""
    here = tuple(present)
    facts = read_facts(use=product.use, area=product.area, age=product.age, form=product.form)
    found = []
    for row in rows:
        if row.jurisdiction != place.upper() or row.basis == "label" or not _speaks(row.condition):
            continue
        if not in_force(row, on) or not applies(row, facts):
            continue
        if any(contains_substance(i, name) for i in here for name in (row.substance, *row.aliases)):
            found.append(Remark(row.substance, f"{row.substance}: {row.condition}.", row.instrument))
    return tuple(dict.fromkeys(found))


def above_threshold(labels: Iterable[Limit], held: Mapping[str, Fraction]) -> tuple[Remark, ...]:
    """Label thresholds other than the allergens' that the formula passes; `held` is % w/w by INCI name."""
    low = {name.casefold(): share for name, share in held.items()}
    found = []
    for one in labels:
        if one.family.endswith(LISTED):
            continue
        total = sum((low.get(name.casefold(), Fraction(0)) * by for name, by in one.members), Fraction(0))
        if total > one.maximum:
            found.append(Remark(one.family, one.sentence, one.source))
    return tuple(found)


def _speaks(condition: str) -> bool:
    words = condition.casefold()
    return any(says in words for says in SAYS)
