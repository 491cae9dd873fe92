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


@command.command("why")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--most",
    type=click.IntRange(1),
    default=10,
    show_default=True,
    metavar="N",
    help="How many conflicts and how many cures to list.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(0.1),
    default=60.0,
    show_default=True,
    help="Longest time to look; past it the lists say that they are not complete.",
)
@click.option(
    "--never",
    multiple=True,
    metavar="NAME",
    help="A row, a rule or a variable whose limits are never given up.",
)
@click.option(
    "--first",
    multiple=True,
    metavar="NAME",
    help="One whose limits are given up before others; several: in this order.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the explanation as JSON.")
def why(
    file: Path,
    most: int,
    seconds: float,
    never: tuple[str, ...],
    first: tuple[str, ...],
    as_json: bool,
) -> None:
    """Explain why FILE (neutral JSON rows, or MPS) is impossible: conflicts, cures, repairs, all proved."""
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import FOUND, IMPOSSIBLE, UNDECIDED
    from optimiser.cli.show_why_model import show_explanation
    from optimiser.workflows.explain_model import explain_file, explanation_as_dict

    found = explain_file(file, most=most, seconds=seconds, never=never, first=first)
    if as_json:
        click.echo(json_text(explanation_as_dict(found)))
    else:
        show_explanation(found)
    sys.exit({"possible": FOUND, "impossible": IMPOSSIBLE}.get(found.verdict, UNDECIDED))
