"""`optimiser trial import`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from optimiser.cli.asking import FOLDER


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@FOLDER
@click.option("--write", is_flag=True, help="Keep them; without it they are only shown.")
@click.option("--json", "as_json", is_flag=True, help="Write the entries as JSON.")
def command(file: Path, folder: Path, write: bool, as_json: bool) -> None:
    """Take readings from FILE (CSV or XLSX) with the columns trial, day and measure, value, unit.

    A row may have a score with its value instead, or an ingredient with grams and lot. With a fault in any
    row nothing is kept. Rows that were taken before are left out, so a table that grows can be taken again.
    """
    from optimiser.cli.console import json_text
    from optimiser.cli.funnel import show_problems
    from optimiser.export.trial_json import import_dict
    from optimiser.workflows.recording import rows_without_shear
    from optimiser.workflows.trials import import_readings
    from optimiser.workflows.worktable import open_worktable

    found = import_readings(open_worktable(folder), file, write=write)
    if as_json:
        click.echo(json_text(import_dict(found.entries, found.problems, found.known, written=found.written)))
    elif found.entries:
        _show(found)
    if found.problems:
        if not as_json:
            show_problems(found.problems)
            click.echo("Nothing was kept.", err=True)
        raise SystemExit(1)
    if not as_json:
        click.echo(_said(found))
        if shearless := rows_without_shear(found.entries):
            click.echo(shearless, err=True)


def _show(found: Any) -> None:
    from optimiser.cli.console import console, short, table

    rows = []
    for name, one in found.entries:
        value = one.value if one.grams is None else one.grams
        unit = one.unit if one.grams is None else "g"
        what = one.ingredient or one.measure or one.text
        stored = "" if one.stored_c is None else f"at {short(one.stored_c)} °C"
        shown = "" if value is None else short(value)
        rows.append((name, one.day.isoformat(), one.what, what, shown, unit, stored))
    stood = any(row[-1] for row in rows)
    heads = ("Trial", "Day", "What", "", "Value", "Unit", *(["Stood"] if stood else []))
    console().print(table(heads, [row[: len(heads)] for row in rows], right=(4,)))


def _said(found: Any) -> str:
    count = len(found.entries)
    entries = f"{count} {'entry' if count == 1 else 'entries'}"
    if not count:
        return "Nothing new: every row was kept before."
    before = f" Kept before, and left out: {found.known}." if found.known else ""
    kept = " kept." if found.written else "; nothing is kept yet: add --write."
    return f"{entries}{kept}{before}"
