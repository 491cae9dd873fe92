"""Rules that always stand: supplier's ranges, the law, clashes, and what one thing needs beside it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts, counted
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.product import Product
from optimiser.domain.request import PairRemark, Remark, Slot
from optimiser.domain.rules import MICROBES, Absent, Clash, Covers, Head, Legal, Needs, Ratio, Rule, UseRange
from optimiser.domain.selector import AnyOf, Pick, Selector, contains_substance, matches
from optimiser.domain.worktable import ClashRow, Condition
from optimiser.law.pick import Picked
from optimiser.requests.candidates import USE_FLAGS
from optimiser.requests.low_risk import driest, low_risk_of, water_free
from optimiser.requests.sentences import number, span
from optimiser.requests.wants import covers

OILY = AnyOf((Pick("group", "oil"), Pick("group", "butter"), Pick("group", "ester"), Pick("group", "scent")))
HOMES = AnyOf(
    (
        Pick("role", "emulsifying"),
        Pick("role", "solubilising"),
        Pick("role", "absorbent"),
        Pick("group", "surfactant"),
    )
)
OIL_WITHOUT_HOME = Fraction(1, 2)
LEAST_CARRIER = Fraction(1, 6)


@dataclass(frozen=True, slots=True)
class Standing:
    rules: tuple[Rule, ...] = ()
    remarks: tuple[Remark, ...] = ()
    pairs: tuple[PairRemark, ...] = ()

    def __add__(self, other: Standing) -> Standing:
        return Standing(self.rules + other.rules, self.remarks + other.remarks, self.pairs + other.pairs)


def use_ranges(candidates: Iterable[Ingredient], base: Amounts) -> Standing:
    """Supplier's ranges: they bind where safety hangs on them; elsewhere the base may keep what it has."""
    rules: list[Rule] = []
    remarks: list[Remark] = []
    for ingredient in candidates:
        has = base.of(ingredient.id)
        low, high = ingredient.use_min, ingredient.use_max
        if has and low is not None and ingredient.holds == "range":
            low = min(low, has)
        if has and high is not None and has > high and ingredient.holds == "range":
            outside = f"outside the supplier's range of {span(low, high)}"
            text = f"{ingredient.name} stands at {number(has)} %, {outside}."
            remarks.append(Remark(ingredient.id, text, "supplier's range"))
            high = has
        if low is None and high is None:
            continue
        head = Head(
            f"range#{ingredient.id}",
            f"{ingredient.name}, when used: {span(low, high)} (supplier's range).",
            "supplier's range in ingredients.csv",
            basis="safety" if ingredient.holds == "must" else "house",
        )
        rules.append(UseRange(head, ingredient.id, low, high))
    return Standing(tuple(rules), tuple(remarks))


def legal(picked: Picked, candidates: Iterable[Ingredient]) -> Standing:
    """Limits whose substances some candidate holds, and what has to be checked by hand."""
    held = _substances_of(candidates)
    rules: list[Rule] = []
    for limit in picked.limits:
        if any(name.casefold() in held for name, _ in limit.members):
            head = Head(f"law#{limit.id}", limit.sentence, limit.source, basis="law")
            rules.append(Legal(head, limit.members, limit.maximum))
    return Standing(tuple(rules))


def _substances_of(candidates: Iterable[Ingredient]) -> frozenset[str]:
    """What `contains_substance` says yes to for some candidate, in lower case."""
    every = tuple(candidates)
    parts = (part for one in every for part in one.composition or () if part.high > 0)
    return frozenset(one.inci.casefold() for one in every) | {part.substance.casefold() for part in parts}


def by_hand(picked: Picked, base: Amounts) -> tuple[Remark, ...]:
    """Limits no column can express, for substances the formula holds; and lines whose make-up is unknown."""
    found = []
    for row in picked.by_hand:
        holders = [i.name for i in base.present if contains_substance(i, row.substance)]
        if holders:
            condition = (row.condition or "see the source").rstrip(".")
            text = f"{row.substance} (in {', '.join(holders)}): {condition}. Check by hand."
            found.append(Remark(row.substance, text, row.source))
    unknown = "its make-up is not known, so no legal limit and no allergen could be counted for it."
    found += [
        Remark(ingredient.id, f"{ingredient.name}: {unknown} Check by hand.")
        for ingredient in base.present
        if ingredient.composition is None
    ]
    return tuple(dict.fromkeys(found))


def clashes(
    rows: Iterable[ClashRow],
    facts: Mapping[str, str | Fraction | None],
    accepted: Mapping[str, str],
    base: Amounts,
) -> Standing:
    """Pairs that never stand together. A note, or a `should` that the base already breaks, only speaks up."""
    rules: list[Rule] = []
    pairs: list[PairRemark] = []
    for row in rows:
        if not all(holds(condition, facts) for condition in row.when):
            continue
        reason = accepted.get(row.id)
        if reason is not None:
            pairs.append(
                PairRemark(Remark(row.id, f"Accepted ({reason}): {row.why}", row.source), row.a, row.b)
            )
        elif row.strength == "note" or (row.strength == "should" and _both(row, base)):
            pairs.append(PairRemark(Remark(row.id, row.why, row.source), row.a, row.b))
        else:
            head = Head(
                f"clash#{row.id}", row.why, row.source, basis="safety" if row.strength == "must" else "house"
            )
            rules.append(Clash(head, row.a, row.b))
    return Standing(tuple(rules), pairs=tuple(pairs))


def _both(row: ClashRow, base: Amounts) -> bool:
    first = [i.id for i in base.present if counted(row.a, i).surely]
    second = [i.id for i in base.present if counted(row.b, i).surely]
    return any(i != j for i in first for j in second)


def holds(condition: Condition, facts: Mapping[str, str | Fraction | None]) -> bool:
    """Whether a product fact meets the condition; a fact that is not known counts as meeting it."""
    fact = facts.get(condition.fact)
    if fact is None:
        return True
    if isinstance(fact, Fraction):
        asked = Fraction(condition.value)
        return {
            "=": fact == asked,
            "!=": fact != asked,
            "<": fact < asked,
            "<=": fact <= asked,
            ">": fact > asked,
            ">=": fact >= asked,
        }[condition.sign]
    return (fact == condition.value) == (condition.sign == "=")


def needs(candidates: Iterable[Ingredient], *, watery: bool) -> Standing:
    """What process.csv says an ingredient needs beside it, and a home for oil in a watery product."""
    rules: list[Rule] = []
    for ingredient in candidates:
        if ingredient.way is None or not ingredient.way.needs:
            continue
        selector = read_selector(ingredient.way.needs)
        head = Head(
            f"needs#{ingredient.id}",
            f"{ingredient.name} needs {selector} beside it.",
            "process.csv",
            basis="house",
        )
        rules.append(Needs(head, Pick("ingredient", ingredient.id), Fraction(0), selector, Fraction(1, 100)))
    if watery:
        text = (
            "More than 0.5 % oil, butter, ester or scent in a watery product needs a home: an emulsifier, "
            "a solubiliser, a cleanser or an absorbent powder."
        )
        head = Head("house#oil-home", text, "common practice; the 0.5 % line is ours", basis="house")
        rules.append(Needs(head, OILY, OIL_WITHOUT_HOME, HOMES, Fraction(1, 5)))
    return Standing(tuple(rules))


def unfit(base: Amounts, product: Product) -> Standing:
    """Lines of the base that the product, as it now is, may not hold: grains in what stays on, say."""
    flag = USE_FLAGS.get(product.use, "")
    rules = []
    for ingredient in base.present:
        if ingredient.flag(flag) == "contains":
            text = f"{ingredient.name} is flagged {flag}, and the product is {product.use}."
            head = Head(f"use#{ingredient.id}", text, "flags.csv", basis="safety")
            rules.append(Absent(head, Pick("ingredient", ingredient.id)))
    return Standing(tuple(rules))


def carriers(slots: Iterable[Slot], present: Mapping[str, Ingredient], own: Collection[str]) -> Standing:
    """A newcomer that goes in with a carrier finds enough of it in its own phase."""
    rules: list[Rule] = []
    for slot in slots:
        way = present[slot.ingredient].way
        if slot.ingredient in own or way is None or not way.carried_by or way.carried_ratio is None:
            continue
        carrier = read_selector(way.carried_by)
        where = f"{present[slot.ingredient].name} in phase {slot.phase}"
        usual = f"{number(way.carried_ratio)} are usual"
        text = f"{where}: at least {number(1 / LEAST_CARRIER)} parts of {carrier} to one of it ({usual})."
        head = Head(
            f"carrier#{slot.ingredient}", text, "common practice: six to thirty-six parts seen", basis="house"
        )
        rules.append(
            Ratio(head, Pick("ingredient", slot.ingredient), carrier, None, LEAST_CARRIER, slot.phase)
        )
    return Standing(tuple(rules))


def read_selector(text: str) -> Selector:
    """`role:neutraliser` or several joined by ` or `; the loader has checked the names."""
    picks = []
    for part in text.split(" or "):
        name, _, value = part.strip().partition(":")
        picks.append(Pick(name, value.strip()))  # type: ignore[arg-type]  # checked by the loader
    return picks[0] if len(picks) == 1 else AnyOf(tuple(picks))


def coverage(
    stated: Iterable[Rule], window: tuple[Fraction, Fraction] | None, base: Amounts, *, watery: bool
) -> Standing:
    """A product with water covers bacteria, yeast and mould, asked or not, unless it counts as low risk."""
    if not watery:
        return Standing(remarks=water_free(base))
    stated = tuple(stated)
    low = low_risk_of(base, window, driest(stated))
    if low.counts:
        return Standing(low.rules, low.remarks)
    ph_top = window[1] if window else None
    there = {rule.group for rule in stated if isinstance(rule, Covers) and rule.head.rank is None}
    head = Head("house#covers", "", "common practice: water grows microbes; a challenge test decides")
    return Standing(tuple(covers(head, group, ph_top) for group in MICROBES if group not in there))


def excluded(ingredient: Ingredient, leave_out: Iterable[Selector]) -> bool:
    """Whether a must of the request leaves this ingredient out, for sure or for want of knowledge."""
    return any(matches(selector, ingredient) is not False for selector in leave_out)


def facts_of(
    product: Product, window: tuple[Fraction, Fraction] | None, *, watery: bool
) -> dict[str, str | Fraction | None]:
    """Product facts by the names clashes.csv may use."""
    return {
        "use": product.use,
        "area": product.area,
        "age": product.age,
        "form": product.form,
        "ph_low": window[0] if window else None,
        "ph_high": window[1] if window else None,
        "water": "yes" if watery else "no",
    }
