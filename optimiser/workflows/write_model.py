"""Saves the linear model of a request, for an analyst or another solver to check."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from optimiser.files.atomic import write_atomic
from optimiser.lp.aims import objectives
from optimiser.lp.build import build
from optimiser.model.mps_text import write_mps
from optimiser.model.neutral import write_neutral
from optimiser.model.rows import Model
from optimiser.requests.sources import Sources
from optimiser.search.settling import at_base
from optimiser.search.stages import predicted
from optimiser.workflows.propose import Asked, request_for


def write_models(sources: Sources, asked: Asked, file: Path) -> tuple[Path, Path]:
    """Writes the first stage's model as neutral JSON to `file` and as MPS beside it; returns both paths."""
    model = first_stage(sources, asked)
    neutral = file if file.suffix == ".json" else file.with_suffix(".json")
    mps = neutral.with_suffix(".mps")
    write_atomic(neutral, write_neutral(model))
    write_atomic(mps, write_mps(model))
    return neutral, mps


def first_stage(sources: Sources, asked: Asked) -> Model:
    """Every rule's rows with the cost of the first aim (wishes, which come before it, are left out).

    Rows of a prediction are written where `propose` writes them first: at the base.
    """
    request = request_for(sources, asked)
    musts = replace(request, rules=tuple(r for r in request.rules if r.head.rank is None))
    objective = objectives(musts)[0]
    model = build(musts, incumbent=at_base(musts) if any(predicted(r) for r in musts.rules) else None)
    return (
        replace(model, vars=(*model.vars, *objective.vars))
        .with_rows(objective.rows)
        .with_cost(objective.cost)
    )
