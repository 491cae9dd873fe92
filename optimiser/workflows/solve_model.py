"""Solve any linear model from a file, and say what of the answer is proved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

from optimiser.certify.cases import MAX_LEAVES, prove_infeasible_by_cases
from optimiser.certify.farkas import prove_infeasible
from optimiser.certify.proof import Cases, Farkas, Feasible, Optimum, Split, Unbounded
from optimiser.certify.simplex import solve_exactly
from optimiser.errors import DataError, UsageError
from optimiser.model.exact import exact_text
from optimiser.model.mps import read_mps_file
from optimiser.model.neutral import Loaded, read_neutral_file
from optimiser.model.rows import Model
from optimiser.search.certified import exact_answer, proved_best
from optimiser.solver.highs import Relaxer, solve_lp, solve_milp
from optimiser.solver.interface import Limits, Outcome, Solution

Answer = Literal["optimal", "infeasible", "unbounded", "undecided"]
READERS = {".json": read_neutral_file, ".mps": read_mps_file}


@dataclass(frozen=True, slots=True)
class ModelReport:
    """The answer to a model. With `certified` every number is exact and proved.

    `values`, `duals`, `reduced`: by name; duals are the change of the cost per unit of a row's limit, in the
    model's own sense, and only there for models without whole variables. `step`: no answer is better by that
    much (0: none is better at all). `proof`: the contradiction, in cases where numbers must be whole.
    """

    model: Model
    answer: Answer
    certified: bool
    objective: Fraction | None = None
    values: Mapping[str, Fraction] = field(default_factory=dict)
    duals: Mapping[str, Fraction] = field(default_factory=dict)
    reduced: Mapping[str, Fraction] = field(default_factory=dict)
    step: Fraction = Fraction(0)
    proof: Cases | None = None
    note: str = ""


def load_model(path: Path) -> Model:
    """The model of a `.json` (neutral form) or `.mps` file; raises DataError with every fault."""
    reader = READERS.get(path.suffix.lower())
    if reader is None:
        raise UsageError(f"{path} is no model file", "give a .json in the neutral form or an .mps")
    loaded: Loaded = reader(path)
    if loaded[0] is None:
        raise DataError(loaded[1])
    return loaded[0]


def solve_file(path: Path, limits: Limits | None = None) -> ModelReport:
    """Solve the model in a file. Raises DataError, UsageError."""
    return solve_model(load_model(path), limits)


def solve_model(model: Model, limits: Limits | None = None, max_leaves: int = MAX_LEAVES) -> ModelReport:
    """Solve a model and prove the answer, with at most `max_leaves` cases where numbers must be whole."""
    limits = limits or Limits()
    return _solve_whole(model, limits, max_leaves) if model.whole else _solve_continuous(model, limits)


def _solve_continuous(model: Model, limits: Limits) -> ModelReport:
    found = solve_lp(model, limits)
    if found.outcome is Outcome.INFEASIBLE and (proof := prove_infeasible(model, found.ray, found.basis)):
        return ModelReport(model, "infeasible", certified=True, proof=Cases((proof,)))
    exact = solve_exactly(model, found.basis)
    if isinstance(exact, Optimum):
        return ModelReport(model, "optimal", True, exact.objective, exact.values, exact.duals, exact.reduced)
    if isinstance(exact, Farkas):
        return ModelReport(model, "infeasible", certified=True, proof=Cases((exact,)))
    if isinstance(exact, Unbounded):
        return ModelReport(model, "unbounded", certified=True, values=exact.values)
    return _uncertified(model, found)


def _solve_whole(model: Model, limits: Limits, max_leaves: int) -> ModelReport:
    found = solve_milp(model, limits)
    if found.has_values and (answer := exact_answer(model, found.values)) is not None:
        return _best(model, answer, found, max_leaves)
    if found.outcome in (Outcome.INFEASIBLE, Outcome.UNKNOWN, Outcome.UNBOUNDED):
        cases = prove_infeasible_by_cases(model, Relaxer(), max_leaves=max_leaves)
        if isinstance(cases, Cases):
            return ModelReport(model, "infeasible", certified=True, proof=cases)
        if found.outcome is Outcome.UNBOUNDED and isinstance(cases, Feasible):
            endless = isinstance(solve_exactly(model), Unbounded)
            return ModelReport(model, "unbounded", certified=endless, values=cases.values)
    return _uncertified(model, found)


def _best(model: Model, values: Mapping[str, Fraction], found: Solution, max_leaves: int) -> ModelReport:
    report = ModelReport(model, "optimal", False, model.evaluate(values), values, note=found.note)
    if found.outcome is not Outcome.OPTIMAL:
        return replace(report, answer="undecided")
    best = proved_best(model, values, max_leaves)
    if best is None:
        return report
    return replace(report, certified=True, values=best.values, objective=best.reached, step=best.step)


def _uncertified(model: Model, found: Solution) -> ModelReport:
    known: dict[Outcome, Answer] = {
        Outcome.OPTIMAL: "optimal",
        Outcome.INFEASIBLE: "infeasible",
        Outcome.UNBOUNDED: "unbounded",
    }
    values = {name: Fraction(repr(value)) for name, value in found.values.items()} if found.has_values else {}
    objective = None if found.objective is None else Fraction(repr(found.objective))
    return ModelReport(
        model, known.get(found.outcome, "undecided"), False, objective, values, note=found.note
    )


def report_as_dict(report: ModelReport) -> dict[str, Any]:
    """Plain data for JSON: exact numbers in strings (`12`, `-0.375`, `1/3`), in the model's order."""
    model = report.model
    data: dict[str, Any] = {
        "format": 1,
        "model": model.name,
        "sense": model.sense,
        "outcome": report.answer,
        "certified": report.certified,
        "objective": None if report.objective is None else exact_text(report.objective),
        "no_answer_better_by": exact_text(report.step)
        if report.answer == "optimal" and report.certified
        else None,
        "values": _named(report.values, (var.name for var in model.vars)),
        "duals": _named(report.duals, (row.name for row in model.rows)),
        "reduced_costs": _named(report.reduced, (var.name for var in model.vars)),
        "proof": None if report.proof is None else proof_as_list(model, report.proof),
    }
    return data | ({"note": report.note} if report.note and not report.certified else {})


def _named(numbers: Mapping[str, Fraction], order: Any) -> dict[str, str]:
    return {name: exact_text(numbers[name]) for name in order if name in numbers}


def proof_as_list(model: Model, proof: Cases) -> list[dict[str, Any]]:
    """One entry a case: the limits that make it, the sides that are added up, and what the sum says."""
    entries: list[dict[str, Any]] = []
    waiting: list[tuple[int, Model, tuple[str, ...]]] = [(0, model, ())]
    while waiting:
        place, here, when = waiting.pop()
        node = proof.nodes[place]
        if isinstance(node, Split):
            low, high = f"{node.var} <= {node.at}", f"{node.var} >= {node.at + 1}"
            waiting.append((node.above, here.tightened(node.var, lower=Fraction(node.at + 1)), (*when, high)))
            waiting.append((node.below, here.tightened(node.var, upper=Fraction(node.at)), (*when, low)))
        else:
            entries.append(
                {"when": list(when), "sum": _sum(here, node), "says": f"0 >= {exact_text(node.gap)}"}
            )
    return entries


def _sum(model: Model, proof: Farkas) -> list[dict[str, str]]:
    rows = {row.name: row for row in model.rows}
    variables = {var.name: var for var in model.vars}
    entries = []
    for term in proof.terms:
        source = rows[term.name] if term.what == "row" else variables[term.name]
        limit = source.lower if term.side == "lower" else source.upper
        entries.append(
            {
                "what": term.what,
                "name": term.name,
                "side": term.side,
                "times": exact_text(term.multiplier),
                "limit": "" if limit is None else exact_text(limit),
            }
            | ({"rule": rows[term.name].rule} if term.what == "row" and rows[term.name].rule else {})
        )
    return entries
