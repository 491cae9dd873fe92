"""`optimiser model`."""

from __future__ import annotations

import sys
from pathlib import Path

import click


@click.group("model")
def command() -> None:
    """Work on a linear model by itself."""


@command.command("solve")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Write the report as JSON.")
def solve(file: Path, as_json: bool) -> None:
    """Solve FILE (neutral JSON rows, or MPS): status, objective, values, duals."""
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import FOUND, IMPOSSIBLE, UNDECIDED
    from optimiser.cli.show_model import show_report
    from optimiser.workflows.solve_model import report_as_dict, solve_file

    report = solve_file(file)
    if as_json:
        click.echo(json_text(report_as_dict(report)))
    else:
        show_report(report)
    sys.exit({"optimal": FOUND, "infeasible": IMPOSSIBLE}.get(report.answer, UNDECIDED))
