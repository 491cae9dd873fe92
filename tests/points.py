"""Points and small worlds for tests of the core: amounts in short, rows looked at without a solver."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.judge import judge
from optimiser.domain.formula import Formula, Line, Phase
from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.outcome import Verdict
from optimiser.domain.product import Product
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Rule
from optimiser.lp.build import build
from optimiser.model.rows import Model, Row
from tests.small import INGREDIENTS, fr, ingredient, request

FREE = {
    i.id: i
    for i in (
        ingredient("citric", "acid", "acid", "7", roles="acid-adjuster", solids="100"),
        replace(
            ingredient(
                "phenox", "preservative-neutral", "preservative", "15", least_dose_bacteria="0.6", solids="0"
            ),
            figures={
                "least_dose_bacteria": Figure(fr("0.6"), fr("0.5"), fr("0.8"), "%", "invented"),
                "solids": Figure(fr(0), fr(0), fr(0), "%", "invented"),
            },
        ),
        replace(
            ingredient("perfume", "scent", "scent", "90", roles="perfuming"),
            composition=None,
        ),
        replace(
            ingredient(
                "blend", "preservative-acid", "preservative", "9", least_dose_yeast="1", ph_works_max="5.2"
            ),
            inci="Sodium Benzoate (and) Aqua",
            composition=(
                Part("Sodium Benzoate", fr(40), fr(35), fr(45)),
                Part("Aqua", fr(60), fr(55), fr(65)),
            ),
            figures={
                "least_dose_yeast": Figure(fr(1), fr("0.8"), fr("1.25"), "%", "invented"),
                "ph_works_max": Figure(fr("5.2"), fr(5), fr("5.4"), "", "invented"),
                "solids": Figure(fr(40), fr(30), fr(50), "%", "invented"),
                "thickening": Figure(fr("0.2"), fr("0.1"), fr("0.4"), "", "invented"),
            },
        ),
    )
}
"""Beside the small worktable: an adjuster, a preservative with a spread, a make-up not known, a mixture."""


def only(asked: Request, names: Collection[str]) -> Request:
    """The request with slots for these ingredients alone, each in a phase that the formula has."""
    phases = [phase.name for phase in asked.formula.phases]
    slots = tuple(
        slot if slot.phase in phases else Slot(slot.ingredient, phases[-1])
        for slot in asked.slots
        if slot.ingredient in names
    )
    return replace(
        asked,
        slots=slots,
        ingredients={i: asked.ingredients[i] for i in sorted(names)},
        newcomers=asked.newcomers & set(names),
    )


def wide(*rules: Rule) -> Request:
    """The small request with the further ingredients as newcomers, and these rules alone."""
    asked = request()
    slots = (*asked.slots, *(Slot(name, "B") for name in FREE))
    return replace(
        asked,
        ingredients={**INGREDIENTS, **FREE},
        slots=slots,
        newcomers=asked.newcomers | set(FREE),
        rules=rules,
    )


def at(asked: Request, filled: bool = True, /, **shares: str | int) -> dict[Slot, Fraction]:
    """Shares in % by ingredient, each in its (first) slot; the filler makes up 100."""
    where = {slot.ingredient: slot for slot in reversed(asked.slots)}
    amounts = {where[name]: fr(share) for name, share in shares.items()}
    if filled:
        amounts[asked.filler] = 100 - sum(amounts.values(), Fraction(0))
    return amounts


def pot(*lines: tuple[str, Ingredient]) -> Amounts:
    """Amounts of (share in %, ingredient), all in one phase."""
    return Amounts(
        tuple((Slot(one.id, "A"), fr(share)) for share, one in lines), {one.id: one for _, one in lines}
    )


def said(asked: Request, shares: Mapping[Slot, Fraction]) -> dict[str, Verdict]:
    """The judge's verdicts by rule id."""
    return {v.rule.head.id: v for v in judge(asked, shares)}


def rows_of(model: Model, rule: str) -> dict[str, Row]:
    """A rule's rows by the part of the name that is not the rule's."""
    return {row.name.removeprefix(f"{rule}:"): row for row in model.rows if row.rule == rule}


def kept(asked: Request, shares: Mapping[Slot, Fraction]) -> dict[str, bool]:
    """By rule (and `physics`): whether its rows hold at the point, for some value of its helper variables."""
    model = build(asked)
    rows: dict[str, list[Row]] = {"physics": [], **{rule.head.id: [] for rule in asked.rules}}
    for row in model.rows:
        rows[row.rule].append(row)
    return {rule: rows_hold(part, asked, shares) for rule, part in rows.items()}


def rows_hold(rows: Iterable[Row], asked: Request, shares: Mapping[Slot, Fraction]) -> bool:
    """Whether these rows hold at the point, for some value of their helper variables."""
    known = {f"x:{slot}": shares.get(slot, Fraction(0)) for slot in asked.slots}
    for slot in asked.slots:
        there = any(share for other, share in shares.items() if other.ingredient == slot.ingredient)
        known[f"y:{slot.ingredient}"] = Fraction(int(there))
    for slot in asked.fixed:
        known[f"h:{slot}"] = Fraction(int(bool(shares.get(slot))))
    return _some_value_holds(rows, known)


def _some_value_holds(rows: Iterable[Row], known: Mapping[str, Fraction]) -> bool:
    rows = tuple(rows)
    helpers = sorted({name for row in rows for name, _ in row.coef} - set(known))
    assert all(name[:2] in ("c:", "s:") for name in helpers)
    return any(
        all(_holds(row, {**known, **dict(zip(helpers, picked, strict=True))}) for row in rows)
        for picked in itertools.product((Fraction(0), Fraction(1)), repeat=len(helpers))
    )


def _holds(row: Row, values: Mapping[str, Fraction]) -> bool:
    value = sum((coef * values[name] for name, coef in row.coef), Fraction(0))
    return (row.lower is None or value >= row.lower) and (row.upper is None or value <= row.upper)


def clays(**base: str) -> Formula:
    """A formula of water and clays, in one phase."""
    rest = 100 - sum((fr(share) for share in base.values()), Fraction(0))
    lines = (
        Line("water", rest, fills=True),
        *(Line(name, fr(share)) for name, share in sorted(base.items())),
    )
    return Formula("clays", "Clays", Product("rinse-off"), (Phase("B", "", lines),), fr(250))


def share_of(lines: Iterable[tuple[str, Fraction]], name: str) -> Fraction:
    return dict(lines).get(name, Fraction(0))


def placed(asked: Request, lines: Iterable[tuple[str, Fraction]]) -> dict[Slot, Fraction]:
    """Shares by ingredient put into the ingredients' (first) slots."""
    where: dict[str, Slot] = {slot.ingredient: slot for slot in reversed(asked.slots)}
    return {where[name]: share for name, share in lines}


def named(found: Mapping[str, Ingredient], name: str, **changed: object) -> dict[str, Ingredient]:
    """The ingredients with one of them changed."""
    return {**found, name: replace(found[name], **changed)}  # type: ignore[arg-type]
