"""Why a linear model from a file is impossible: every conflict, every cure, how far each limit must move."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

from optimiser.certify.proof import Cases, Feasible
from optimiser.errors import UsageError
from optimiser.explain.deciding import Caps, Judge
from optimiser.explain.enumerate import Clash, Cure, all_clashes
from optimiser.explain.repairs import Mix, Repair, cheapest_mix, repairs
from optimiser.explain.sides import (
    WHOLE,
    Member,
    Never,
    in_order,
    is_named,
    limit_of,
    members,
    row_named,
    rows_of_rules,
)
from optimiser.lp.build import PHYSICS
from optimiser.model.exact import exact_text
from optimiser.model.rows import Model
from optimiser.problems import did_you_mean
from optimiser.solver.highs import solve_lp, solve_milp
from optimiser.solver.interface import Limits, Outcome
from optimiser.workflows.solve_model import load_model, proof_as_list

Verdict = Literal["possible", "impossible", "within tolerance", "undecided"]
MOST = 10
NOT_BLAMED = rows_of_rules(PHYSICS)


@dataclass(frozen=True, slots=True)
class ModelExplanation:
    """`possible` and `impossible` are proved in exact fractions.

    `within tolerance`: proved to have no answer, yet short of one by so little that the solver sees none of
    it. `answer`: an exact answer. `solver`: what the float solver says, no more than an opinion.
    `clashes`, `cures`: the first `most` of `clash_count`, `cure_count` found, smaller ones first; `complete`:
    these are all there are. `checks`: parts of the model decided; `unsettled`: those that were not.
    """

    model: Model
    verdict: Verdict
    solver: Outcome
    answer: Mapping[str, Fraction] = field(default_factory=dict)
    clashes: tuple[Clash, ...] = ()
    cures: tuple[Cure, ...] = ()
    clash_count: int = 0
    cure_count: int = 0
    complete: bool = False
    unsettled: int = 0
    checks: int = 0
    repairs: tuple[Repair, ...] = ()
    mix: Mix | None = None


def explain_file(
    path: Path,
    *,
    most: int = MOST,
    seconds: float | None = None,
    never: Sequence[str] = (),
    first: Sequence[str] = (),
) -> ModelExplanation:
    """Explain the model in a `.json` (neutral form) or `.mps` file. Raises DataError, UsageError.

    `never` and `first` name rows, rules of rows or variables: what always stays, as physics does, and what is
    given up before the rest, in this order.
    """
    model = load_model(path)
    _known(model, (*never, *first))

    def stays(here: Model, member: Member) -> bool:
        return NOT_BLAMED(here, member) or any(is_named(here, member, name) for name in never)

    return explain_model(model, most=most, caps=Caps(seconds=seconds), never=stays, first=first)


def _known(model: Model, names: Sequence[str]) -> None:
    every = {row.name for row in model.rows} | {row.rule for row in model.rows if row.rule}
    every |= {var.name for var in model.vars} | {WHOLE}
    for name in names:
        if name not in every:
            hint = did_you_mean(name, every) or "name a row, the rule of a row, or a variable"
            raise UsageError(f'the model has no row, rule or variable "{name}"', hint)


def explain_model(
    model: Model,
    *,
    most: int = MOST,
    caps: Caps | None = None,
    never: Never = NOT_BLAMED,
    first: Sequence[str] = (),
) -> ModelExplanation:
    """The verdict, and for a model without an answer the conflicts, the cures and the repairs.

    `never`: members that always stay; those of rows whose rule is `physics` unless said otherwise.
    `first`: names of those to give up before the others; of cures of one size theirs come first.
    """
    judge = Judge(model, in_order(model, members(model, never), first), caps or Caps())
    found = judge.decide(judge.everything)
    solver = _opinion(model, judge.limits())
    if isinstance(found, Feasible):
        return ModelExplanation(model, "possible", solver, found.values, complete=True, checks=judge.checks)
    if not isinstance(found, Cases):
        return ModelExplanation(model, "undecided", solver, checks=judge.checks, unsettled=1)
    lists = all_clashes(judge)
    mix = cheapest_mix(judge)
    seen = (Outcome.OPTIMAL, Outcome.FEASIBLE, Outcome.UNBOUNDED)
    return ModelExplanation(
        model,
        "within tolerance" if solver in seen else "impossible",
        solver,
        clashes=lists.clashes[:most],
        cures=lists.cures[:most],
        clash_count=len(lists.clashes),
        cure_count=len(lists.cures),
        complete=lists.complete,
        unsettled=lists.unsettled,
        checks=judge.checks,
        repairs=repairs(judge, lists.clashes),
        mix=mix,
    )


def _opinion(model: Model, limits: Limits) -> Outcome:
    plain = model.with_cost({}, "min")
    return (solve_milp if model.whole else solve_lp)(plain, limits).outcome


def explanation_as_dict(found: ModelExplanation) -> dict[str, Any]:
    """Plain data for JSON: exact numbers in strings (`12`, `-0.375`, `1/3`)."""
    model = found.model
    return {
        "format": 1,
        "model": model.name,
        "outcome": found.verdict,
        "certified": found.verdict != "undecided",
        "solver_says": found.solver.value,
        "answer": _values(found.answer) if found.verdict == "possible" else None,
        "complete": found.complete,
        "checks": found.checks,
        "unsettled": found.unsettled,
        "conflicts": {
            "found": found.clash_count,
            "listed": [_clash(model, clash) for clash in found.clashes],
        },
        "cures": {
            "found": found.cure_count,
            "listed": [
                {"drop": [_member(model, member) for member in cure.members], "answer": _values(cure.values)}
                for cure in found.cures
            ],
        },
        "repairs": [_repair(model, repair) for repair in found.repairs],
        "mix": None if found.mix is None else _mix(model, found.mix),
    }


def _values(values: Mapping[str, Fraction]) -> dict[str, str]:
    """Those that are not 0."""
    return {name: exact_text(value) for name, value in values.items() if value}


def _member(model: Model, member: Member) -> dict[str, Any]:
    entry: dict[str, Any] = {"what": member.what, "name": member.name}
    if member.what == "whole":
        return entry | {"variables": list(member.vars)}
    limit = limit_of(model, member)
    entry |= {"side": member.side, "limit": None if limit is None else exact_text(limit)}
    if member.what == "row":
        row = row_named(model, member.name)
        entry |= {"rule": row.rule} if row.rule else {}
        entry |= {"sentence": row.sentence} if row.sentence else {}
    return entry


def _clash(model: Model, clash: Clash) -> dict[str, Any]:
    return {
        "members": [_member(model, member) for member in clash.members],
        "minimal": clash.minimal,
        "always": [_member(model, member) for member in clash.always],
        "whole_in_cases": list(clash.split),
        "proof": proof_as_list(clash.part, clash.proof),
    }


def _repair(model: Model, repair: Repair) -> dict[str, Any]:
    enough = repair.verdict == "enough"
    return _member(model, repair.member) | {
        "alone": repair.verdict,
        "new_limit": exact_text(repair.to) if repair.to is not None else None,
        "nothing_nearer_by": exact_text(repair.step) if enough else None,
    }


def _mix(model: Model, mix: Mix) -> dict[str, Any]:
    return {
        "sum_of_shares": exact_text(mix.total),
        "no_sum_smaller_by": exact_text(mix.step),
        "limits_at_0_move": mix.noughts,
        "moves": [
            _member(model, move.member) | {"new_limit": exact_text(move.to), "share": exact_text(move.share)}
            for move in mix.moves
        ],
    }
