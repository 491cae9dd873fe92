"""Our conflicts beside those of HiGHS, SCIP and Pyomo on the same impossible models.

`python -m tests.benchmarks.conflict_finders` needs the extra `bench`. Every finder gets the same model with
plain names. A conflict's size is told as rows + variables whose limits it names. What a finder names is
looked at again in exact fractions: whether it cannot hold, and whether each member is needed.
"""

from __future__ import annotations

import argparse
import io
import logging
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from optimiser.certify.proof import Cases, Feasible
from optimiser.explain.deciding import Caps, Judge
from optimiser.explain.enumerate import all_clashes, shrink
from optimiser.explain.sides import members
from optimiser.model.mps_text import write_mps
from optimiser.model.rows import Model, Row, Var, linear
from optimiser.workflows.solve_model import load_model

DATA = Path(__file__).resolve().parents[1] / "published" / "data"
MODELS = (
    "itest2.mps", "galenet.mps", "bgprtr.mps", "woodinfe.mps", "klein1.mps", "box1.mps", "ex73a.mps",
    "pang.mps",
    "ampl_diet2_infeasible.json", "mosek_transport.json", "sas_iis.json", "pyomo_trivial.json",
    "cpmpy_quickxplain_abcd.json", "liffiton_sakallah6.json", "pysat_at_most_one3.json", "pysat_xor4.json",
)  # fmt: skip
RANDOM = 20
Named = frozenset[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a finder named (None: nothing), in how many seconds, and what exact fractions say of it."""

    named: Named | None
    seconds: float
    word: str = ""


def plain_names(model: Model) -> Model:
    """Rows r0, r1 … and variables x0, x1 …, so that every format carries the names."""
    new = {var.name: f"x{i}" for i, var in enumerate(model.vars)}
    rows = (
        replace(row, name=f"r{i}", coef=linear({new[name]: value for name, value in row.coef}))
        for i, row in enumerate(model.rows)
    )
    return replace(
        model,
        vars=tuple(replace(var, name=new[var.name]) for var in model.vars),
        rows=tuple(rows),
        cost=(),
        constant=Fraction(0),
    )


def random_model(seed: int) -> Model:
    """A small blend that cannot be: shares of up to eight things, windows drawn about."""
    dice = random.Random(seed)
    while True:
        names = [f"x{i}" for i in range(dice.randint(3, 8))]
        variables = tuple(Var(name, Fraction(0), Fraction(dice.randint(20, 100))) for name in names)
        rows = [Row("r0", linear(dict.fromkeys(names, Fraction(1))), Fraction(100), Fraction(100))]
        for i in range(dice.randint(3, 10)):
            coef = {name: Fraction(dice.randint(0, 9)) for name in names}
            low = Fraction(dice.randint(0, 700))
            shape = dice.randrange(3)
            high = low + dice.randint(0, 100)
            rows.append(Row(f"r{i + 1}", linear(coef), low if shape else None, high if shape != 1 else None))
        model = Model(f"random {seed}", variables, tuple(rows), ())
        judge = Judge(model, members(model), Caps())
        if isinstance(judge.decide(judge.everything), Cases):
            return model


def first_of_ours(model: Model) -> Answer:
    """One minimal conflict with its proof."""
    start = time.perf_counter()
    judge = Judge(model, members(model), Caps(seconds=120))
    proof = judge.decide(judge.everything)
    if not isinstance(proof, Cases):
        return Answer(None, time.perf_counter() - start, "not proved")
    bits, _, minimal = shrink(judge, *judge.nearer(judge.everything, proof))
    named = frozenset((one.what, one.name) for one in judge.chosen(bits))
    return Answer(named, time.perf_counter() - start, "minimal" if minimal else "proved")


def all_of_ours(model: Model, seconds: float) -> tuple[Answer, int, bool]:
    """The smallest of all conflicts found, how many there are, and whether the list is complete."""
    start = time.perf_counter()
    judge = Judge(model, members(model), Caps(seconds=seconds))
    judge.decide(judge.everything)
    lists = all_clashes(judge)
    sets = [frozenset((one.what, one.name) for one in clash.members) for clash in lists.clashes]
    smallest = min(sets, key=lambda one: (len(one), sorted(one)), default=None)
    spent = time.perf_counter() - start
    return Answer(smallest, spent), len(sets), lists.complete


def by_highs(text: Path, _model: Model) -> Named | None:
    import highspy

    solver = getattr(highspy, "_Highs", highspy.Highs)()
    solver.setOptionValue("output_flag", False)
    solver.readModel(str(text))
    strategy = highspy.IisStrategy
    wanted = int(strategy.kIisStrategyFromLp) | int(strategy.kIisStrategyIrreducible)
    solver.setOptionValue("iis_strategy", wanted)
    _, found = solver.getIis()
    if not found.valid_:
        return None
    lp = solver.getLp()
    rows = {("row", lp.row_names_[i]) for i in found.row_index_}
    free = (int(highspy.IisBoundStatus.kIisBoundStatusFree), int(highspy.IisBoundStatus.kIisBoundStatusNull))
    columns = zip(found.col_index_, found.col_bound_, strict=True)
    bounds = {("bound", lp.col_names_[i]) for i, at in columns if int(at) not in free}
    return frozenset(rows | bounds)


def by_scip(text: Path, model: Model) -> Named | None:
    import pyscipopt

    solver = pyscipopt.Model()
    solver.hideOutput()
    solver.readProblem(str(text))
    solver.setParam("limits/time", 120)
    solver.setParam("iis/removebounds", value=True)
    part = solver.generateIIS().getSubscip()
    rows = {row.name: row for row in model.rows}
    kept = [one.name for one in part.getConss() if one.name in rows]
    used = {name for row in kept for name, _ in rows[row].coef}
    own = {var.name: var for var in model.vars}
    wide = part.infinity()
    bounds = set()
    for var in part.getVars():
        name = var.name.removeprefix("t_")
        if name in used:
            lower = own[name].lower is not None and var.getLbOriginal() > -wide
            upper = own[name].upper is not None and var.getUbOriginal() < wide
            bounds |= {("bound", name)} if lower or upper else set()
    return frozenset({("row", name) for name in kept} | bounds)


def by_pyomo(_text: Path, model: Model) -> Named | None:
    """Its minimal system over a solver; whole numbers are given up there, so only for models without them."""
    import pulp
    import pyomo.environ as pyo
    from pyomo.contrib.iis.mis import compute_infeasibility_explanation

    if model.whole:
        return None
    made = pyo.ConcreteModel()
    for var in model.vars:
        bounds = tuple(None if x is None else float(x) for x in (var.lower, var.upper))
        made.add_component(var.name, pyo.Var(bounds=bounds))
    for row in model.rows:
        body = sum(float(value) * made.component(name) for name, value in row.coef)
        low, high = (None if x is None else float(x) for x in (row.lower, row.upper))
        made.add_component(row.name, pyo.Constraint(expr=(low, body, high)))
    made.goal = pyo.Objective(expr=0.0)
    said, log = io.StringIO(), logging.getLogger("conflict finders")
    log.handlers, log.propagate = [logging.StreamHandler(said)], False
    log.setLevel(logging.INFO)
    logging.getLogger("pyomo.core").setLevel(logging.ERROR)
    solver = pyo.SolverFactory("cbc", executable=pulp.PULP_CBC_CMD().path)
    compute_infeasibility_explanation(made, solver, logger=log)
    _, found, named = said.getvalue().partition("Computed Minimal Intractable System (MIS)!")
    return _named_by_pyomo(named) if found else None


def _named_by_pyomo(text: str) -> Named:
    found = set()
    for line in text.splitlines():
        words = line.rpartition("\t")[2].split()
        if "constraint:" in words:
            found.add(("row", words[-1]))
        elif words[:1] in (["lb"], ["ub"]):
            found.add(("bound", words[-1]))
    return frozenset(found)


FINDERS: dict[str, Callable[[Path, Model], Named | None]] = {
    "HiGHS": by_highs,
    "SCIP": by_scip,
    "Pyomo": by_pyomo,
}


def asked(finder: Callable[[Path, Model], Named | None], text: Path, model: Model) -> Answer:
    start = time.perf_counter()
    try:
        named = finder(text, model)
    except Exception as fault:
        return Answer(None, time.perf_counter() - start, type(fault).__name__)
    spent = time.perf_counter() - start
    return Answer(named, spent, "none" if named is None else looked_at(model, named))


def looked_at(model: Model, named: Named) -> str:
    """`minimal`, `too many` (it cannot hold, but not all is needed), `no conflict` (it can hold), or `?`."""
    judge = Judge(model, members(model), Caps(seconds=60))
    chosen = {(what, name) for what, name in named}
    one_by_one = [(m, (m.what, m.name) in chosen or m.what == "whole") for m in judge.members]
    kept = judge.bits([member for member, stays in one_by_one if stays])
    found = judge.decide(kept)
    if isinstance(found, Feasible):
        return "no conflict"
    if found is None:
        return "?"
    bits, _, _ = shrink(judge, kept, found)
    needed = {(m.what, m.name) for m in judge.chosen(bits) if m.what != "whole"}
    return "minimal" if needed == chosen else "too many"


@dataclass(frozen=True, slots=True)
class Line:
    """One model: its size, ours, and the others' answers by name."""

    name: str
    rows: int
    columns: int
    first: Answer
    best: Answer
    conflicts: int
    complete: bool
    others: dict[str, Answer]

    def larger(self) -> list[str]:
        """Finders that named a smaller true conflict than ours."""
        size = _size(self.best.named if self.best.named is not None else self.first.named)
        own = 10**6 if size is None else size
        return [
            name
            for name, other in self.others.items()
            if other.word in ("minimal", "too many") and (_size(other.named) or 0) < own
        ]


def _size(named: Named | None) -> int | None:
    return None if named is None else len([one for one in named if one[0] != "whole"])


def _shown(named: Named | None) -> str:
    """`3 + 2`: rows and variables."""
    if named is None:
        return "none"
    return f"{sum(what == 'row' for what, _ in named)} + {sum(what == 'bound' for what, _ in named)}"


def measured(model: Model, seconds: float) -> Line:
    model = plain_names(model)
    first = first_of_ours(model)
    best, count, complete = all_of_ours(model, seconds)
    with tempfile.TemporaryDirectory() as folder:
        text = Path(folder) / "model.mps"
        text.write_text(write_mps(model), encoding="utf-8")
        others = {name: asked(finder, text, model) for name, finder in FINDERS.items()}
    return Line(model.name, len(model.rows), len(model.vars), first, best, count, complete, others)


def table(lines: Iterable[Line]) -> str:
    """A Markdown table: size and seconds of each."""
    names = list(FINDERS)
    head = ["Model", "Rows × columns", "Ours: first", "Ours: smallest of all", *names]
    out = [" | ".join(head), " | ".join("---" for _ in head)]
    for line in lines:
        listed = f"{_shown(line.best.named)} of {line.conflicts}{'' if line.complete else ' or more'}"
        cells = [
            line.name,
            f"{line.rows} × {line.columns}",
            f"{_shown(line.first.named)}, {line.first.word}, {line.first.seconds:.3f} s",
            f"{listed}, {line.best.seconds:.2f} s",
            *(_cell(line.others[name]) for name in names),
        ]
        out.append(" | ".join(cells))
    return "\n".join(f"| {one} |" for one in out)


def _cell(answer: Answer) -> str:
    if answer.named is None:
        return answer.word
    return f"{_shown(answer.named)}, {answer.word}, {answer.seconds:.3f} s"


def summary(lines: list[Line]) -> list[str]:
    """How often each finder named a smaller, an equal or a larger conflict, and the ratio of times."""
    told = []
    for name in FINDERS:
        true = [one for one in lines if one.others[name].word in ("minimal", "too many")]
        smaller = sum(name in one.larger() for one in true)
        own = [_size(one.best.named) or 0 for one in true]
        larger = sum((_size(one.others[name].named) or 0) > size for one, size in zip(true, own, strict=True))
        ratios = sorted(one.first.seconds / one.others[name].seconds for one in true)
        middle = f"{ratios[len(ratios) // 2]:.2f}" if ratios else "–"
        wrong = sum(one.others[name].word in ("no conflict", "?") for one in lines)
        needless = sum(one.others[name].word == "too many" for one in lines)
        true_of = f"{len(true)} of {len(lines)}"
        told.append(f"| {name} | {true_of} | {wrong} | {needless} | {smaller} | {larger} | {middle} |")
    head = ["Finder", "Named a true conflict", "Named what can hold", "Named too much", "Smaller than ours"]
    head += ["Larger than ours", "Our time for one ÷ its (median)"]
    return [f"| {' | '.join(head)} |", "|---" * len(head) + "|", *told]


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--seconds", type=float, default=60.0, help="for listing all conflicts of one model")
    said.add_argument("--random", type=int, default=RANDOM)
    said.add_argument("--into", type=Path, help="write the tables as Markdown")
    wanted = said.parse_args()
    lines = []
    models = [replace(load_model(DATA / name), name=Path(name).stem) for name in MODELS]
    for model in (*models, *(random_model(seed) for seed in range(wanted.random))):
        lines.append(measured(model, wanted.seconds))
        sys.stdout.write(table(lines[-1:]).splitlines()[-1] + "\n")
        sys.stdout.flush()
    text = "\n".join([table(lines), "", *summary(lines), ""])
    sys.stdout.write(text)
    if wanted.into:
        wanted.into.write_text(text, encoding="utf-8")
    if any(line.larger() for line in lines):
        sys.exit("a finder named a smaller conflict than ours")


if __name__ == "__main__":
    main()
