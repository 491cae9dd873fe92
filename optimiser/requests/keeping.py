"""What the formula holds on to: default targets, hero lines, preservatives, few newcomers."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.domain.brief import Aim
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Remark
from optimiser.domain.rules import Amount, Level, Mean, Newcomers, Rule, Share
from optimiser.requests import carried
from optimiser.requests.carried import Today
from optimiser.requests.draft import Draft

GUARDED: frozenset[Aim] = frozenset({"cheapest", "fewest-ingredients", "shelf-first"})
"""Aims that would empty the jar if nothing held on to what the base has."""


def kept(
    draft: Draft, stated: tuple[Rule, ...], allowed: Mapping[str, Ingredient], aim: tuple[Aim, ...]
) -> tuple[tuple[Rule, ...], tuple[Remark, ...]]:
    """Rules that stand unless the brief speaks of the same thing, and what had to be let go."""
    today = Today(draft.amounts, allowed, draft.sources.vocabulary)
    measured = [r for r in stated if isinstance(r, Share | Level | Mean) and r.head.rank is None]
    guarded = GUARDED & set(aim) if not draft.options.bare else frozenset()
    rules: list[Rule] = []
    let_go = _bare(draft, aim)
    if not draft.formula.targets or guarded:
        spoken = {carried.name_of(rule) for rule in measured}
        floor_only = bool(draft.formula.targets) and guarded == {"cheapest"}
        bands, lost = carried.bands(today, floor_only=floor_only, stated=spoken)
        rules += bands
        let_go += lost
    if "cheapest" in guarded:
        rules += carried.floors_of_work(today)
    rules += _floors(draft, stated, today)
    if not any(isinstance(rule, Newcomers) for rule in stated):
        rules.append(carried.few_newcomers())
    return tuple(rules), let_go


def _bare(draft: Draft, aim: tuple[Aim, ...]) -> tuple[Remark, ...]:
    guarded = sorted(GUARDED & set(aim))
    if not draft.options.bare or not guarded:
        return ()
    text = "what the base has is not carried over; only stated rules, hero lines and preservation hold"
    return (Remark("bare", f"Bare, for the aim {' and '.join(guarded)}: {text}."),)


def _floors(draft: Draft, stated: tuple[Rule, ...], today: Today) -> tuple[Rule, ...]:
    spoken = {rule.ingredient for rule in stated if isinstance(rule, Amount)}
    preservatives = {i.id for i in draft.amounts.present if i.group == "preservative"}
    dosed = {line.ingredient for _, line in draft.formula.lines if line.dosed}
    over = _over_the_limit(draft)
    found: list[Rule] = []
    for names, why, origin in (
        (set(draft.formula.hero), "it is on the front label", "hero"),
        (preservatives, "preservation is not thinned", "preservative"),
        (dosed, "the reading may take up to this", "dosed"),
    ):
        found += carried.floors(names - spoken, today, why=why, origin=origin, loosened=over)
    return tuple(found)


def _over_the_limit(draft: Draft) -> frozenset[str]:
    """Base lines that hold a substance whose limit the base breaks (the product now stays on, say)."""
    over: set[str] = set()
    for limit in draft.limits().limits:
        factors = {name.casefold(): factor for name, factor in limit.members}
        holders: dict[str, Fraction] = {}
        for ingredient in draft.amounts.present:
            for part in ingredient.composition or ():
                factor = factors.get(part.substance.casefold())
                if factor is not None:
                    counted = part.high / 100 * factor * draft.amounts.of(ingredient.id)
                    holders[ingredient.id] = holders.get(ingredient.id, Fraction(0)) + counted
        if sum(holders.values()) > limit.maximum:
            over |= set(holders)
    return frozenset(over)
