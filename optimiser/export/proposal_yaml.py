"""A proposal as a file that a sheet can be made from later."""

from __future__ import annotations

from typing import Any

import yaml

from optimiser.domain.firm import Firm
from optimiser.domain.formula import Line
from optimiser.domain.moved import Moved
from optimiser.domain.outcome import Proposal, ProposedLine
from optimiser.domain.request import Request
from optimiser.domain.selector import AnyOf, Selector
from optimiser.export.answer_rules import selector_list
from optimiser.export.formula_yaml import line_text
from optimiser.export.plain import clean, decimal_text
from optimiser.export.provenance import Provenance
from optimiser.loading.proposals import FORMAT
from optimiser.requests.options import Options

HEAD = "# Computed proposal, not tested. Written by the optimiser; judged again before a sheet is printed.\n"
WIDTH = 110


def proposal_text(proposal: Proposal, request: Request, options: Options, *, provenance: Provenance) -> str:
    """YAML with these keys; the same proposal gives the same bytes.

    `format` (1), `name` (what was asked), `heading` (which of the proposals), `formula` (id of the base),
    `briefs` (ids), `options` (`leave_out`, `instead_of`, `only_from`, `aim`, `bare`, `firm`: what was said
    beside the briefs), `batch`, `phases` with `lines` in the formula's own notation, `provenance` (`version`,
    `table`, `request`, `solvers`). Numbers have a decimal point whatever the worktable's mark.
    `optimiser.loading.proposals.read_proposal` reads it back.
    """
    content: dict[str, Any] = {
        "format": str(FORMAT),
        "name": clean(request.name),
        "heading": clean(proposal.heading),
        "formula": request.formula.id,
        "briefs": list(options.briefs),
        "options": _options(options),
        "batch": f"{decimal_text(request.batch_g)} g",
        "phases": _phases(proposal),
        "provenance": {
            "version": provenance.version,
            "table": provenance.table_digest,
            "request": provenance.request_digest,
            "solvers": provenance.solvers,
        },
    }
    return HEAD + yaml.safe_dump(content, sort_keys=False, allow_unicode=True, width=WIDTH)


def _options(options: Options) -> dict[str, Any]:
    return {
        "leave_out": [_selector(one) for one in options.leave_out],
        "instead_of": [{"out": out, "use": use} for out, use in options.instead_of],
        "only_from": options.only_from,
        "aim": list(options.aim),
        "bare": "yes" if options.bare else "no",
        **_firm(options.firm),
        **_moved(options.moved),
    }


def _moved(moved: tuple[Moved, ...]) -> dict[str, Any]:
    """Nothing where no limit was moved by hand."""
    if not moved:
        return {}
    return {"moved": [_one_moved(one) for one in moved]}


def _one_moved(one: Moved) -> dict[str, Any]:
    limits = {"at_least": one.low, "at_most": one.high}
    told: dict[str, Any] = {"rule": one.rule}
    told |= {name: decimal_text(limit) for name, limit in limits.items() if limit is not None}
    told |= {"gone": "yes"} if one.gone else {}
    return told | ({"but_for": list(one.but_for)} if one.but_for else {})


def _firm(firm: Firm | None) -> dict[str, Any]:
    """Nothing where nothing was said beside the briefs."""
    if firm is None:
        return {}
    if firm.off_at_once is None:
        return {"firm": "every"}
    return {"firm": {"off_at_once": decimal_text(firm.off_at_once)}}


def _selector(selector: Selector) -> str | dict[str, list[str]]:
    words = selector_list(selector)
    return {"any": words} if isinstance(selector, AnyOf) else words[0]


def _phases(proposal: Proposal) -> list[dict[str, Any]]:
    names = dict.fromkeys(line.phase for line in proposal.lines)
    return [
        {
            "phase": name,
            "lines": [{line.ingredient: _amount(line)} for line in proposal.lines if line.phase == name],
        }
        for name in names
    ]


def _amount(line: ProposedLine) -> str:
    return line_text(Line(line.ingredient, line.percent, line.fills, line.dosed))
