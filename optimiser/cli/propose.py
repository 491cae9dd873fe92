"""`optimiser propose`."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.asking import asking

if TYPE_CHECKING:
    from optimiser.domain.outcome import Outcome
    from optimiser.requests.sources import Sources
    from optimiser.workflows.propose import Asked


@click.command("propose")
@click.argument("formula")
@asking
@click.option("--instead-of", multiple=True, metavar="INGREDIENT", help="Swap this ingredient …")
@click.option("--use", multiple=True, metavar="INGREDIENT", help="… for this one.")
@click.option(
    "--firm",
    metavar="HOW",
    help="Hold for every value in the data: every; or with so many numbers off at once: 2.",
)
@click.option(
    "--alternatives",
    type=click.IntRange(0, 20),
    default=0,
    help="So many answers in all, each with other ingredients and as far from those before as can be.",
)
@click.option(
    "--within",
    metavar="ROOM",
    help="How far behind the best an alternative may be by the first aim: 10%, or 5 in the aim's own unit."
    "  [default: 10% of money, 10 points of departure, one line or ingredient]",
)
@click.option(
    "--try",
    "tried",
    type=click.IntRange(1, 1_000_000),
    metavar="COUNT",
    help="Weigh out so many batches on paper, and count those that meet every rule.",
)
@click.option(
    "--write-model",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Save the linear model as neutral JSON, and as MPS beside it.",
)
@click.option("--save", is_flag=True, help="Save the proposal under proposals/.")
@click.option("--as", "name", default="", metavar="NAME", help="With --save: what to call the file.")
@click.option("--json", "as_json", is_flag=True, help="Write the answer as JSON.")
def command(
    formula: str,
    folder: Path,
    write_model: Path | None,
    save: bool,
    name: str,
    as_json: bool,
    **said: object,
) -> None:
    """Find the formula that meets every rule, closest to FORMULA unless another aim is given."""
    from optimiser.cli.funnel import FOUND
    from optimiser.cli.progress import Progress
    from optimiser.search.certified import FEW_CASES, MAX_CASES
    from optimiser.workflows.ask import ask
    from optimiser.workflows.propose import propose
    from optimiser.workflows.worktable import open_worktable
    from optimiser.workflows.write_model import write_models

    if name and not save:
        raise click.UsageError("--as goes with --save")
    path = Path(formula)
    if path.parent.name == "formulas" and path.exists():
        folder, formula = path.parent.parent, path.stem
    sources = open_worktable(folder)
    asked = replace(ask(sources, formula, said), certify=MAX_CASES if as_json else FEW_CASES)
    for note in asked.notes:
        click.echo(f"batch: {note}", err=True)
    if write_model is not None:
        for written in write_models(sources, asked, write_model):
            click.echo(f"model written: {written}", err=True)
    with Progress() as progress:
        outcome = propose(sources, asked, progress.tell)
    saved = _save(outcome, sources, asked, folder, name) if save else ()
    print_outcome(outcome, sources, as_json)
    if code_of(outcome) == FOUND and sys.stdout.isatty() and not as_json:
        click.echo(f"\n{next_step(saved)}")
    sys.exit(code_of(outcome))


def next_step(saved: Sequence[Path]) -> str:
    """One line for whoever sits at the terminal: how to keep a proposal, or its sheet."""
    from optimiser.cli.console import plain

    if not saved:
        how = "the same command with --save keeps this; optimiser sheet then prints its trial-batch sheet"
        return f"Next: {how}."
    names = ", ".join(path.stem for path in saved)
    return plain(f"Saved as {names}. Next: optimiser sheet {shlex.quote(str(saved[0]))}")


def print_outcome(outcome: Outcome, sources: Sources, as_json: bool) -> None:
    from optimiser.cli.console import json_text
    from optimiser.export.answer_json import answer_dict
    from optimiser.workflows.provenance import provenance_of

    if as_json:
        answer = answer_dict(outcome, provenance=provenance_of(sources, outcome.request))
        click.echo(json_text(answer))
        return
    from optimiser.cli.show_answer import show_outcome

    show_outcome(outcome)


def _save(outcome: Outcome, sources: Sources, asked: Asked, folder: Path, name: str) -> tuple[Path, ...]:
    from optimiser.domain.outcome import Proposals
    from optimiser.workflows.save import save_proposals

    if not isinstance(outcome, Proposals):
        click.echo("nothing to save: there is no proposal", err=True)
        return ()
    saved = save_proposals(outcome, sources, asked, folder, name=name)
    for path in saved:
        click.echo(f"saved: {path}", err=True)
    return saved


def code_of(outcome: Outcome) -> int:
    from optimiser.cli.funnel import FOUND, IMPOSSIBLE, UNDECIDED
    from optimiser.domain.outcome import Impossible, Proposals

    if isinstance(outcome, Proposals):
        return FOUND
    return IMPOSSIBLE if isinstance(outcome, Impossible) else UNDECIDED
