"""A formula as the file it is read from."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import yaml

from optimiser.domain.container import Container
from optimiser.domain.formula import Formula, Line, Phase
from optimiser.export.plain import clean, decimal_text
from optimiser.loading.reference import load_packs

WIDTH = 110


def formula_text(formula: Formula, targets: list[Any], claims: list[Any]) -> str:
    """YAML that `loading.formulas` reads back to the same formula; the same formula gives the same bytes.

    `targets` and `claims` are written as they are: lists and mappings of text. Numbers have a decimal point.
    """
    product = formula.product
    content: dict[str, Any] = {
        "name": clean(formula.name),
        "parent": _parent(formula),
        "product": {
            fact: value for fact in ("use", "area", "age", "form") if (value := clean(getattr(product, fact)))
        },
        "hero": list(formula.hero),
        "claims": claims,
        "batch": f"{decimal_text(formula.batch_g)} g",
        "pack": _pack(formula.pack),
        "phases": [_phase(phase) for phase in formula.phases if phase.lines],
        "targets": targets,
        "note": clean(formula.note),
    }
    kept = {key: value for key, value in content.items() if value}
    return yaml.safe_dump(kept, sort_keys=False, allow_unicode=True, width=WIDTH, default_flow_style=None)


def _parent(formula: Formula) -> dict[str, str]:
    parent = formula.parent
    if parent is None:
        return {}
    parts = {"formula": parent.formula, "asked": clean(parent.asked), "proposal": clean(parent.proposal)}
    return {name: text for name, text in parts.items() if text}


def _pack(pack: Container | None) -> str | dict[str, str]:
    """A known pack by its name, another with its numbers."""
    if pack is None or load_packs().get(pack.name) == pack:
        return "" if pack is None else pack.name
    takes = pack.takes
    ends = {"takes": takes.value, "low": takes.low, "high": takes.high}
    numbers = {name: decimal_text(end) for name, end in ends.items()}
    return {"name": clean(pack.name), **numbers, "source": clean(takes.source)}


def _phase(phase: Phase) -> dict[str, Any]:
    found: dict[str, Any] = {"phase": phase.name, "title": clean(phase.title)}
    found["lines"] = [{line.ingredient: line_text(line)} for line in phase.lines]
    found["steps"] = [
        {"about": list(step.about), "text": clean(step.text)} if step.about else clean(step.text)
        for step in phase.steps
    ]
    return {name: value for name, value in found.items() if value}


def line_text(line: Line) -> str:
    """`5 %`, `to 100 %`, `to pH 5.0, at most 3 %`."""
    if line.fills:
        return "to 100 %"
    share = f"{decimal_text(Fraction(line.percent))} %"
    return f"to {line.dosed.to}, at most {share}" if line.dosed else share
