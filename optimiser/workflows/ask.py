"""From words of the command line (or the page) to one call of `propose`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import cast

from optimiser.checks.amounts import Amounts
from optimiser.domain.brief import AIMS, Aim
from optimiser.domain.firm import Firm
from optimiser.domain.moved import Moved
from optimiser.errors import UsageError
from optimiser.loading.firm import EVERY, count_of
from optimiser.problems import did_you_mean
from optimiser.requests.draft import base_amounts
from optimiser.requests.options import Options
from optimiser.requests.sources import Sources
from optimiser.search.apart import Within
from optimiser.solver.interface import Limits
from optimiser.units.numbers import NumberFault, read_number
from optimiser.workflows.choosing import ingredient, selector
from optimiser.workflows.propose import Asked
from optimiser.workflows.volumes import batch_of
from optimiser.workflows.worktable import find


def ask(sources: Sources, formula: str, said: Mapping[str, object]) -> Asked:
    """Settles names and amounts. Keys of `said` are those of the command's options; missing ones are unsaid.

    Raises UsageError with a hint for a name that does not exist.
    """
    table = sources.worktable
    base = find(formula, table.formulas, "formula")
    notes: tuple[str, ...] = ()
    if said.get("batch"):
        amounts = Amounts(tuple(sorted(base_amounts(base).items())), table.ingredients)
        given = str(said["batch"]), table.settings.decimal, str(said.get("density") or "")
        batch = batch_of(*given, amounts)
        base, notes = replace(base, batch_g=batch.grams), tuple(filter(None, (batch.note,)))
    out, use = _words(said, "instead_of"), _words(said, "use")
    if len(out) != len(use):
        raise UsageError("--instead-of and --use go in pairs", "give one --use for each --instead-of")
    swaps = tuple(_swap(sources, a, b) for a, b in zip(out, use, strict=True))
    options = Options(
        briefs=tuple(_words(said, "briefs")),
        leave_out=tuple(selector(word, sources) for word in _words(said, "leave_out")),
        instead_of=swaps,
        only_from=str(said.get("only_from") or ""),
        aim=_aims(_words(said, "aim")),
        bare=bool(said.get("bare")),
        firm=_firm(said.get("firm"), sources),
        moved=tuple(cast("Sequence[Moved]", said.get("moved") or ())),
    )
    limits = Limits(seconds=_seconds(said.get("seconds")))
    alternatives, tried = (int(cast("int", said.get(key) or 0)) for key in ("alternatives", "tried"))
    within = _within(said.get("within"), sources)
    certify = int(cast("int", said.get("certify") or 0))
    return Asked(
        base, options, alternatives, limits, notes=notes, tried=tried, within=within, certify=certify
    )


def _firm(said: object, sources: Sources) -> Firm | None:
    """`every`, or how many numbers may be off at once."""
    if not said:
        return None
    if said == EVERY:
        return Firm()
    count = count_of(str(said), sources.worktable.settings.decimal)
    if isinstance(count, NumberFault):
        raise UsageError(f'"{said}" is no degree of firmness', "write --firm every, or a count: --firm 2")
    return Firm(count)


def _within(said: object, sources: Sources) -> Within:
    """`10%` of the best, or an amount in the aim's own unit."""
    if not said:
        return Within()
    text = str(said).strip()
    found = read_number(text.removesuffix("%").strip(), decimal=sources.worktable.settings.decimal)
    if isinstance(found, NumberFault) or found < 0:
        hint = "write --within 10%, or an amount in the unit of the aim: --within 5"
        raise UsageError(f'"{said}" says no distance from the best', hint)
    return Within(part=found / 100) if text.endswith("%") else Within(by=found)


def _seconds(said: object) -> float | None:
    if not said:
        return None
    seconds = float(cast("float", said))
    if not math.isfinite(seconds):
        raise UsageError(f"{seconds} is no length of time", "give seconds, such as --seconds 60")
    return seconds


def _swap(sources: Sources, out: str, use: str) -> tuple[str, str]:
    gone, come = ingredient(out, sources), ingredient(use, sources)
    if gone.id == come.id:
        raise UsageError(f"{gone.name} cannot stand in for itself", "name another ingredient after --use")
    return gone.id, come.id


def _words(said: Mapping[str, object], key: str) -> Sequence[str]:
    return cast("Sequence[str]", said.get(key) or ())


def _aims(words: Sequence[str]) -> tuple[Aim, ...]:
    for word in words:
        if word not in AIMS:
            raise UsageError(f'no aim is called "{word}"', did_you_mean(word, AIMS))
    return tuple(cast("Aim", word) for word in words)
