"""`optimiser trial stability`."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("stability")
@click.argument("word", metavar="TRIAL|FORMULA")
@FOLDER
@click.option("--measure", default="ph", show_default=True, help="Which reading of the visits.")
@click.option(
    "--limit",
    "limits",
    multiple=True,
    metavar="LIMIT",
    help='"at_least 4.5" or "at_most 5.5"; both may be given.',
)
@click.option(
    "--at", "at_c", type=float, default=25.0, show_default=True, help="Temperature asked about, in °C."
)
@click.option("--json", "as_json", is_flag=True, help="Write the estimate as JSON.")
def command(
    word: str, folder: Path, measure: str, limits: tuple[str, ...], at_c: float, as_json: bool
) -> None:
    """Estimate how long jars of TRIAL, or of all trials of FORMULA, stay within a limit.

    A line through the visits at each temperature; its one-sided 95 % bound meets the limit. It is an
    estimate, never a claim of how long a product keeps.
    """
    from optimiser.cli.console import json_text
    from optimiser.cli.show_stability import show_stability
    from optimiser.export.stability_json import stability_dict
    from optimiser.workflows.stability import estimate
    from optimiser.workflows.worktable import open_worktable

    sources = open_worktable(folder)
    found = estimate(sources, word, measure, limits, at_c)
    if as_json:
        click.echo(json_text(stability_dict(found)))
    else:
        show_stability(found, sources.worktable.settings.decimal)
