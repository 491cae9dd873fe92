"""`propose` whole against bare HiGHS on the same models, and against the plain way of writing them."""

from __future__ import annotations

import gc
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from optimiser.domain.outcome import Proposals
from optimiser.domain.request import Request
from optimiser.lp.aims import objectives
from optimiser.lp.build import build
from optimiser.model.rows import Model, Row
from optimiser.requests.sources import Sources
from optimiser.search.stages import extended, held
from optimiser.solver.highs import Session
from optimiser.solver.interface import Limits
from optimiser.solver.pulp_backend import build as in_pulp
from optimiser.workflows.ask import ask
from optimiser.workflows.propose import Asked, propose, request_for
from optimiser.workflows.worktable import open_worktable
from tests.benchmarks.tables import BRIEFS, formula_name, write_table

Figures = dict[str, Any]
Answer = tuple[float | None, float]
"""The best value (None: stopped before it was proved) and the processor seconds."""
Solver = Callable[[Model, float], Answer]
SAME = 1e-5
BIG = Fraction(100)
MEMORY = (
    "import sys; from pathlib import Path; from tests.benchmarks.ours_beside_others import once; "
    "once(Path(sys.argv[1]), sys.argv[2]); told = Path('/proc/self/status').read_text(); "
    "print(told.split('VmHWM:')[1].split()[0])"
)


@dataclass(frozen=True, slots=True)
class Run:
    """How often, against whom, for which briefs, and after how many seconds a solver is stopped."""

    pairs: int
    most: float
    solvers: tuple[str, ...]
    briefs: tuple[str, ...]


def measured(place: Path, rows: int, run: Run, known: Figures) -> Figures:
    """All figures of a table of so many rows, by brief; those of solvers not asked stay as `known`."""
    folder = write_table(place / f"table-{rows}", rows)
    sources, reading = _timed(lambda: open_worktable(folder))
    figures: Figures = {"reading": reading}
    for brief in BRIEFS:
        if brief not in run.briefs:
            continue
        asked = ask(sources, formula_name(0), {"briefs": [brief]})
        found = _of_brief(sources, asked, run) | {"peak_mb": _peak(folder, brief)}
        for part in ("plain", "plain_all", "values", "settled"):
            found[part] = known.get(brief, {}).get(part, {}) | found[part]
        figures[brief] = found
    return known | figures


def once(folder: Path, brief: str) -> None:
    """One proposal, from the files."""
    sources = open_worktable(folder)
    propose(sources, ask(sources, formula_name(0), {"briefs": [brief]}))


def _of_brief(sources: Sources, asked: Asked, run: Run) -> Figures:
    """The bare models are solved once as they are written; that counts as the first run of each."""
    request = request_for(sources, asked)
    models, spent = stage_models(request, run.most)
    plain = written_plainly(request)
    ours: list[float] = []
    bare: list[float] = [spent]
    values: dict[str, float | None] = {}
    first: dict[str, list[float]] = {name: [] for name in run.solvers}
    whole: dict[str, list[float]] = {name: [] for name in run.solvers}
    settled: dict[str, bool] = {}
    for pair in range(run.pairs):
        outcome, seconds = _timed(lambda: propose(sources, asked))
        assert isinstance(outcome, Proposals)
        values["ours"] = float(outcome.proposals[0].stages[0].bound)
        ours.append(seconds)
        if pair:
            bare.append(sum(bare_highs(model, run.most)[1] for model in models))
        for name in run.solvers:
            answers = aim_by_aim(plain, request, SOLVERS[name], run.most)
            values[name] = answers[0][0]
            settled[name] = answers[-1][0] is not None
            first[name].append(answers[0][1])
            whole[name].append(sum(seconds for _, seconds in answers))
    return {
        "ours": ours,
        "bare": bare,
        "plain": first,
        "plain_all": whole,
        "values": values,
        "settled": settled,
        "ratio": statistics.median(a / b for a, b in zip(ours, bare, strict=True)),
    }


def same(one: float | None, other: float | None) -> bool | None:
    """Whether two best values are one; None where a solver has none."""
    if one is None or other is None:
        return None
    return abs(one - other) <= SAME * max(1.0, abs(one))


def stage_models(request: Request, most: float) -> tuple[tuple[Model, ...], float]:
    """The models of whole numbers that `propose` would solve whole, and the time that HiGHS takes."""
    found: list[Model] = []

    def solved(model: Model, most: float) -> Answer:
        found.append(model)
        return bare_highs(model, most)

    answers = aim_by_aim(build(request), request, solved, most)
    return tuple(found), sum(seconds for _, seconds in answers)


def aim_by_aim(model: Model, request: Request, solver: Solver, most: float) -> list[Answer]:
    """Value and time of each aim in turn, what was reached before being held; up to one that is stopped."""
    answers = []
    for objective in objectives(request)[:-1]:
        model = extended(model, objective)
        value, seconds = solver(model.with_cost(objective.cost), most)
        answers.append((value, seconds))
        if value is None:
            break
        model = held(model, objective, objective.cost, value)
    return answers


def written_plainly(request: Request) -> Model:
    """The rows as a textbook has them: a yes-or-no of each ingredient that lets it be 0 to 100."""
    model = build(request)
    caps = {}
    rows = []
    for row in model.rows:
        by_flag = dict(row.coef)
        flags = [name for name in by_flag if name.startswith("y:")]
        if row.rule.startswith("range#") and row.upper == 0 and len(flags) == 1 and len(by_flag) == 2:
            share = next(name for name in by_flag if name != flags[0])
            caps[share] = -by_flag[flags[0]]
        else:
            rows.append(row)
    capped: list[Row] = [
        Row(f"cap:{share}", ((share, Fraction(1)),), None, cap) for share, cap in caps.items()
    ]
    return Model(model.name, model.vars, (*rows, *capped), model.cost, model.sense, model.constant)


def bare_highs(model: Model, most: float) -> Answer:
    """HiGHS on arrays that lie ready: its value, and the processor time of its run alone."""
    session = Session(model)
    answer, seconds = _timed(lambda: session.solve(Limits(seconds=most)))
    return (answer.objective if answer.outcome.value == "optimal" else None), seconds


def by_cbc(model: Model, most: float) -> Answer:
    import pulp

    problem = in_pulp(model).problem
    solver = pulp.PULP_CBC_CMD(msg=False, threads=1, gapRel=0, timeLimit=most)
    _, seconds = _timed(lambda: problem.solve(solver))
    best = problem.sol_status == pulp.LpSolutionOptimal
    return (float(pulp.value(problem.objective)) if best else None), seconds


def by_scip(model: Model, most: float) -> Answer:
    try:
        import pyscipopt
    except ImportError:
        return None, 0.0
    with tempfile.NamedTemporaryFile(suffix=".mps") as file:
        in_pulp(model).problem.writeMPS(file.name)
        solver = pyscipopt.Model()
        solver.hideOutput()
        solver.readProblem(file.name)
    solver.setParam("limits/gap", 0.0)
    solver.setParam("limits/time", most)
    _, seconds = _timed(solver.optimize)
    return (float(solver.getObjVal()) if solver.getStatus() == "optimal" else None), seconds


SOLVERS: dict[str, Solver] = {
    "highs": bare_highs,
    "cbc": by_cbc,
    "scip": by_scip,
}


def _timed(run: Callable[[], Any]) -> tuple[Any, float]:
    """What it returns, and the processor time of this process and those it waited for."""
    gc.collect()
    before = _spent()
    found = run()
    return found, _spent() - before


def _spent() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def _peak(folder: Path, brief: str) -> float:
    """Peak memory of one proposal in a process of its own, in MB."""
    command = [sys.executable, "-c", MEMORY, str(folder), brief]
    told = subprocess.run(command, capture_output=True, text=True, check=True)
    return round(int(told.stdout) / 1024, 1)
