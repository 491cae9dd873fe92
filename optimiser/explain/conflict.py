"""A minimal set of rules that cannot hold together, each member proved needed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.outcome import Witness
from optimiser.domain.request import Request
from optimiser.domain.rules import Rule
from optimiser.errors import SolverError
from optimiser.lp import names
from optimiser.lp.build import build
from optimiser.model.rows import Model
from optimiser.search.grid import on_grid
from optimiser.search.stages import Optimum
from optimiser.search.telling import totals
from optimiser.solver.highs import solve_milp
from optimiser.solver.interface import Limits, Outcome, Solution

BLAME = (
    "asked",
    "briefs",
    "formulas",
    "carried",
    "hero",
    "dosed",
    "ceiling",
    "preservative",
    "house",
    "range",
    "needs",
    "clash",
    "law",
)
"""Whose rule is named first when several conflicts explain the same: what was asked comes before the law."""
SOLVERS = 1e-9
"""By so much the solver lets a row be broken."""
Feasible = Callable[[frozenset[str]], Solution]


class UnsureError(SolverError):
    """The solver hit a limit while a conflict was being sought: nothing may be claimed."""


@dataclass(frozen=True, slots=True)
class Found:
    rules: tuple[Rule, ...]
    witnesses: tuple[Witness, ...]
    model: Model


def musts(request: Request) -> tuple[Rule, ...]:
    """Rules that may be blamed, most blameable first. The total and other physics are none."""

    def order(rule: Rule) -> tuple[int, str]:
        origin = rule.head.id.replace("/", "#").split("#", 1)[0]
        place = BLAME.index(origin) if origin in BLAME else BLAME.index("formulas")
        return place, rule.head.id

    return tuple(sorted((r for r in request.rules if r.head.rank is None), key=order))


def hard_model(request: Request) -> Model:
    """All musts, assumed numbers at the end that favours the request: infeasible here is infeasible."""
    wishes = {r.head.id for r in request.rules if r.head.rank is not None}
    return build(request, without=wishes, lenient=True)


def find_conflict(request: Request, limits: Limits, model: Model | None = None) -> Found:
    """One minimal conflict of an infeasible request; UnsureError when the solver cannot decide a subset.

    `model` is its hard model where that is at hand.
    """
    model = model or hard_model(request)
    rules = musts(request)
    everything = frozenset(r.head.id for r in rules)
    writing = frozenset(row.rule for row in model.rows)

    known = _Known(model)

    def feasible(kept: frozenset[str]) -> bool:
        return known.holds(kept) or known.kept(_answer(model, everything - kept, limits))

    ids = _quick(feasible, frozenset(), False, [r.head.id for r in rules if r.head.id in writing])
    members = tuple(r for r in rules if r.head.id in set(ids))
    kept = frozenset(ids)
    witnesses = []
    for rule in members:
        answer = _answer(model, everything - (kept - {rule.head.id}), limits)
        if answer is None:
            raise UnsureError(f"the conflict could not be shown minimal at {rule.head.id}")
        others = tuple(r for r in members if r is not rule)
        part = model.without_rules(set(everything - (kept - {rule.head.id})))
        lines = _lines(replace(request, rules=others), part, answer, limits)
        witnesses.append(Witness(rule.head.id, lines))
    return Found(members, tuple(witnesses), model.without_rules(set(everything - kept)))


class _Known:
    """Answers found so far, by the rules that they break: what breaks nothing of a set need not be solved."""

    def __init__(self, model: Model) -> None:
        self._rows = [
            (row.rule, [(name, float(value)) for name, value in row.coef], row.lower, row.upper)
            for row in model.rows
        ]
        self._broken: list[frozenset[str]] = []

    def holds(self, kept: frozenset[str]) -> bool:
        return any(not broken & kept for broken in self._broken)

    def kept(self, answer: Solution | None) -> bool:
        if answer is None:
            return False
        self._broken.append(
            frozenset(rule for rule, coef, low, high in self._rows if _breaks(answer, coef, low, high))
        )
        return True


def _breaks(
    answer: Solution, coef: list[tuple[str, float]], low: Fraction | None, high: Fraction | None
) -> bool:
    """Beyond what the solver itself lets pass."""
    found = sum(value * answer.values[name] for name, value in coef)
    return (low is not None and found < float(low) - SOLVERS) or (
        high is not None and found > float(high) + SOLVERS
    )


def _answer(model: Model, dropped: frozenset[str], limits: Limits) -> Solution | None:
    """A solution without the dropped rules, or None when there is none."""
    answer = solve_milp(model.without_rules(set(dropped)), limits)
    if answer.outcome is Outcome.INFEASIBLE:
        return None
    if answer.objective is None:
        raise UnsureError(f"the solver could not decide a part of the conflict ({answer.outcome.value})")
    return answer


def _quick(
    feasible: Callable[[frozenset[str]], bool], base: frozenset[str], fresh: bool, rules: Sequence[str]
) -> list[str]:
    """Divide and conquer (Junker 2004, QuickXplain): a minimal conflict, drawn from the front of `rules`."""
    if fresh and not feasible(base):
        return []
    if len(rules) <= 1:
        return list(rules)
    half = len(rules) // 2
    front, back = rules[:half], rules[half:]
    from_back = _quick(feasible, base | set(front), True, back)
    from_front = _quick(feasible, base | set(from_back), bool(from_back), front)
    return from_front + from_back


def _lines(
    request: Request, model: Model, answer: Solution, limits: Limits
) -> tuple[tuple[str, Fraction], ...]:
    """A formula in whole steps that the judge accepts, of the solver's ingredients; else its own, rounded.

    Other sets are not tried: with few rules left, the nearest of them all can take a solver minutes.
    """
    shares = on_grid(request, Optimum(model, answer.values, ()), limits, quick=True)
    if shares is None:
        found = {slot: answer.values[names.share(slot)] for slot in request.slots}
        shares = {slot: Fraction(round(value * 1000), 1000) for slot, value in found.items()}
    return tuple((name, share) for name, share in sorted(totals(shares).items()) if share)
