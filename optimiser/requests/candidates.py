"""Which ingredients may stand in the formula, and in which phase."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.formula import Formula, Phase
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.product import Product
from optimiser.domain.request import SetAside, Slot
from optimiser.domain.rules import Level, Mean, Reaches, Rule
from optimiser.science.constants import claim
from optimiser.science.profiles import WATERS

THICKENERS = ("gum", "carbomer", "cellulose-ether")
USE_FLAGS = {"leave-on": "not-leave-on", "rinse-off": "not-rinse-only"}
AGE_FLAGS = {"under-6": "not-under-6", "child": "not-under-6"}


@dataclass(frozen=True, slots=True)
class Needed:
    """What a newcomer must bring: figures that rules use, and whether the product is free of water."""

    figures: tuple[str, ...]
    levels: tuple[str, ...]
    water_free: bool
    product: Product
    has_adjuster: bool = False
    binding: bool = False


def needed_by(
    rules: Iterable[Rule], product: Product, *, water_free: bool, has_adjuster: bool = False
) -> Needed:
    asked = tuple(rules)
    figures = sorted({rule.figure for rule in asked if isinstance(rule, Mean)})
    levels = sorted({rule.strength for rule in asked if isinstance(rule, Level)})
    binding = any(isinstance(rule, Reaches) for rule in asked)
    return Needed(tuple(figures), tuple(levels), water_free, product, has_adjuster, binding)


def reason_against(ingredient: Ingredient, needed: Needed) -> str | None:
    """Why this ingredient is not considered, or None."""
    if ingredient.composition is None:
        return "its make-up is not known, so legal limits cannot be counted"
    if ingredient.pack is None:
        return "it has no price"
    if ingredient.way is None:
        return "no way of adding it is known"
    if needed.binding and (claim(ingredient) is None):
        return "what it holds back of a preservative is not known"
    missing = [name for name in needed.figures if ingredient.figure(name) is None]
    if missing:
        return f"no value for {missing[0]}"
    if (
        "thickening" in needed.levels
        and ingredient.group in THICKENERS
        and ingredient.figure("thickening") is None
    ):
        return "no thickening strength"
    flag = USE_FLAGS.get(needed.product.use)
    if flag and ingredient.flag(flag) == "contains":
        return f"it is flagged {flag}"
    age_flag = AGE_FLAGS.get(needed.product.age)
    if age_flag and ingredient.flag(age_flag) != "free":
        return f"it is flagged {age_flag} or not known to be free of it"
    if needed.has_adjuster and ingredient.group in ("acid", "alkali"):
        return "the base sets its pH by reading with its own line; a fixed dose beside it would be a guess"
    if needed.water_free and _has_water(ingredient):
        return "it brings water into a water-free product, which then needs an emulsifier and a preservative"
    return None


def _has_water(ingredient: Ingredient) -> bool:
    water = ingredient.figure("water_content")
    return water is None or water.high > 15


def slots_for(
    formula: Formula, ingredients: Mapping[str, Ingredient], needed: Needed
) -> tuple[tuple[Slot, ...], tuple[SetAside, ...]]:
    """Slots of the base's lines, one slot for each newcomer that may come, and those set aside."""
    slots = [Slot(line.ingredient, phase) for phase, line in formula.lines]
    aside = []
    alike: dict[tuple[str, str, str], str] = {}
    for name in sorted(set(ingredients) - formula.ingredients):
        reason = reason_against(ingredients[name], needed)
        if reason is None:
            key = _likeness_of(ingredients[name])
            if key not in alike:
                alike[key] = phase_for(ingredients[name], formula, ingredients)
            slots.append(Slot(name, alike[key]))
        else:
            aside.append(SetAside(name, reason, ingredients[name].name, ingredients[name].place))
    return tuple(dict.fromkeys(slots)), tuple(aside)


def _likeness_of(newcomer: Ingredient) -> tuple[str, str, str]:
    """All that `phase_for` looks at: newcomers alike in it go into one phase."""
    return newcomer.kind, newcomer.group, newcomer.way.stage if newcomer.way else ""


def phase_for(newcomer: Ingredient, formula: Formula, ingredients: Mapping[str, Ingredient]) -> str:
    """The phase where the base keeps what is most like the newcomer: its kind, its group, its stage."""

    kind, group, stage = _likeness_of(newcomer)

    def likeness(phase: Phase) -> tuple[int, Fraction]:
        there = [(ingredients[line.ingredient], line.percent) for line in phase.lines]
        by_stage = sum((p for i, p in there if i.way and i.way.stage == stage), Fraction(0))
        if any(i.kind == kind for i, _ in there):
            return 3, by_stage
        if any(i.group == group for i, _ in there):
            return 2, by_stage
        return (1, by_stage) if by_stage else (0, Fraction(0))

    best = max(range(len(formula.phases)), key=lambda n: (*likeness(formula.phases[n]), n))
    return formula.phases[best].name


def is_watery(formula: Formula, ingredients: Mapping[str, Ingredient]) -> bool:
    """More than 3 % water over all lines (bound water of powders counts for nothing)."""
    total = Fraction(0)
    for _, line in formula.lines:
        water = _water_in(ingredients[line.ingredient])
        if water > 15:
            total += line.percent * water / 100
    return total > 3


def _water_in(ingredient: Ingredient) -> Fraction:
    """% of it that is water: as stated, else by its parts; waters of unknown make-up count whole."""
    stated = ingredient.figure("water_content")
    if stated is not None:
        return stated.value
    if ingredient.composition is not None:
        parts = (part.value for part in ingredient.composition if part.substance.casefold() in WATERS)
        return sum(parts, Fraction(0))
    return Fraction(100 if ingredient.group == "water" else 0)
