"""`optimiser cost`."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("cost")
@click.argument("formula")
@FOLDER
@click.option("--batch", default="", metavar="AMOUNT", help="Size of a batch (default: the formula's own).")
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")
def command(formula: str, folder: Path, batch: str, as_json: bool) -> None:
    """Where the money goes in FORMULA, a formula or a saved proposal: line by line, and a filled jar."""
    from optimiser.cli.console import console, fixed, json_text, plain, short, table
    from optimiser.export.buying import jar_dict, lines_list
    from optimiser.export.plain import quantity
    from optimiser.workflows.buy import reckon
    from optimiser.workflows.worktable import open_worktable

    found = reckon(open_worktable(folder), formula, batch)
    money = found.currency
    if as_json:
        per_kg = quantity(found.cost_per_kg, f"{money}/kg")
        told = {"format": 1, "name": found.name, "cost_per_kg": per_kg}
        click.echo(
            json_text(told | {"lines": lines_list(found.lines, money), "jar": jar_dict(found.jar, money)})
        )
        return
    out = console()
    out.print(plain(f"{found.name}: {fixed(found.cost_per_kg, 2)} {money}/kg"), style="bold")
    rows = [
        (name, fixed(share), fixed(part, 3), f"{short(part / found.cost_per_kg * 100, 0)} %")
        for name, share, part in found.lines
    ]
    out.print(table(("Line", "%", f"{money}/kg", "of the money"), rows, right=(1, 2, 3)))
    jar = found.jar
    if jar is None:
        out.print("What a jar costs is not known: costs.yaml says nothing of a jar.")
        return
    parts = [(one.what, fixed(one.per_jar, 3)) for one in jar.shares]
    title = f"A jar of {short(jar.holds_g)} g, {jar.jars} from {short(jar.batch_g)} g"
    out.print(table((title, money), parts, right=(1,)))
    end = f"A jar costs {fixed(jar.per_jar, 2)} {money}"
    if jar.margin is not None:
        end += f"; sold at {fixed(jar.price, 2)} it leaves {fixed(jar.margin, 2)} {money}"
    out.print(f"{end}.")
    filled = f"{jar.jars} × {short(jar.filled_g)} g in jars"
    out.print(f"{filled}, {short(jar.in_pots_g, 1)} g stay in pots, {short(jar.left_g, 1)} g fill no jar.")
