"""`optimiser trial show`."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("show")
@click.argument("trial")
@FOLDER
@click.option("--json", "as_json", is_flag=True, help="Write the trial as JSON.")
def command(trial: str, folder: Path, as_json: bool) -> None:
    """Show TRIAL: planned beside weighed, expected beside read, what is still to read."""
    from optimiser.workflows.trials import get_trial

    found = get_trial(folder, trial)
    if as_json:
        from optimiser.cli.console import json_text
        from optimiser.export.trial_json import trial_dict

        click.echo(json_text(trial_dict(found)))
        return
    from optimiser.cli.show_trial import show_trial

    show_trial(found)
