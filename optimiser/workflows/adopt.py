"""A saved proposal becomes a formula of the worktable, with where it comes from written in it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from optimiser.checks.forecasts import UNITS
from optimiser.checks.judge import broken, judge
from optimiser.checks.measures import unit_of
from optimiser.domain.formula import Formula, Line, Parent, Phase, Step
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Forecast, Level, Mean, Ratio, Rule, Share, Thickness
from optimiser.domain.worktable import Worktable
from optimiser.errors import DataError, OptimiserError, UsageError
from optimiser.export.formula_yaml import formula_text
from optimiser.export.plain import decimal_text
from optimiser.files.atomic import make_folder, write_new
from optimiser.loading.findings import Findings
from optimiser.loading.proposals import SavedProposal, read_proposal
from optimiser.loading.yaml_nodes import Items, as_written, read_yaml
from optimiser.requests.close import close
from optimiser.requests.draft import Sources
from optimiser.requests.options import Options
from optimiser.workflows.sheet import reopened
from optimiser.workflows.worktable import open_worktable

LIMITS = ("within", "at_least", "at_most", "between")
NAMED = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
OF_BASE = re.compile(r"\bof base\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Adopted:
    """The file written, the formula in it, and what today's judge says of it."""

    path: Path
    formula: Formula
    broken: tuple[Verdict, ...]


def adopt(proposal: Path, identifier: str, name: str = "") -> Adopted:
    """Writes `formulas/IDENTIFIER.yaml` in the proposal's worktable; what is there is never written over.

    The judge has to pass the proposal on today's data. Targets that spoke of the base are written as the
    numbers they came to, so that they do not drift from formula to formula.
    Raises DataError, UsageError or OptimiserError.
    """
    if not NAMED.fullmatch(identifier):
        raise UsageError(
            f'"{identifier}" is no name for a file of the worktable',
            "use small letters, digits and hyphens, such as mild-rose-mask",
        )
    folder = proposal.resolve().parent.parent
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
    path = folder / "formulas" / f"{identifier}.yaml"
    make_folder(path.parent)
    write_new(path, formula_text(formula, *_as_asked(sources, request.formula)))
    return _read_again(folder, identifier, path)


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


def _as_asked(sources: Sources, base: Formula) -> tuple[list[Any], list[Any]]:
    """Targets and claims of the base's file; what speaks of the base is settled to its numbers."""
    path = Path(base.place.file)
    if path.suffix not in (".yaml", ".yml"):
        return [], []
    node = read_yaml(_found(sources, path), Findings(str(path)))
    if node is None:
        return [], []
    rules = {rule.head.id.partition("#")[2]: rule for rule in close(sources, base, None, Options()).rules}
    targets = node.values.get("targets", Items((), 0))
    claims = node.values.get("claims", Items((), 0))
    written = as_written(targets)
    settled = [
        _settled(entry, rules.get(want.label))
        for entry, want in zip(written if isinstance(written, list) else [], base.targets, strict=True)
    ]
    told = as_written(claims)
    return [one for one in settled if one], told if isinstance(told, list) else []


def _found(sources: Sources, path: Path) -> Path:
    """The file as named in problems, or below the worktable's folder."""
    return path if path.exists() else Path(sources.worktable.folder) / path


def _settled(entry: Any, rule: Rule | None) -> Any:
    """The target with numbers where it spoke of the base; None when they cannot be told."""
    if not isinstance(entry, Mapping) or not OF_BASE.search(" ".join(_texts(entry))):
        return entry
    if not isinstance(rule, Share | Level | Mean | Ratio | Thickness | Forecast):
        return None
    unit = _unit(rule)
    limits = {
        word: f"{decimal_text(limit)} {unit}".strip()
        for word, limit in (("at_least", rule.low), ("at_most", rule.high))
        if limit is not None
    }
    if isinstance(rule, Thickness | Forecast):
        topic = "thickness" if isinstance(rule, Thickness) else rule.of
        inner = {key: value for key, value in entry[topic].items() if key not in LIMITS}
        return {**entry, topic: {**inner, **limits}}
    found: dict[str, Any] = {}
    for key, value in entry.items():
        if key not in LIMITS:
            found[key] = value
        elif not limits.keys() & found.keys():
            found.update(limits)
    return found


def _unit(rule: Share | Level | Mean | Ratio | Thickness | Forecast) -> str:
    """The unit a limit of this rule is written with in a file."""
    if isinstance(rule, Thickness):
        return "Pa.s"
    if isinstance(rule, Forecast):
        return UNITS[rule.of].partition(" ")[0] if rule.of != "hlb" else ""
    if isinstance(rule, Ratio):
        return ""
    return "%" if isinstance(rule, Level) else unit_of(rule)


def _texts(entry: Any) -> list[str]:
    if isinstance(entry, Mapping):
        return [text for value in entry.values() for text in _texts(value)]
    if isinstance(entry, list):
        return [text for value in entry for text in _texts(value)]
    return [str(entry)]
