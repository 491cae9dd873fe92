"""What stays out of solution as rows: one helper for each substance of limited solubility.

The judge takes the constants of the line that is there; a row that several lines share takes the strictest of
them. Polyols and micelles, which hold more, are not counted: there are no lenient rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.rules import Forecast
from optimiser.lp.scope import Piece, Rows, Scope, merged
from optimiser.model.rows import Var
from optimiser.science.constants import OILS, reading
from optimiser.science.preservation import undissociated
from optimiser.science.salts import acid_in

ZERO, ONE = Fraction(0), Fraction(1)
LIGHTEST_OIL = Fraction(4, 5)
FIGURES = ("solubility", "acid_solubility")


@dataclass(frozen=True, slots=True)
class _Member:
    """A line that brings a substance: grams of it in one gram, and grams one ml of water and of oil hold."""

    name: str
    part: Fraction
    in_water: Fraction
    in_oil: Fraction


def undissolved(rule: Forecast, scope: Scope) -> Rows:
    """Out of each substance: what is there less what is held; all of them together at most the limit."""
    if scope.lenient or rule.high is None:
        return Rows(())
    pieces, extra, outs = [], [], {}
    for number, (key, members) in enumerate(sorted(_substances(scope).items())):
        flag = f"u:{rule.head.id}:{number}"
        extra.append(Var(flag, ZERO, None, "C", f"{key} out of solution"))
        brought = {member.name: member.part for member in members}
        there = scope.weighted(lambda one, brought=brought: brought.get(one.id, ZERO))  # type: ignore[misc]
        water, oil = (min(getattr(m, end) for m in members) for end in ("in_water", "in_oil"))
        held = scope.weighted(lambda one, w=water, o=oil: -w * _water(one) - o * _oil(one))  # type: ignore[misc]
        pieces.append(Piece(merged(merged(there, held), {flag: -ONE}), None, ZERO, key, None, meaning=True))
        outs[flag] = 1 / min(member.part for member in members)
    pieces.append(Piece(outs, None, rule.high, "most", ONE))
    return Rows(tuple(pieces), tuple(extra))


def _substances(scope: Scope) -> dict[str, list[_Member]]:
    """Lines by the substance they bring."""
    found: dict[str, list[_Member]] = {}
    window = scope.request.ph_window
    for name, one in sorted(scope.request.ingredients.items()):
        for figure in FIGURES:
            holds = reading(one, figure)
            if holds is None:
                continue
            acid, part = (
                acid_in(one, scope.request.substances) if figure == "acid_solubility" else (None, ONE)
            )
            pka = acid.pka[0] if acid is not None and acid.pka else None
            if figure == "acid_solubility" and (window is None or pka is None):
                continue
            alpha = ONE if window is None or pka is None else undissociated(window[0], pka)
            in_water = holds / 100 / alpha
            in_oil = holds / 100 * (reading(one, "oil_partition") or ZERO)
            key = f"{figure}:{acid.name if acid is not None else name}"
            found.setdefault(key, []).append(_Member(name, part, in_water, in_oil))
    return found


def _water(one: Ingredient) -> Fraction:
    content = reading(one, "water_content")
    return ONE if content is None else content / 100


def _oil(one: Ingredient) -> Fraction:
    return 1 / (reading(one, "density") or LIGHTEST_OIL) if one.group in OILS else ZERO
