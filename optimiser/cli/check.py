"""`optimiser check`."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path

import click


@click.command("check")
@click.argument("folder", type=click.Path(path_type=Path), default=Path())
@click.argument("formula", required=False)
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")
def command(folder: Path, formula: str | None, as_json: bool) -> None:
    """List every fault in the worktable FOLDER with file and line; or judge FORMULA against every rule."""
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import DATA, show_problems
    from optimiser.workflows.worktable import problems_of

    problems, table = problems_of(folder)
    if problems or table is None:
        if as_json:
            click.echo(json_text({"problems": [asdict(p) for p in problems]}))
        else:
            show_problems(problems)
        sys.exit(DATA)
    if formula is not None:
        _judge(folder, formula, as_json)
    elif as_json:
        click.echo(json_text({"problems": []}))
    else:
        click.echo(
            f"No faults: {len(table.ingredients)} ingredients, {len(table.formulas)} formulas, "
            f"{len(table.briefs)} briefs, {len(table.shelf)} lots, {len(table.clashes)} clashes."
        )


def _judge(folder: Path, name: str, as_json: bool) -> None:
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import DATA
    from optimiser.cli.show_verdicts import show_verdicts
    from optimiser.export.answer_json import verdict_dict
    from optimiser.workflows.propose import broken_rules, check_formula
    from optimiser.workflows.worktable import find, open_worktable

    sources = open_worktable(folder)
    formula = find(name, sources.worktable.formulas, "formula")
    verdicts = check_formula(sources, formula)
    if as_json:
        click.echo(json_text({"formula": formula.id, "rules": [verdict_dict(v) for v in verdicts]}))
    else:
        show_verdicts(formula.name, verdicts)
    if broken_rules(verdicts):
        sys.exit(DATA)
