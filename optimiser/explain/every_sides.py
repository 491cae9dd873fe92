"""The sides of a request's musts that may be given up, and the rows that stand for each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from optimiser.domain.lists import RuleSide
from optimiser.domain.request import Request
from optimiser.domain.rules import Rule
from optimiser.explain.conflict import musts
from optimiser.explain.giving import NEVER, sides_of
from optimiser.explain.words import Tongue, side_words, who
from optimiser.model.rows import Model, Row, Var

OF_WHERE: dict[str, Literal["low", "high"]] = {"least": "low", "most": "high"}
ZERO = Fraction(0)
Keep = Callable[[Rule], bool]
"""True for a rule that always stays."""


@dataclass(frozen=True, slots=True)
class Sides:
    """`sides` in the order they are given up, first those to give up first; `rows` of each by name."""

    model: Model
    sides: tuple[RuleSide, ...]
    rows: tuple[frozenset[str], ...]

    @property
    def everything(self) -> int:
        return (1 << len(self.sides)) - 1

    def chosen(self, bits: int) -> tuple[RuleSide, ...]:
        return tuple(side for i, side in enumerate(self.sides) if bits >> i & 1)

    def part(self, kept: int) -> Model:
        """The model with only these sides, and with what is never given up."""
        gone = frozenset[str]().union(*(rows for i, rows in enumerate(self.rows) if not kept >> i & 1))
        return replace(self.model, rows=tuple(row for row in self.model.rows if row.name not in gone))

    def bits_of(self, names: frozenset[str]) -> int:
        """The sides that own some of these rows."""
        return sum(1 << i for i, rows in enumerate(self.rows) if rows & names)


def never_given_up(rule: Rule) -> bool:
    """Law, physics and safety, and with them the window of a pH that a preservative hangs on."""
    return rule.head.basis in NEVER


def sides_in(request: Request, model: Model, keep: Keep = never_given_up) -> Sides:
    """The sides whose rows can matter: rows that the limits of their variables imply are left out."""
    lean = without_implied(model)
    tongue = Tongue(request)
    by_rule: dict[str, list[Row]] = {}
    for row in lean.rows:
        by_rule.setdefault(row.rule, []).append(row)
    found: list[tuple[RuleSide, frozenset[str]]] = []
    for rule in musts(request):
        rows = by_rule.get(rule.head.id, [])
        if rows and not keep(rule):
            found += _sides(rule, rows, tongue)
    return Sides(lean, tuple(side for side, _ in found), tuple(rows for _, rows in found))


def _sides(rule: Rule, rows: Sequence[Row], tongue: Tongue) -> list[tuple[RuleSide, frozenset[str]]]:
    """Its low and its high side where each row belongs to one; else the rule as a whole."""
    own: dict[Literal["low", "high"], set[str]] = {}
    for row in rows:
        side = OF_WHERE.get(row.name.removeprefix(f"{rule.head.id}:"))
        if side is None:
            return [(RuleSide(rule, "all", rule.head.sentence), frozenset(r.name for r in rows))]
        own.setdefault(side, set()).add(row.name)
    return [
        (RuleSide(rule, side, words_of(rule, side, tongue)), frozenset(own[side])) for side in sorted(own)
    ]


def words_of(rule: Rule, which: str, tongue: Tongue) -> str:
    """What one side asks: `You ask at least 45 % clay.`"""
    for side in sides_of(rule):
        if side.floor == (which == "low"):
            return f"{who(rule)} {side_words(rule, side, side.asked, tongue)}."
    return rule.head.sentence


def without_implied(model: Model) -> Model:
    """The model without the row sides that hold for every value its variables may have."""
    own = {var.name: var for var in model.vars}
    rows = []
    for row in model.rows:
        least, most = _end(row, own, up=False), _end(row, own, up=True)
        lower = None if row.lower is None or (least is not None and least >= row.lower) else row.lower
        upper = None if row.upper is None or (most is not None and most <= row.upper) else row.upper
        if lower is not None or upper is not None:
            rows.append(replace(row, lower=lower, upper=upper))
    return replace(model, rows=tuple(rows))


def _end(row: Row, own: dict[str, Var], *, up: bool) -> Fraction | None:
    """The least or the most the row can come to; None where that has no end."""
    total = ZERO
    for name, coef in row.coef:
        limit = own[name].upper if (coef > 0) == up else own[name].lower
        if limit is None:
            return None
        total += coef * limit
    return total
