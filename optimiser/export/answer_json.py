"""An answer as JSON: enough for somebody else to recompute every verdict.

Every number is a decimal string with its unit (`{"value": "12.5", "unit": "%"}`); only `format` and the ranks
of wishes are bare whole numbers. There are no clock times. `schema/answer.schema.json` describes the shape.
"""

from __future__ import annotations

import hashlib
import json
from fractions import Fraction
from typing import Any

from optimiser.domain.outcome import (
    Change,
    Concession,
    Conflict,
    Impossible,
    Outcome,
    Proposal,
    Proposals,
    Stage,
    Undecided,
    Verdict,
)
from optimiser.domain.request import Request, Slot
from optimiser.export.acidity_json import acidity_dict
from optimiser.export.acidity_sheet import acidity_of
from optimiser.export.answer_rules import remarks, rule_dict, verdict_dict
from optimiser.export.firmness_json import batches_dict, firmness_dict
from optimiser.export.plain import quantity
from optimiser.export.provenance import Provenance
from optimiser.export.sheet_json import provenance_dict

FORMAT = 1
__all__ = [
    "answer_dict",
    "answer_json",
    "digest_of",
    "measures_dict",
    "request_dict",
    "told_dict",
    "verdict_dict",
]
Value = dict[str, Any]


def answer_dict(outcome: Outcome, *, provenance: Provenance) -> Value:
    """The whole answer; every key is there for every outcome, empty where it does not apply."""
    request = outcome.request
    proposals = outcome.proposals if isinstance(outcome, Proposals) else ()
    impossible = outcome if isinstance(outcome, Impossible) else None
    conflicts = () if isinstance(outcome, Proposals) else outcome.conflicts
    return {
        "format": FORMAT,
        "outcome": _word(outcome),
        "request": request_dict(request),
        "base": _base(request, outcome.base),
        "proposals": [_proposal(one, request) for one in proposals],
        "conflicts": [
            _conflict(one, nearly=impossible is not None and impossible.nearly) for one in conflicts
        ],
        "concessions": [_concession(one, request) for one in _concessions(outcome)],
        "unknown": [] if isinstance(outcome, Proposals) else remarks(outcome.unknown),
        "agreed": list(impossible.agreed) if impossible else [],
        "undecided": {"why": outcome.why} if isinstance(outcome, Undecided) else None,
        "rests_on": remarks(outcome.rests_on, "number", "reading") if isinstance(outcome, Undecided) else [],
        "set_aside": [{"ingredient": one.ingredient, "reason": one.reason} for one in request.set_aside],
        "by_hand": remarks(request.by_hand),
        "dropped": remarks(request.dropped),
        "remarks": remarks(request.remarks),
        "consequences": remarks(request.consequences),
        "firmness": firmness_dict(outcome.firmness, request.currency),
        "batches": [batches_dict(one) for one in outcome.batches] if isinstance(outcome, Proposals) else [],
        "provenance": provenance_dict(provenance),
    }


def answer_json(outcome: Outcome, *, provenance: Provenance) -> str:
    """The text of `answer_dict`, two blanks deep, with a line end."""
    return json.dumps(answer_dict(outcome, provenance=provenance), ensure_ascii=False, indent=2) + "\n"


def digest_of(request: Request) -> str:
    """SHA-256 in hex of the request as it stands in the answer, with the base it starts from."""
    content = {"request": request_dict(request), "base": _lines_of_base(request)}
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def _word(outcome: Outcome) -> str:
    match outcome:
        case Proposals():
            return "proposals"
        case Impossible():
            return "impossible"
        case Undecided():
            return "undecided"


def request_dict(request: Request) -> Value:
    """What was asked, with every rule and its limits."""
    product = request.product
    window = request.ph_window
    return {
        "name": request.name,
        "formula": {"id": request.formula.id, "name": request.formula.name},
        "product": {"use": product.use, "area": product.area, "age": product.age, "form": product.form},
        "aim": list(request.aim),
        "grid": quantity(request.grid, "%"),
        "batch": quantity(request.batch_g, "g"),
        "currency": request.currency,
        "ph_window": {"low": quantity(window[0], "pH"), "high": quantity(window[1], "pH")}
        if window
        else None,
        "filler": {"ingredient": request.filler.ingredient, "phase": request.filler.phase},
        "candidates": [{"ingredient": slot.ingredient, "phase": slot.phase} for slot in request.slots],
        "newcomers": sorted(request.newcomers),
        "weights": _weights(request),
        "rules": [rule_dict(rule, request.currency) for rule in request.rules],
    }


def _weights(request: Request) -> Value:
    weights = request.weights
    return {
        "points": quantity(weights.points, "per %"),
        "parts": quantity(weights.parts, "per part"),
        "pulls": quantity(weights.pulls, "per half width"),
        "newcomer": quantity(weights.newcomer, "per ingredient"),
        "line": quantity(weights.line, "per line"),
    }


def _lines_of_base(request: Request) -> list[Value]:
    return [
        {"ingredient": slot.ingredient, "phase": slot.phase, "percent": quantity(share, "%")}
        for slot, share in sorted(request.base.items())
    ]


def _base(request: Request, verdicts: tuple[Verdict, ...]) -> Value:
    return {
        "lines": _lines_of_base(request),
        "rules": [verdict_dict(one) for one in verdicts],
        "broken": [one.rule.head.id for one in verdicts if not one.met],
    }


def _proposal(proposal: Proposal, request: Request) -> Value:
    return {
        "heading": proposal.heading,
        "optimal": proposal.optimal,
        "apart": [
            {"ingredients": one.ingredients, "among": one.among, "points": quantity(one.points, "%")}
            for one in proposal.apart
        ],
        "lines": _lines(proposal, request),
        "measures": measures_dict(proposal),
        "rules": [verdict_dict(one) for one in proposal.verdicts],
        "stages": [_stage(one) for one in proposal.stages],
        "departure": [
            {"part": name, "value": quantity(value, "points")} for name, value in proposal.departure_parts
        ],
        "changes": [_change(one) for one in proposal.changes],
        "roles": [{"lost": one.removed, "role": one.role, "now": _shares(one.now)} for one in proposal.roles],
        "wishes": [_wish(one) for one in proposal.unmet_wishes],
        "acidity": acidity_dict(acidity_of(request, _amounts(proposal))),
        "cost_per_kg": quantity(proposal.cost_per_kg, f"{request.currency}/kg"),
        "sets_off": remarks(proposal.sets_off, "what", "why"),
        "warnings": remarks(proposal.warnings),
        "rests_on": remarks(proposal.rests_on, "number", "reading"),
        **told_dict(proposal),
    }


def told_dict(proposal: Proposal) -> Value:
    """Allergens of the label, the lines not counted for them, and what stands on paper only."""
    return {
        "allergens": [
            {
                "substance": one.substance,
                "percent": quantity(one.percent, "%"),
                "threshold": quantity(one.threshold, "%"),
                "on_label": one.on_label,
            }
            for one in proposal.allergens
        ],
        "allergens_not_counted": list(proposal.not_counted),
        "on_paper": remarks(proposal.on_paper),
    }


def _amounts(proposal: Proposal) -> dict[Slot, Fraction]:
    return {Slot(line.ingredient, line.phase): line.percent for line in proposal.lines}


def measures_dict(proposal: Proposal) -> Value:
    return {
        one.name: {
            "base": quantity(one.base, one.unit),
            "value": quantity(one.value, one.unit),
            "low": quantity(one.low, one.unit),
            "high": quantity(one.high, one.unit),
        }
        for one in proposal.measures
    }


def _change(change: Change) -> Value:
    return {
        "ingredient": change.ingredient,
        "from": quantity(change.before, "%"),
        "to": quantity(change.after, "%"),
        "because": list(change.because),
        "reasons": list(change.reasons),
    }


def _shares(shares: tuple[tuple[str, Fraction], ...]) -> list[Value]:
    return [{"ingredient": name, "percent": quantity(share, "%")} for name, share in shares]


def _lines(proposal: Proposal, request: Request) -> list[Value]:
    found = []
    for line in proposal.lines:
        ingredient = request.ingredients.get(line.ingredient)
        found.append(
            {
                "ingredient": line.ingredient,
                "name": ingredient.name if ingredient else line.ingredient,
                "inci": ingredient.inci if ingredient else "",
                "phase": line.phase,
                "percent": quantity(line.percent, "%"),
                "base": quantity(line.base, "%"),
                "grams": quantity(line.percent * request.batch_g / 100, "g"),
                "fills": line.fills,
                "to_reading": line.dosed.to if line.dosed else None,
            }
        )
    return found


def _stage(stage: Stage) -> Value:
    return {
        "name": stage.name,
        "value": quantity(stage.value, stage.unit),
        "bound": quantity(stage.bound, stage.unit),
        "gap": quantity(stage.value - stage.bound, stage.unit),
        "optimal": stage.optimal,
        "proved_in_fractions": quantity(stage.proved, stage.unit),
        "cases": stage.cases,
    }


def _wish(verdict: Verdict) -> Value:
    short = None if verdict.margin is None else abs(verdict.margin)
    return {
        "id": verdict.rule.head.id,
        "rank": verdict.rule.head.rank,
        "short_by": quantity(short, verdict.unit),
    }


def _conflict(conflict: Conflict, *, nearly: bool) -> Value:
    return {
        "rules": [
            {"id": rule.head.id, "sentence": rule.head.sentence, "source": rule.head.source}
            for rule in conflict.rules
        ],
        "minimal": conflict.minimal,
        "certified": conflict.certified,
        "nearly": nearly,
        "proof": list(conflict.proof),
        "best": remarks(conflict.best),
        "told": list(conflict.told),
        "witness": [{"without": one.rule, "lines": _shares(one.lines)} for one in conflict.witnesses],
    }


def _concessions(outcome: Outcome) -> tuple[Concession, ...]:
    return () if isinstance(outcome, Proposals) else outcome.concessions


def _concession(concession: Concession, request: Request) -> Value:
    return {
        "rule": concession.rule.head.id,
        "from": concession.asked,
        "to": concession.enough,
        "sentence": concession.sentence,
        "steps": quantity(concession.steps, "steps"),
        "outside": concession.outside,
        "lines": _shares(concession.lines),
        "cost_per_kg": quantity(concession.cost_per_kg, f"{request.currency}/kg"),
        "proposal": _proposal(concession.proposal, request) if concession.proposal else None,
    }
