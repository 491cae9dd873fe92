"""What the tests on published problems share: reading the models, and a plain deletion filter."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from optimiser.certify.cases import prove_infeasible_by_cases
from optimiser.certify.farkas import prove_infeasible
from optimiser.certify.proof import Cases, Farkas, Optimum
from optimiser.certify.verify import adds_up, is_optimal
from optimiser.model.basis import Basis
from optimiser.model.mps import read_mps_file
from optimiser.model.neutral import read_neutral_file
from optimiser.model.rows import Model, Row, Var
from optimiser.solver.highs import relax, solve_lp
from optimiser.solver.solving import solve
from optimiser.workflows.solve_model import ModelReport, solve_model

DATA = Path(__file__).parent / "data"
Member = tuple[str, str, str]


def load(name: str) -> Model:
    """The model of a data file, without a single fault."""
    path = next(DATA / f"{name}{end}" for end in (".json", ".mps") if (DATA / f"{name}{end}").exists())
    model, problems = (read_neutral_file if path.suffix == ".json" else read_mps_file)(path)
    assert problems == ()
    assert model is not None
    return model


def solved(model: Model) -> ModelReport:
    """The certified optimum; HiGHS through PuLP has to agree, and for an LP its proof to add up."""
    report = solve_model(model)
    assert report.answer == "optimal"
    assert report.certified
    assert report.objective is not None
    assert not model.violations(report.values)
    floats = solve(model)
    assert floats.objective is not None
    assert abs(floats.objective - float(report.objective)) <= 1e-7 * max(1, abs(floats.objective))
    if not model.whole:
        proof = Optimum(report.objective, report.values, report.duals, report.reduced, Basis({}, {}))
        assert is_optimal(model, proof)
    return report


def optimum(model: Model) -> Fraction:
    """The certified optimal cost."""
    objective = solved(model).objective
    assert objective is not None
    return objective


def refuted(model: Model) -> Farkas:
    """The contradiction in a continuous model, summed up again."""
    found = solve_lp(model)
    proof = prove_infeasible(model, found.ray, found.basis)
    assert proof is not None
    assert adds_up(model, proof)
    return proof


def members(model: Model) -> list[Member]:
    """Every limit there is: (row or bound, name, side)."""
    items: Iterable[tuple[str, Row | Var]] = itertools.chain(
        (("row", row) for row in model.rows), (("bound", var) for var in model.vars)
    )
    return [
        (what, item.name, side)
        for what, item in items
        for side in ("lower", "upper")
        if getattr(item, side) is not None
    ]


def keeping(model: Model, kept: Iterable[Member]) -> Model:
    """The model with only these limits."""
    wanted = set(kept)

    def limit(what: str, item: Row | Var, side: str) -> Fraction | None:
        value: Fraction | None = getattr(item, side)
        return value if (what, item.name, side) in wanted else None

    return replace(
        model,
        rows=tuple(
            replace(r, lower=limit("row", r, "lower"), upper=limit("row", r, "upper")) for r in model.rows
        ),
        vars=tuple(
            replace(v, lower=limit("bound", v, "lower"), upper=limit("bound", v, "upper")) for v in model.vars
        ),
    )


def impossible(model: Model) -> bool:
    """Decided exactly: a contradiction that adds up, or an answer."""
    found = relax(model)
    return prove_infeasible(model, found.ray, found.basis) is not None


def smallest(
    model: Model, order: Sequence[Member], clash: Callable[[Model], bool] = impossible
) -> tuple[Member, ...]:
    """Deletion filter: what is left when each member that can go has gone, in this order."""
    kept = list(order)
    assert clash(keeping(model, kept))
    for member in order:
        rest = [other for other in kept if other != member]
        if clash(keeping(model, rest)):
            kept = rest
    return tuple(sorted(kept))


def terms(proof: Farkas) -> list[Member]:
    return [(term.what, term.name, term.side) for term in proof.terms]


def soft_rows(model: Model) -> list[str]:
    return [row.name for row in model.rows if row.name[0] != "H"]


def clashing_rows(model: Model) -> list[tuple[str, ...]]:
    """Every smallest set of rows without an answer in whole numbers, from every set of rows there is.

    Rows called H… are hard: they always stay and are never named.
    """
    names = soft_rows(model)
    found: list[tuple[str, ...]] = []
    for size in range(1, len(names) + 1):
        for picked in itertools.combinations(names, size):
            if any(set(other) <= set(picked) for other in found):
                continue
            part = replace(
                model, rows=tuple(row for row in model.rows if row.name in picked or row.name[0] == "H")
            )
            if isinstance(prove_infeasible_by_cases(part, relax), Cases):
                found.append(picked)
    return found


def smallest_repairs(names: Sequence[str], clashes: Sequence[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Every smallest set that hits each clash."""
    found: list[tuple[str, ...]] = []
    for size in range(len(names) + 1):
        for picked in itertools.combinations(names, size):
            hits = all(set(picked) & set(clash) for clash in clashes)
            if hits and not any(set(other) <= set(picked) for other in found):
                found.append(picked)
    return found
