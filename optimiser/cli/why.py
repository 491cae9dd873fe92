"""`optimiser why`."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from optimiser.cli.asking import asking


@click.command("why")
@click.argument("formula")
@asking
@click.option("--not", "without", multiple=True, metavar="INGREDIENT", help="And without this ingredient?")
@click.option("--instead-of", multiple=True, metavar="INGREDIENT", help="And with another for this one …")
@click.option("--use", multiple=True, metavar="INGREDIENT", help="… namely this one?")
@click.option("--all", "whole", is_flag=True, help="Every line and every limit, not only the telling ones.")
@click.option("--json", "as_json", is_flag=True, help="Write the answer as JSON.")
def command(
    formula: str,
    folder: Path,
    without: tuple[str, ...],
    instead_of: tuple[str, ...],
    use: tuple[str, ...],
    whole: bool,
    as_json: bool,
    **said: Any,
) -> None:
    """Why the proposal for FORMULA is so: what holds each line, what each limit costs, why not another."""
    from optimiser.cli.progress import Progress
    from optimiser.search.certified import MAX_CASES
    from optimiser.workflows.ask import ask
    from optimiser.workflows.worktable import open_worktable

    path = Path(formula)
    if path.parent.name == "formulas" and path.exists():
        folder, formula = path.parent.parent, path.stem
    if len(instead_of) != len(use):
        from optimiser.errors import UsageError

        raise UsageError("--instead-of and --use go in pairs", "give one --use for each --instead-of")
    sources = open_worktable(folder)
    asked = replace(ask(sources, formula, said), certify=MAX_CASES)
    with Progress() as progress:
        if without or use:
            from optimiser.workflows.why import why_not

            swaps = tuple(zip(instead_of, use, strict=True))
            free, forced = why_not(sources, asked, without, swaps, progress.tell)
            shown = _forced(free, forced, sources, as_json)
        else:
            from optimiser.workflows.why import MOST_LIMITS, why

            found = why(sources, asked, progress.tell, 200 if whole else MOST_LIMITS)
            lists = _lists(found, asked, progress.tell, whole)
            shown = _why(found, lists, sources, as_json, whole)
    sys.exit(shown)


def _lists(found: Any, asked: Any, tell: Any, whole: bool) -> Any:
    from optimiser.domain.why import Why
    from optimiser.explain.every_lists import MOST
    from optimiser.workflows.why import ALL_LISTED, clashes_of

    outcome = found.outcome if isinstance(found, Why) else found
    return clashes_of(outcome, asked, tell, ALL_LISTED if whole else MOST)


def _why(found: Any, lists: Any, sources: Any, as_json: bool, whole: bool) -> int:
    from optimiser.cli.console import json_text
    from optimiser.cli.propose import code_of, print_outcome
    from optimiser.domain.why import Why
    from optimiser.export.answer_json import answer_dict
    from optimiser.export.lists_json import lists_entry
    from optimiser.export.why_json import FORMAT, why_dict
    from optimiser.workflows.provenance import provenance_of

    outcome = found.outcome if isinstance(found, Why) else found
    provenance = provenance_of(sources, outcome.request)
    if as_json and isinstance(found, Why):
        click.echo(json_text(why_dict(found, provenance=provenance) | lists_entry(lists, outcome)))
    elif as_json:
        answer = {"format": FORMAT, "answer": answer_dict(outcome, provenance=provenance)}
        click.echo(json_text(answer | lists_entry(lists, outcome)))
    elif isinstance(found, Why):
        from optimiser.cli.show_why import show_why

        show_why(found, whole=whole)
    else:
        print_outcome(found, sources, as_json)
    if not as_json:
        from optimiser.cli.show_lists import show_lists

        for one in lists:
            show_lists(one, outcome.request, whole=whole)
    return code_of(outcome)


def _forced(free: Any, forced: Any, sources: Any, as_json: bool) -> int:
    from optimiser.cli.console import json_text
    from optimiser.cli.propose import code_of, print_outcome
    from optimiser.domain.outcome import Proposals
    from optimiser.export.why_json import forced_dict
    from optimiser.workflows.provenance import provenance_of

    if not isinstance(free, Proposals):
        print_outcome(free, sources, as_json)
        return code_of(free)
    if as_json:
        told = [forced_dict(one, provenance=provenance_of(sources, one.outcome.request)) for one in forced]
        click.echo(json_text({"format": 1, "forced": told}))
    else:
        from optimiser.cli.show_why import show_forced

        show_forced(free, forced)
    return max((code_of(one.outcome) for one in forced), default=0)
