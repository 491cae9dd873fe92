"""`optimiser trial fit`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from optimiser.cli.asking import FOLDER


@click.command("fit")
@click.argument("measure")
@click.argument("trials", nargs=-1, metavar="[TRIAL]...")
@FOLDER
@click.option(
    "--model",
    "kind",
    type=click.Choice(["linear", "quadratic", "special-cubic"]),
    default="linear",
    show_default=True,
    help="Each line by itself, pairs as well, triples as well.",
)
@click.option("--in", "varied", metavar="LINES", help="Lines that vary, with commas (default: found).")
@click.option("--free", metavar="LINES", help="Lines that count as without effect, with commas.")
@click.option("--made", metavar="SETTINGS", help="Settings of the work that count as well, with commas.")
@click.option("--alike", is_flag=True, help="Settings work on all lines alike (default: on each by itself).")
@click.option(
    "--block",
    type=click.Choice(["plan", "day", "none"]),
    help="Days stand off from each other (default: as the trials were planned).",
)
@click.option("--write", is_flag=True, help="Keep it as responses/MEASURE.yaml, for rules on it.")
@click.option("--plot", type=click.Path(path_type=Path), metavar="FILE.svg", help="Draw it.")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="Date of the fit (default: today).")
@click.option("--json", "as_json", is_flag=True, help="Write the fit as JSON.")
def command(
    measure: str,
    trials: tuple[str, ...],
    folder: Path,
    write: bool,
    plot: Path | None,
    day: datetime | None,
    as_json: bool,
    **said: Any,
) -> None:
    """Fit what TRIALS tell of MEASURE, a score or a reading (all that have it when none is named)."""
    from optimiser.cli.console import json_text
    from optimiser.cli.show_fit import show_fit
    from optimiser.export.response_json import fit_dict
    from optimiser.trials.fitting import How
    from optimiser.workflows.trial_fit import FitWanted, draw_response, fit_trials, write_response

    wanted = FitWanted(
        measure,
        trials,
        said["kind"],
        _words(said["varied"]),
        _words(said["free"]),
        How(_words(said["made"]), said["block"]),
        "alike" if said["alike"] else "linear",
    )
    found = fit_trials(folder, wanted, (day or datetime.now().astimezone()).date())
    if as_json:
        click.echo(json_text(fit_dict(found.gathered, found.fit, found.response)))
    else:
        show_fit(found)
    if plot is not None:
        click.echo(str(draw_response(found, plot)), err=as_json)
    if write:
        click.echo(str(write_response(found)), err=as_json)


def _words(text: str | None) -> tuple[str, ...]:
    return tuple(word.strip() for word in (text or "").split(",") if word.strip())
