"""Puts an optimum on the grid of printed shares: whole steps, total exactly 100 %, every rule kept."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.checks.judge import broken, judge
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import GRID, Request, Slot
from optimiser.domain.rules import Cost, Mean, Ratio
from optimiser.lp import names
from optimiser.model.rows import Model, Row, Var
from optimiser.search.stages import Optimum
from optimiser.solver.interface import Limits
from optimiser.solver.solving import solve

TRIES = 6
ZERO, ONE = Fraction(0), Fraction(1)
NOTHING = Fraction(1, 10**6)
"""A miss below this is none: solvers leave as much."""


def on_grid(
    request: Request, optimum: Optimum, limits: Limits, *, quick: bool = False
) -> dict[Slot, Fraction] | None:
    """Shares on the grid that the judge accepts, nearest to the optimum; None when there are none.

    First with the optimum's set of ingredients, then with any set. In each, first with all that was reached:
    a wish that was met stays met, no more lines change and no more packs are bought; wishes give way last.
    `quick` keeps to the optimum's set.
    """
    tried: list[Model] = []
    kept = ((True, 0), (True, 1), (True, 2))
    for keep_set, easing in kept if quick else (*kept, (False, 1), (False, 2)):
        model = _stepped(request, optimum, keep_set, easing)
        if model in tried:
            continue
        tried.append(model)
        found = judged_in_steps(request, model, dict.fromkeys(request.slots, GRID), limits)
        if found is not None:
            return found
    return None


def judged_in_steps(
    request: Request, model: Model, steps: Mapping[Slot, Fraction], limits: Limits
) -> dict[Slot, Fraction] | None:
    """Shares in whole steps that the judge accepts; `model` counts each share in its own of `steps` (%)."""
    for _ in range(TRIES):
        answer = solve(model, limits=limits)
        if answer.objective is None:
            return None
        shares = {
            slot: round(answer.values.get(names.share(slot), 0)) * steps[slot] for slot in request.slots
        }
        failed = broken(judge(request, shares))
        if not failed:
            return {slot: share for slot, share in shares.items() if share}
        model = _tightened(model, failed)
    return None


def _stepped(request: Request, optimum: Optimum, keep_set: bool, easing: int) -> Model:
    """The rules' rows with shares counted in whole steps; the aim is the distance from the optimum.

    Rows of the aim's stages were met by shares between the steps: of these only the counts (lines changed,
    packs to buy) stay, and only without easing.
    """
    model = optimum.model
    if keep_set:
        model = model.without_vars(optimum.out)
    known = {var.name for var in model.vars}
    steps = {share: GRID for share in map(names.share, request.slots) if share in known}
    whole = set(model.whole) if not easing else set()
    rows = [row for row in model.rows if row.rule != "aim" or _counts(row, whole)]
    used = {name for row in rows for name, _ in row.coef}
    variables = tuple(
        _step_var(v, optimum.values, keep_set, easing)
        for v in model.vars
        if v.name in steps or v.name in used
    )
    aims = {name: Fraction(repr(optimum.values.get(name, 0.0))) for name in steps}
    return nearest_in_steps(replace(model, vars=variables, rows=tuple(rows)), steps, aims)


def nearest_in_steps(model: Model, steps: Mapping[str, Fraction], aims: Mapping[str, Fraction]) -> Model:
    """The model with each variable named in `steps` a whole count of its step (%), nearest to `aims` (%)."""
    rows = [in_steps(row, steps) for row in model.rows]
    far: list[Var] = []
    cost: dict[str, Fraction] = {}
    for name, step in steps.items():
        aim, distance = aims[name] / step, f"far:{name}"
        far.append(Var(distance, ZERO, None, "C"))
        cost[distance] = step / GRID
        rows.append(Row(f"far:over:{name}", ((name, ONE), (distance, -ONE)), None, aim, "far", ""))
        rows.append(Row(f"far:under:{name}", ((name, ONE), (distance, ONE)), aim, None, "far", ""))
    variables = (counted(var, steps[var.name]) if var.name in steps else var for var in model.vars)
    return replace(model, vars=(*variables, *far), rows=tuple(rows)).with_cost(cost)


def _counts(row: Row, whole: set[str]) -> bool:
    return not row.name.startswith("aim:held:") and any(name in whole for name, _ in row.coef)


def in_steps(row: Row, steps: Mapping[str, Fraction]) -> Row:
    """The row over counts of steps instead of shares."""
    coef = tuple((name, value * steps.get(name, ONE)) for name, value in row.coef)
    return replace(row, coef=coef)


def counted(var: Var, step: Fraction) -> Var:
    """A share as a whole count of its step; limits that lie between two steps go outward."""
    lower = None if var.lower is None else Fraction(math.floor(var.lower / step))
    upper = None if var.upper is None else Fraction(math.ceil(var.upper / step))
    return replace(var, kind="I", lower=lower, upper=upper)


def _step_var(var: Var, values: Mapping[str, float], keep_set: bool, easing: int) -> Var:
    if var.name.startswith("x:"):
        return var
    if var.name.startswith("w:"):
        reached = Fraction(repr(max(values.get(var.name, 0.0), 0.0)))
        if easing > 1:
            return var
        met = not easing and reached < NOTHING
        return replace(var, upper=ZERO if met else reached + reached / 1000 + GRID)
    if keep_set and var.kind != "C":
        value = Fraction(round(values.get(var.name, 0.0)))
        return replace(var, lower=value, upper=value)
    return var


def _per_limit(verdict: Verdict) -> int:
    """Rows of means and of cost are written over 100 g, those of a ratio over what stands below it."""
    return 100 if isinstance(verdict.rule, Mean | Cost | Ratio) else 1


def _tightened(model: Model, failed: tuple[Verdict, ...]) -> Model:
    """The failed rules' rows over shares drawn in by twice what was missed, at least a millionth."""
    by_rule = {
        v.rule.head.id: max(abs(v.margin or ZERO) * 2, Fraction(1, 10**6)) * _per_limit(v) for v in failed
    }

    def drawn_in(row: Row) -> Row:
        by = by_rule.get(row.rule)
        if by is None or row.lower == row.upper or not any(names.is_amount(name) for name, _ in row.coef):
            return row
        return replace(
            row,
            lower=None if row.lower is None else row.lower + by,
            upper=None if row.upper is None else row.upper - by,
        )

    return replace(model, rows=tuple(drawn_in(row) for row in model.rows))
