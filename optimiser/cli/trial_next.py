"""`optimiser trial next`."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimiser.cli.asking import FOLDER

if TYPE_CHECKING:
    from optimiser.trials.next_trials import NextTrials, Wanted
    from optimiser.workflows.trial_next import Start

CRITERIA = {"coefficients": "D", "predictions": "I"}


@click.command("next")
@click.argument("start", metavar="PROPOSAL|TRIAL|FORMULA")
@FOLDER
@click.option("--brief", "briefs", multiple=True, help="A brief of the worktable, beside a FORMULA.")
@click.option(
    "--vary",
    multiple=True,
    metavar="LINES",
    help="Lines that vary, with commas; kaolin=18..24 sets limits. Left out: three with most room.",
)
@click.option(
    "--model",
    "kind",
    type=click.Choice(["linear", "quadratic", "special-cubic"]),
    default="quadratic",
    show_default=True,
    help="Each line by itself, pairs as well, triples as well.",
)
@click.option("--batches", type=click.IntRange(1, 60), help="How many to make (default: what it takes).")
@click.option(
    "--blocks", type=click.IntRange(1, 8), default=1, show_default=True, help="Days to make them on."
)
@click.option("--new-day", is_flag=True, help="Days of trials made before stand apart, and the new one too.")
@click.option(
    "--replicates",
    type=click.IntRange(0, 20),
    default=2,
    show_default=True,
    help="Batches made again.",
)
@click.option(
    "--aim-for",
    type=click.Choice(list(CRITERIA)),
    default="predictions",
    show_default=True,
    help="Sharp numbers of the model (D-optimal), or sharp values foretold (I-optimal).",
)
@click.option("--seed", type=int, default=1, show_default=True, help="Another one draws another order.")
@click.option("--open", "opened", is_flag=True, help="Save every batch, open its trial, write its sheet.")
@click.option("--to", type=click.Path(path_type=Path), help="Folder for the sheets of --open.")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="The day that --open opens them.")
@click.option("--size", default="", metavar="AMOUNT", help='Size of each batch of --open, such as "100 g".')
@click.option("--because", default="", metavar="REASON", help="Print sheets that are held, for this reason.")
@click.option("--json", "as_json", is_flag=True, help="Write the plan as JSON.")
def command(
    start: str,
    folder: Path,
    opened: bool,
    to: Path | None,
    day: datetime | None,
    as_json: bool,
    **said: Any,
) -> None:
    """Plan the trials that tell most, inside the room that the brief leaves."""
    from optimiser.cli.progress import Progress
    from optimiser.workflows.trial_next import Start, plan, start_from

    if (to is not None or said["size"]) and not opened:
        raise click.UsageError(f"{'--size' if to is None else '--to'} goes with --open")
    if opened and day is None:
        raise click.UsageError("--open needs the day: --on 2026-11-25")
    with Progress() as progress:
        found = start_from(start, folder, {"briefs": said["briefs"]}, progress.tell)
        if isinstance(found, Start):
            progress.tell("looking for the room the brief leaves, and the trials that tell most")
            planned = plan(found, said["vary"], _wanted(said))
    if not isinstance(found, Start):
        _no_start(found, folder, as_json)
        return
    _show(planned, as_json)
    if day is not None and opened:
        _open(found, planned, day, to, said, as_json)


def _wanted(said: dict[str, Any]) -> Wanted:
    from optimiser.trials.next_trials import Wanted

    return Wanted(
        said["kind"],
        said["batches"],
        said["blocks"],
        said["replicates"],
        CRITERIA[said["aim_for"]],  # type: ignore[arg-type]
        said["seed"],
        said["new_day"],
    )


def _show(planned: NextTrials, as_json: bool) -> None:
    if as_json:
        from optimiser.cli.console import json_text
        from optimiser.export.next_json import next_dict

        click.echo(json_text(next_dict(planned)))
        return
    from optimiser.cli.show_next import show_next

    show_next(planned)


def _open(
    found: Start, planned: NextTrials, day: datetime, to: Path | None, said: dict[str, Any], as_json: bool
) -> None:
    """Every batch as a trial with its sheet, each told as it stands."""
    from optimiser.cli.progress import Progress
    from optimiser.workflows.trial_next import open_plan

    with Progress() as progress:
        made = open_plan(found, planned, day.date(), to, said["because"], said["size"], progress.tell)
    for one in made:
        sheet = f", sheet {one.trial.sheets[0]}" if one.trial.sheets else ""
        click.echo(f"No. {one.batch.number} is trial {one.trial.trial.id}{sheet}", err=as_json)


def _no_start(found: Any, folder: Path, as_json: bool) -> None:
    """No formula meets the brief: said as `propose` says it."""
    from optimiser.cli.propose import code_of, print_outcome
    from optimiser.workflows.worktable import open_worktable

    print_outcome(found, open_worktable(folder), as_json)
    sys.exit(code_of(found))
