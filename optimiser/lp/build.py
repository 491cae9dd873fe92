"""The linear model of a request: physics, then the rows of every rule."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.incumbent import Incumbent
from optimiser.domain.request import Request, Slot
from optimiser.domain.rules import Rule
from optimiser.lp import names
from optimiser.lp.families import rows_of
from optimiser.lp.scope import HUNDRED, Coefs, Piece, Scope, binary, merged
from optimiser.model.rows import Model, Row, Var

TRACE = Fraction(1, 100)
"""Least share of a line that is there at all, % w/w: nothing is proposed as a trace."""
PHYSICS = "physics"
CEILING = "ceiling#"
"""How the rule begins that names the ceiling of a line dosed to a reading; its slot follows."""
ONE, ZERO = Fraction(1), Fraction(0)


def build(
    request: Request,
    *,
    without: Collection[str] = (),
    elastic: Collection[str] = (),
    lenient: bool = False,
    incumbent: Incumbent | None = None,
    spelled_out: bool = False,
) -> Model:
    """All rows of the request, cost left at zero.

    Rules named in `without` are left out; wishes and rules named in `elastic` may be missed by a slack
    `w:<rule>:<side>` in the unit of their limit. `spelled_out`: every row names its lines, however many.
    """
    scope = Scope(request, lenient, incumbent, spelled_out)
    variables, rows = _physics(scope)
    for rule in sorted(request.rules, key=lambda r: r.head.id):
        if rule.head.id in without:
            continue
        loose = rule.head.rank is not None or rule.head.id in elastic
        more_vars, more_rows = _of_rule(rule, scope, loose)
        variables += more_vars
        rows += more_rows
    more_vars, more_rows = _sums(scope)
    variables += more_vars
    rows += more_rows
    return Model(
        name=request.name,
        vars=tuple(sorted(dict.fromkeys(variables), key=lambda v: v.name)),
        rows=tuple(sorted(rows, key=lambda r: r.name)),
        cost=(),
        sense="min",
        constant=ZERO,
    )


def rows_alone(rule: Rule, request: Request, incumbent: Incumbent) -> tuple[list[Var], list[Row]]:
    """What `build` writes, spelled out, for one rule that stands by itself, without the physics."""
    scope = Scope(replace(request, rules=(rule,)), incumbent=incumbent, spelled_out=True)
    return _of_rule(rule, scope, loose=False)


def _physics(scope: Scope) -> tuple[list[Var], list[Row]]:
    request = scope.request
    variables = [Var(names.share(s), ZERO, HUNDRED, "C", _title(scope, s.ingredient)) for s in request.slots]
    variables += [binary(names.used(i), f"{_title(scope, i)} is used") for i in sorted(scope.slots_of)]
    rows = [
        _row("total", {names.share(s): ONE for s in request.slots}, HUNDRED, HUNDRED, "The total is 100 %.")
    ]
    for ingredient, slots in sorted(scope.slots_of.items()):
        total, flag = scope.total(ingredient), names.used(ingredient)
        least = min([TRACE] + [request.base[s] for s in slots if request.base.get(s)])
        rows.append(_row(f"there:{ingredient}", merged(total, {flag: -HUNDRED}), None, ZERO, ""))
        rows.append(_row(f"no-trace:{ingredient}", merged(total, {flag: -least}), ZERO, None, ""))
    named = {rule.head.id for rule in request.rules if rule.head.id.startswith(CEILING)}
    for slot, amount in sorted(request.fixed.items()):
        variables.append(binary(names.held(slot), f"{slot} is kept"))
        rows += _ceiling(slot, amount, named=f"{CEILING}{slot}" in named)
    return variables, rows


def _sums(scope: Scope) -> tuple[list[Var], list[Row]]:
    """The variables that stand for sums of many lines, and what each is."""
    variables = [Var(name, ZERO, HUNDRED, "C") for name in sorted(scope.sums)]
    rows = [
        _row(name, merged(coefs, {name: -ONE}), ZERO, ZERO, "") for name, coefs in sorted(scope.sums.items())
    ]
    return variables, rows


def _ceiling(slot: Slot, amount: Fraction, *, named: bool) -> list[Row]:
    """A dosed line counts at its ceiling; where a rule names that, the rule alone keeps it from more."""
    text = f"{slot} counts at its ceiling of {amount} %."
    share, held = names.share(slot), names.held(slot)
    if not named:
        return [_row(f"ceiling:{slot}", {share: ONE, held: -amount}, ZERO, ZERO, text)]
    return [
        _row(f"ceiling:{slot}", {share: ONE, held: -amount}, ZERO, None, text),
        _row(f"kept:{slot}", {share: ONE, held: -HUNDRED}, None, ZERO, ""),
    ]


def _title(scope: Scope, ingredient: str) -> str:
    return scope.request.ingredients[ingredient].name


def _row(name: str, coefs: Coefs, low: Fraction | None, high: Fraction | None, sentence: str) -> Row:
    return Row(f"{PHYSICS}:{name}", tuple(sorted(coefs.items())), low, high, PHYSICS, sentence)


def _of_rule(rule: Rule, scope: Scope, loose: bool) -> tuple[list[Var], list[Row]]:
    made = rows_of(rule, scope)
    variables, rows = list(made.vars), []
    for piece in made.pieces:
        coefs = dict(piece.coefs)
        if loose and not piece.meaning:
            variables.append(Var(names.slack(rule.head.id, piece.where), ZERO, None, "C", rule.head.sentence))
            coefs |= _give(rule.head.id, piece)
        name = f"{rule.head.id}:{piece.where}" if piece.where else rule.head.id
        rows.append(
            Row(name, tuple(sorted(coefs.items())), piece.low, piece.high, rule.head.id, rule.head.sentence)
        )
    return variables, rows


def _give(rule: str, piece: Piece) -> Coefs:
    per = piece.per_limit or ONE
    return {names.slack(rule, piece.where): -per if piece.high is not None else per}
