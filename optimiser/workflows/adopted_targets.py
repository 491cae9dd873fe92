"""Targets of a base's file as an adopted formula has them: settled to numbers, and moved where they were."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from optimiser.checks.forecasts import UNITS
from optimiser.checks.measures import unit_of
from optimiser.domain.formula import Formula
from optimiser.domain.moved import Moved
from optimiser.domain.rules import (
    Acidity,
    Amount,
    Cost,
    Forecast,
    Level,
    LineCount,
    Mean,
    Newcomers,
    Ratio,
    Rule,
    Share,
    Thickness,
)
from optimiser.export.plain import decimal_text
from optimiser.loading.findings import Findings
from optimiser.loading.yaml_nodes import Items, as_written, read_yaml
from optimiser.requests.close import close
from optimiser.requests.options import Options
from optimiser.requests.sources import Sources
from optimiser.workflows.moving import limits_of

LIMITS = ("within", "at_least", "at_most", "between")
OF_BASE = re.compile(r"\bof base\b", re.IGNORECASE)
DIGIT = re.compile(r"[0-9]")
Bounded = (
    Share | Level | Mean | Ratio | Thickness | Forecast | Amount | Acidity | Cost | Newcomers | LineCount
)


@dataclass(frozen=True, slots=True)
class Targets:
    """Lists as a formula's file has them; `moved` says what was moved, `rules` are the ids of those."""

    targets: list[Any]
    claims: list[Any]
    moved: tuple[str, ...] = ()
    rules: frozenset[str] = frozenset()


def targets_of(sources: Sources, base: Formula, moved: tuple[Moved, ...], proposal: str) -> Targets:
    """Targets and claims of the base's file; what speaks of the base is settled to its numbers, what was
    moved in the proposal has the limits it was moved to and says where, and what was given up is left out.
    """
    path = Path(base.place.file)
    if path.suffix not in (".yaml", ".yml"):
        return Targets([], [])
    node = read_yaml(_found(sources, path), Findings(str(path)))
    if node is None:
        return Targets([], [])
    rules = {rule.head.id: rule for rule in close(sources, base, None, Options()).rules}
    moves = {one.rule: one for one in moved if not one.but_for}
    written = as_written(node.values.get("targets", Items((), 0)))
    told = as_written(node.values.get("claims", Items((), 0)))
    found: list[Any] = []
    notes: list[str] = []
    for entry, want in zip(written if isinstance(written, list) else [], base.targets, strict=True):
        name = f"formulas/{base.id}#{want.label}"
        rule, move = rules.get(name), moves.get(name)
        new = _settled(entry, rule, sources) if move is None else _moved(entry, rule, move, proposal, sources)
        if move is not None:
            notes.append(_note(want.label, new))
        if new:
            found.append(new)
    claims = told if isinstance(told, list) else []
    kept = frozenset(moves) & {f"formulas/{base.id}#{want.label}" for want in base.targets}
    return Targets(found, claims, tuple(notes), kept)


def _found(sources: Sources, path: Path) -> Path:
    """The file as named in problems, or below the worktable's folder."""
    return path if path.exists() else Path(sources.worktable.folder) / path


def _note(label: str, new: Any) -> str:
    if not new:
        return f"{label}: given up, so it is no target any more"
    nested = [one for one in new.values() if isinstance(one, Mapping)]
    limits = [f"{w.replace('_', ' ')} {at[w]}" for at in (new, *nested) for w in LIMITS if w in at]
    return f"{label}: now {', '.join(limits)}"


def _settled(entry: Any, rule: Rule | None, sources: Sources) -> Any:
    """The target with numbers where it spoke of the base; None when they cannot be told."""
    if not isinstance(entry, Mapping) or not OF_BASE.search(" ".join(_texts(entry))):
        return entry
    return _bounded(entry, rule, sources) if isinstance(rule, Bounded) else None


def _moved(entry: Any, rule: Rule | None, move: Moved, proposal: str, sources: Sources) -> Any:
    """The target with the limits it was moved to; None where it was given up or both its sides are open."""
    if move.gone or (move.low is None and move.high is None) or not isinstance(entry, Mapping):
        return None
    if isinstance(rule, Newcomers | LineCount):
        rule = replace(rule, at_most=int(move.high or 0))
    elif isinstance(rule, Cost):
        rule = replace(rule, high=move.high if move.high is not None else rule.high)
    elif isinstance(rule, Acidity):
        low, high = move.low, move.high
        rule = replace(rule, low=rule.low if low is None else low, high=rule.high if high is None else high)
    elif isinstance(rule, Bounded):
        rule = replace(rule, low=move.low, high=move.high)
    else:
        return entry
    kept = {key: text for key, text in entry.items() if key != "name" or not DIGIT.search(str(text))}
    return {**_bounded(kept, rule, sources), "source": f"moved by hand in {proposal}"}


def _bounded(entry: Mapping[str, Any], rule: Bounded, sources: Sources) -> dict[str, Any]:
    """The entry with the rule's limits as numbers, in the place where it has its limits."""
    unit = _unit(rule, sources.worktable.settings.currency)
    limits = {
        word: f"{decimal_text(limit)} {unit}".strip()
        for word, limit in zip(("at_least", "at_most"), limits_of(rule), strict=True)
        if limit is not None
    }
    found: dict[str, Any] = {}
    for key, value in entry.items():
        if isinstance(value, Mapping) and value.keys() & set(LIMITS):
            found[key] = {**{k: v for k, v in value.items() if k not in LIMITS}, **limits}
        elif key not in LIMITS:
            found[key] = value
        elif not limits.keys() & found.keys():
            found.update(limits)
    return found


def _unit(rule: Bounded, currency: str) -> str:
    """The unit a limit of this rule is written with in a file."""
    match rule:
        case Thickness():
            return "Pa.s"
        case Forecast():
            return UNITS[rule.of].partition(" ")[0] if rule.of != "hlb" else ""
        case Cost():
            return f"{currency}/kg"
        case Ratio() | Acidity() | Newcomers() | LineCount():
            return ""
        case Level() | Amount():
            return "%"
        case Share() | Mean():
            return unit_of(rule)


def _texts(entry: Any) -> list[str]:
    if isinstance(entry, Mapping):
        return [text for value in entry.values() for text in _texts(value)]
    if isinstance(entry, list):
        return [text for value in entry for text in _texts(value)]
    return [str(entry)]
