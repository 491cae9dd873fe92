"""`optimiser trial learn`."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

import click

from optimiser.cli.asking import FOLDER


@click.command("learn")
@click.argument("trials", nargs=-1, metavar="[TRIAL]...")
@FOLDER
@click.option("--write", is_flag=True, help="Add what was learned to learned.csv: later proposals use it.")
@click.option(
    "--plot", type=click.Path(path_type=Path), metavar="FILE.svg", help="Draw the check on trials left out."
)
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="Date of the rows (default: today).")
@click.option("--json", "as_json", is_flag=True, help="Write the lesson as JSON.")
def command(
    trials: tuple[str, ...], folder: Path, write: bool, plot: Path | None, day: datetime | None, as_json: bool
) -> None:
    """Learn from the readings of TRIALS (all when none is named): what the numbers of the table should be.

    Shows each number before and after, and each trial as the others foretell it. Nothing is written without
    --write, and no row is ever written over. Exit code 4: nothing could be told.
    """
    from optimiser.cli.console import json_text
    from optimiser.cli.show_lesson import show_lesson
    from optimiser.export.learned_json import lesson_dict
    from optimiser.workflows.learning import draw_lesson, learn_from, write_learned
    from optimiser.workflows.worktable import open_worktable

    sources = open_worktable(folder)
    lesson = learn_from(sources, trials)
    if as_json:
        click.echo(json_text(lesson_dict(lesson)))
    else:
        show_lesson(lesson, sources.worktable.settings.decimal, told=not write)
    if plot is not None:
        click.echo(str(draw_lesson(lesson, sources, plot)), err=as_json)
    if write:
        when = (day or datetime.now().astimezone()).date()
        written = write_learned(lesson, sources, when)
        count = len(lesson.learned)
        rows = f"{count} {'row' if count == 1 else 'rows'} added to {written}: later proposals use them."
        said = "Nothing was learned, nothing written." if written is None else rows
        click.echo(said, err=as_json)
    if not lesson.learned:
        sys.exit(4)
