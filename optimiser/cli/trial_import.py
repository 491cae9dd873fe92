"""`optimiser trial import`."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@FOLDER
@click.option("--write", is_flag=True, help="Keep them; without it they are only shown.")
def command(file: Path, folder: Path, write: bool) -> None:
    """Take readings from FILE (CSV or XLSX) with the columns trial, day and measure, value, unit.

    A row may have a score with its value instead, or an ingredient with grams and lot. With a fault in any
    row nothing is kept.
    """
    from optimiser.cli.console import console, plain, short, table
    from optimiser.cli.funnel import show_problems
    from optimiser.workflows.trials import import_readings
    from optimiser.workflows.worktable import open_worktable

    found = import_readings(open_worktable(folder), file, write=write)
    rows = [
        (
            name,
            one.day.isoformat(),
            one.what,
            one.ingredient or one.measure or one.text,
            short(one.grams if one.value is None else one.value) if one.value or one.grams else "",
            "g" if one.grams is not None else one.unit,
        )
        for name, one in found.entries
    ]
    if rows:
        console().print(table(("Trial", "Day", "What", "", "Value", "Unit"), rows, right=(4,)))
    if found.problems:
        show_problems(found.problems)
        click.echo("Nothing was kept.", err=True)
        raise SystemExit(1)
    count = f"{len(rows)} {'entry' if len(rows) == 1 else 'entries'}"
    click.echo(plain(f"{count} kept." if found.written else f"{count}; nothing is kept yet: add --write."))
