"""A saved proposal becomes a formula of the worktable, with where it comes from written in it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from optimiser.checks.judge import broken, judge
from optimiser.domain.formula import Formula, Line, Parent, Phase, Step
from optimiser.domain.moved import LINE, Moved
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.worktable import Worktable
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.formula_yaml import formula_text
from optimiser.files.atomic import make_folder, write_new
from optimiser.loading.proposals import SavedProposal, read_proposal
from optimiser.requests.close import close
from optimiser.requests.options import Options
from optimiser.workflows.adopted_targets import targets_of
from optimiser.workflows.sheet import reopened
from optimiser.workflows.worktable import home_of, open_worktable

NAMED = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


@dataclass(frozen=True, slots=True)
class Adopted:
    """The file written, the formula in it, and what today's judge says of it."""

    path: Path
    formula: Formula
    broken: tuple[Verdict, ...]


@dataclass(frozen=True, slots=True)
class Adoption:
    """What would be written where. `kept` are limits moved by hand that stand in the file as targets; `left`
    are those that were of the request alone, as sentences.
    """

    path: Path
    formula: Formula
    text: str
    kept: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


def adopt(proposal: Path, identifier: str, name: str = "") -> Adopted:
    """Writes `formulas/IDENTIFIER.yaml` in the proposal's worktable; what is there is never written over.

    Raises DataError, UsageError or OptimiserError.
    """
    return write_adoption(plan_adoption(proposal, identifier, name))


def write_adoption(planned: Adoption) -> Adopted:
    """Writes what was planned, and reads it again. Raises OptimiserError where the file is there by now."""
    make_folder(planned.path.parent)
    write_new(planned.path, planned.text)
    return _read_again(planned.path.parent.parent, planned.formula.id, planned.path)


def plan_adoption(proposal: Path, identifier: str, name: str = "") -> Adoption:
    """What `adopt` would write; nothing is written.

    The judge has to pass the proposal on today's data. Targets that spoke of the base are written as the
    numbers they came to, so that they do not drift from formula to formula; targets whose limits were moved
    by hand are written as they were moved.
    Raises DataError, UsageError or OptimiserError.
    """
    if not NAMED.fullmatch(identifier):
        raise UsageError(
            f'"{identifier}" is no name for a file of the worktable',
            "use small letters, digits and hyphens, such as mild-rose-mask",
        )
    folder = home_of(proposal)
    sources = open_worktable(folder)
    if identifier in sources.worktable.formulas:
        raise UsageError(f'a formula is called "{identifier}" already', "choose another name")
    saved, problems = read_proposal(proposal, sources.worktable, sources.vocabulary)
    if saved is None:
        raise DataError(problems)
    request, shares = reopened(sources, saved, saved.batch_g)
    failed = broken(judge(request, shares))
    if failed:
        sentence = failed[0].rule.head.sentence
        raise OptimiserError(
            f"the judge does not pass this proposal on today's data: {sentence}", "run propose again"
        )
    formula = _formula(saved, request, identifier, name, proposal.name)
    targets = targets_of(sources, request.formula, saved.moved, proposal.name)
    return Adoption(
        folder / "formulas" / f"{identifier}.yaml",
        formula,
        formula_text(formula, targets.targets, targets.claims),
        targets.moved,
        _left(request, saved.moved, targets.rules),
    )


def _left(request: Request, moved: tuple[Moved, ...], kept: frozenset[str]) -> tuple[str, ...]:
    """Limits of the request alone: what the base carries, suppliers' ranges, single lines."""
    asked = {one.rule if not one.rule.startswith(LINE) else f"asked#{one.rule}" for one in moved} - kept
    return tuple(rule.head.sentence for rule in request.rules if rule.head.id in asked)


def lineage(worktable: Worktable, formula: Formula) -> tuple[Formula, ...]:
    """The formula, the one it was adopted from, and so on to the first that is still in the folder."""
    found = [formula]
    while (parent := found[-1].parent) is not None:
        before = worktable.formulas.get(parent.formula)
        if before is None or before in found:
            break
        found.append(before)
    return tuple(found)


def _read_again(folder: Path, identifier: str, path: Path) -> Adopted:
    """What was written, as it will be read from now on; a file that cannot be read does not stay."""
    try:
        sources = open_worktable(folder)
    except DataError:
        path.unlink()
        raise
    formula = sources.worktable.formulas[identifier]
    request = close(sources, formula, None, Options())
    return Adopted(path, formula, broken(judge(request, request.base)))


def _formula(saved: SavedProposal, request: Request, identifier: str, name: str, file: str) -> Formula:
    base = request.formula
    here = frozenset(line.ingredient for phase in saved.phases for line in phase.lines)
    return replace(
        base,
        id=identifier,
        name=name or saved.name,
        product=request.product,
        phases=tuple(_phase(phase, base, here) for phase in saved.phases),
        hero=tuple(one for one in base.hero if one in here),
        parent=Parent(base.id, saved.name.removeprefix(base.name).lstrip(" ·"), file),
        note="",
    )


def _phase(phase: Phase, base: Formula, here: frozenset[str]) -> Phase:
    """The proposal's lines under the base's title, with the steps that are still about something."""
    own = next((one for one in base.phases if one.name == phase.name), None)
    if own is None:
        return phase
    kept = [_step(step, here) for step in own.steps if not step.about or set(step.about) & here]
    return Phase(phase.name, own.title, tuple(_line(line) for line in phase.lines), tuple(kept))


def _line(line: Line) -> Line:
    return Line(line.ingredient, line.percent, line.fills, line.dosed)


def _step(step: Step, here: frozenset[str]) -> Step:
    return Step(step.text, tuple(one for one in step.about if one in here))
