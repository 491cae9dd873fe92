"""`optimiser trial list`."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("list")
@FOLDER
@click.option("--json", "as_json", is_flag=True, help="Write the trials as JSON.")
def command(folder: Path, as_json: bool) -> None:
    """List every trial of the worktable, the oldest first."""
    from optimiser.workflows.trials import all_trials, beside_of

    trials = all_trials(folder)
    if as_json:
        from optimiser.cli.console import json_text
        from optimiser.export.trial_json import trial_dict

        click.echo(json_text([trial_dict(one) for one in trials]))
        return
    if not trials:
        click.echo("No trial was opened yet: optimiser trial new FORMULA --on DAY")
        return
    from optimiser.cli.console import console, fixed, table

    rows = []
    for one in trials:
        beside = beside_of(one)
        read = sum(bool(measure.readings) for measure in beside)
        off = sum(measure.inside is False for measure in beside)
        rows.append(
            (
                one.id,
                one.opened.isoformat(),
                one.formula,
                fixed(one.batch_g, 0),
                one.state,
                str(read),
                str(off),
            )
        )
    heads = ("Trial", "Opened", "Formula", "g", "State", "Measures read", "Not as foretold")
    console().print(table(heads, rows, right=(3, 5, 6)))
