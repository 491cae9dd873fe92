"""`optimiser trial new`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("new")
@click.argument("proposal", metavar="PROPOSAL|FORMULA")
@FOLDER
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), required=True, help="The day it is made.")
@click.option("--as", "name", default="", metavar="NAME", help="What to call it (default: FORMULA-1, -2 …).")
@click.option("--size", default="", metavar="AMOUNT", help='Size of the batch, such as "100 g".')
@click.option("--to", type=click.Path(path_type=Path), help="Write its sheet into this folder.")
@click.option("--because", default="", metavar="REASON", help="Print a sheet that is held, for this reason.")
@click.option("--json", "as_json", is_flag=True, help="Write the trial as JSON.")
def command(
    proposal: str,
    folder: Path,
    day: datetime,
    name: str,
    size: str,
    to: Path | None,
    because: str,
    as_json: bool,
) -> None:
    """Open a trial of a saved PROPOSAL or a FORMULA: what to weigh, and what it is expected to read."""
    from optimiser.cli.console import json_text
    from optimiser.export.trial_json import trial_dict
    from optimiser.workflows.trials import open_trial
    from optimiser.workflows.worktable import home_of, open_worktable

    own = Path(proposal)
    if own.is_file() and own.resolve().parent.name == "proposals":
        folder = home_of(own)
    done = open_trial(
        open_worktable(folder), proposal, day.date(), name=name, size=size, to=to, because=because
    )
    if as_json:
        click.echo(json_text(trial_dict(done.trial)))
        return
    from optimiser.cli.show_trial import show_trial

    show_trial(done.trial)
    for path in (done.path, *done.sheets):
        click.echo(str(path))
