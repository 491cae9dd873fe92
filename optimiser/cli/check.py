"""`optimiser check`."""

from __future__ import annotations

import sys
from dataclasses import asdict
from pathlib import Path

import click


@click.command("check")
@click.argument("folder", type=click.Path(path_type=Path), default=Path())
@click.argument("formula", required=False)
@click.option(
    "--try",
    "tried",
    type=click.IntRange(1, 1_000_000),
    metavar="COUNT",
    help="Weigh out so many batches of FORMULA on paper and count those that meet every rule.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")
def command(folder: Path, formula: str | None, tried: int | None, as_json: bool) -> None:
    """List every fault in the worktable FOLDER and its trials, with file and line.

    With FORMULA: judge it against every rule.
    """
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import DATA, show_problems
    from optimiser.workflows.worktable import problems_of
    from optimiser.workflows.worth_asking import worth_asking

    problems, table = problems_of(folder)
    if problems or table is None:
        if as_json:
            click.echo(json_text({"problems": [asdict(p) for p in problems]}))
        else:
            show_problems(problems)
        sys.exit(DATA)
    if formula is not None:
        _judge(folder, formula, tried or 0, as_json)
    elif as_json:
        asked = worth_asking(folder, table)
        click.echo(json_text({"problems": [], "asked": [asdict(one) for one in asked]}))
    else:
        click.echo(
            f"No faults: {len(table.ingredients)} ingredients, {len(table.formulas)} formulas, "
            f"{len(table.briefs)} briefs, {len(table.shelf)} lots, {len(table.clashes)} clashes"
            f"{_trials(folder)}."
        )
        for one in worth_asking(folder, table):
            click.echo(f"To ask: {one.sentence()}")


def _trials(folder: Path) -> str:
    from optimiser.loading.trials import trial_files

    count = len(trial_files(folder))
    return f", {count} trial{'' if count == 1 else 's'}" if count else ""


def _judge(folder: Path, name: str, tried: int, as_json: bool) -> None:
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import DATA
    from optimiser.cli.show_answer import show_told
    from optimiser.cli.show_verdicts import show_verdicts
    from optimiser.export.answer_json import measures_dict, told_dict, verdict_dict
    from optimiser.export.answer_rules import remarks
    from optimiser.export.firmness_json import batches_dict
    from optimiser.solver.interface import Limits
    from optimiser.workflows.propose import as_it_stands, broken_rules
    from optimiser.workflows.trying import try_batches
    from optimiser.workflows.worktable import find, open_worktable

    sources = open_worktable(folder)
    formula = find(name, sources.worktable.formulas, "formula")
    told, request = as_it_stands(sources, formula)
    balances = sources.worktable.settings.balances
    counted = try_batches(told, request, balances, tried, Limits(seconds=60)) if tried else None
    if as_json:
        found = {"formula": formula.id, "rules": [verdict_dict(v) for v in told.verdicts]}
        more = {"measures": measures_dict(told), "warnings": remarks(told.warnings), **told_dict(told)}
        more |= {} if counted is None else {"batches": batches_dict(counted)}
        click.echo(json_text({**found, **more}))
    else:
        show_verdicts(formula.name, told.verdicts)
        show_told(told, request, counted)
    if broken_rules(told.verdicts):
        sys.exit(DATA)
