"""Which substances of a formula act against microbes, and how much of each a gram of every line holds.

A blend is counted substance by substance. An ingredient of one substance whose least free dose is known
stands for it: wherever that substance stands (as such, or as another salt of the same acid), so many grams of
the ingredient stand there, with its own ratio between oil and water and its own acid constant. A blend with a
least free dose of its own stands for itself alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from optimiser.domain.ingredient import Ingredient, Part
from optimiser.domain.substance import Substance
from optimiser.science.constants import End, free_preservative
from optimiser.science.powers import ONE, ZERO
from optimiser.science.preservation import Preservative
from optimiser.science.salts import listed_salt, unlisted_salt

Substances = Mapping[str, Substance]
WATER = frozenset({"aqua", "water"})
Content = Literal["low", "high", "lenient"]
"""Which content of a blend counts: its low end, its high end, or the high end where nobody looked it up."""


@dataclass(frozen=True, slots=True)
class Lender:
    """An ingredient with a least free dose, and how many grams of it a gram of each line is worth."""

    ingredient: Ingredient
    parts: Mapping[str, Fraction]


def lenders_among(
    group: str,
    lenders: Mapping[str, Ingredient],
    lines: Iterable[Ingredient],
    substances: Substances,
    content: Content = "low",
) -> tuple[Lender, ...]:
    """Those that stand for something in the lines, by id; a line with a least free dose lends its own."""
    lines = tuple(lines)
    known = {**lenders, **{one.id: one for one in lines}}
    found = []
    for name in sorted(known):
        if not known[name].figure(f"free_dose_{group}"):
            continue
        worth = {line.id: grams_in(line, known[name], substances, content) for line in lines}
        parts = {line: grams for line, grams in worth.items() if grams}
        if parts:
            found.append(Lender(known[name], parts))
    return tuple(found)


def constants_of(
    lender: Lender, group: str, substances: Substances, bound: End, least: End, oil: Fraction | None = None
) -> Preservative | None:
    """Its constants, counted in grams of the lender as bought; `oil` as in `free_preservative`."""
    return free_preservative(lender.ingredient, group, substances, bound, least, oil)


def grams_in(line: Ingredient, lender: Ingredient, substances: Substances, content: Content) -> Fraction:
    """Grams of the lender that one gram of the line is worth."""
    if line.id == lender.id:
        return ONE
    own = _only_substance(lender)
    if own is None or not line.composition:
        return ZERO
    worth = (
        (_share(part, content), _worth(part.substance, own.substance, substances))
        for part in line.composition
    )
    return sum((share * grams for share, grams in worth), ZERO) / own.value


def _only_substance(lender: Ingredient) -> Part | None:
    """What it is beside water; None for a blend, whose dose speaks of the blend alone."""
    parts = [part for part in lender.composition or () if part.substance.casefold() not in WATER]
    return parts[0] if len(parts) == 1 and parts[0].value else None


def _share(part: Part, content: Content) -> Fraction:
    if content == "lenient":
        return part.low if part.sure else part.high
    return part.high if content == "high" else part.low


def _worth(name: str, own: str, substances: Substances) -> Fraction:
    """Grams of the substance `own` that one gram of `name` is worth: by mol of the acid both are of."""
    if name.casefold() == own.casefold():
        return ONE
    first, second = _acid(name, substances), _acid(own, substances)
    if first is None or second is None or first[0] != second[0]:
        return ZERO
    return first[1] / second[1]


def _acid(name: str, substances: Substances) -> tuple[str, Fraction] | None:
    """The acid with one constant that it is or is the salt of, and mol of it in a gram."""
    listed = substances.get(name.casefold())
    salt = unlisted_salt(name, substances) if listed is None else listed_salt(listed, substances)
    if salt is not None:
        return (salt.acid.name, salt.acids / salt.molar_mass) if len(salt.acid.pka) == 1 else None
    if listed is None or listed.counter_ion or len(listed.pka) != 1 or not listed.molar_mass:
        return None
    return (listed.name, 1 / listed.molar_mass) if (listed.charge or 0) < 0 else None
