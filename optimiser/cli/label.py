"""`optimiser label`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("label")
@click.argument("formula")
@FOLDER
@click.option("--net", default="", metavar="AMOUNT", help='What a pack holds: "100 g", "50 ml".')
@click.option("--made", type=click.DateTime(["%Y-%m-%d"]), help="The day the batch was made.")
@click.option(
    "--keeps", "keeps_months", type=click.IntRange(1), metavar="MONTHS", help="Unopened, by your tests."
)
@click.option(
    "--opened",
    "opened_months",
    type=click.IntRange(1),
    metavar="MONTHS",
    help="Opened, by your tests.",
)
@click.option("--batch-no", "batch", default="", metavar="TEXT", help="The batch number.")
@click.option("--directions", default="", metavar="TEXT", help="How it is used.")
@click.option("--to", type=click.Path(path_type=Path), metavar="FOLDER", help="Write files into this folder.")
@click.option(
    "--format", "formats", default="html", show_default=True, help="html, txt, json; several with commas."
)
@click.option("--json", "as_json", is_flag=True, help="Write the label as JSON.")
def command(
    formula: str,
    folder: Path,
    made: datetime | None,
    to: Path | None,
    formats: str,
    as_json: bool,
    **said: object,
) -> None:
    """Write the label of FORMULA, a formula or a saved proposal: names in the order the law wants."""
    from optimiser.export.label import label_json, label_text
    from optimiser.workflows.label import LabelWanted, make_label, write_labels
    from optimiser.workflows.worktable import open_worktable

    wanted = LabelWanted(formula, made=made.date() if made else None, **said)  # type: ignore[arg-type]
    label = make_label(open_worktable(folder), wanted)
    if to is not None:
        names = tuple(name.strip() for name in formats.split(",") if name.strip())
        for path in write_labels(label, formula, to, names):
            click.echo(str(path))
        return
    click.echo(label_json(label) if as_json else label_text(label), nl=False)
