"""Saves proposals under the worktable's `proposals` folder."""

from __future__ import annotations

import re
from pathlib import Path

from optimiser.domain.outcome import Proposals
from optimiser.errors import UsageError
from optimiser.export.proposal_yaml import proposal_text
from optimiser.files.atomic import make_folder, write_atomic, write_new
from optimiser.requests.sources import Sources
from optimiser.workflows.propose import Asked
from optimiser.workflows.provenance import provenance_of

NAMED = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,60}")
"""What proposals and trials may be called."""


def save_proposals(
    outcome: Proposals,
    sources: Sources,
    asked: Asked,
    folder: Path,
    only: int | None = None,
    *,
    called: str = "",
    name: str = "",
) -> tuple[Path, ...]:
    """One file a proposal, named after the formula, what was asked and the request; the same request again
    writes the same file. `only` counts from 1: that proposal alone. `called` tells formulas
    of one request apart. A `name` of one's own is never written over. Raises UsageError or OptimiserError.
    """
    if name and not NAMED.fullmatch(name):
        raise UsageError(
            f'"{name}" is no name of a proposal', "use letters, digits and hyphens, such as mask-3"
        )
    provenance = provenance_of(sources, outcome.request)
    written = []
    for number, proposal in enumerate(outcome.proposals, 1):
        if only not in (None, number):
            continue
        tail = (f"-{called}" if called else "") + ("" if number == 1 else f"-{number}")
        path = folder / "proposals" / f"{name or _stem(asked, provenance.code[:6])}{tail}.yaml"
        make_folder(path.parent)
        text = proposal_text(proposal, outcome.request, asked.options, provenance=provenance)
        if name:
            write_new(path, text)
        else:
            write_atomic(path, text)
        written.append(path)
    return tuple(written)


def _stem(asked: Asked, code: str) -> str:
    options = asked.options
    words = [asked.formula.id, *options.briefs, *options.aim]
    words += [f"no-{of}" for of in options.leave_out]
    words += [f"{use}-for-{out}" for out, use in options.instead_of]
    name = re.sub(r"[^a-z0-9]+", "-", "-".join(words).casefold()).strip("-")
    return f"{name[:80].rstrip('-')}-{code}"
