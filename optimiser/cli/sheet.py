"""`optimiser sheet`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("sheet")
@click.argument("proposal", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--batch", default="", metavar="AMOUNT", help='Batch size, such as "250 g" or "8 oz".')
@click.option(
    "--density", default="", metavar="NUMBER", help='Density of the batch, for a volume: "1.15 g/ml".'
)
@click.option("--balance", default="", metavar="AMOUNT", help='What the balance reads, such as "0.01 g".')
@click.option(
    "--dilute",
    multiple=True,
    metavar="INGREDIENT",
    help="Weigh this line as one part in ten of the water; all: every line that is too small.",
)
@click.option("--to", "to", type=click.Path(path_type=Path), default=Path(), help="Folder to write into.")
@click.option(
    "--format",
    "formats",
    default="html",
    show_default=True,
    help="html, pdf, xlsx, csv, json; several with commas.",
)
@click.option(
    "--paper",
    type=click.Choice(["full", "table", "record"]),
    default="full",
    show_default=True,
    help="What HTML and PDF show: all, one page for the table, or the batch record.",
)
@click.option("--because", default="", metavar="REASON", help="Print what is held, for this reason.")
def command(proposal: Path, to: Path, formats: str, dilute: tuple[str, ...], **said: str) -> None:
    """Write the trial-batch sheet of a saved PROPOSAL; the proposal is judged again first."""
    from optimiser.workflows.sheet import SheetWanted, write_sheets

    names = tuple(name.strip() for name in formats.split(",") if name.strip())
    wanted = SheetWanted(proposal, to, names, dilute=dilute, **said)
    for path in write_sheets(wanted, lambda text: click.echo(text, err=True)):
        click.echo(str(path))
