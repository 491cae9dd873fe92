"""`optimiser compare`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.asking import FOLDER

if TYPE_CHECKING:
    from optimiser.domain.comparison import Comparison
    from optimiser.units.numbers import DecimalMark

FORMATS = ("html", "csv", "svg", "json")


@click.command("compare")
@click.argument("first")
@click.argument("second", required=False)
@FOLDER
@click.option("--all", "whole", is_flag=True, help="Show the lines and measures that are alike too.")
@click.option("--to", type=click.Path(path_type=Path), metavar="FOLDER", help="Write files into this folder.")
@click.option(
    "--format",
    "formats",
    default="html",
    show_default=True,
    metavar="LIST",
    help=f"What --to writes: {', '.join(FORMATS)}; several with commas.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")
def command(
    first: str, second: str | None, folder: Path, whole: bool, to: Path | None, formats: str, as_json: bool
) -> None:
    """Set two formulas, saved proposals or trials side by side.

    FIRST alone: a formula beside what it was adopted from, a trial beside its plan.
    """
    from optimiser.cli.console import json_text
    from optimiser.export.comparison import comparison_dict
    from optimiser.workflows.compare import history
    from optimiser.workflows.compare_trials import beside_its_plan, compare_any, is_trial
    from optimiser.workflows.worktable import open_worktable

    sources = open_worktable(folder)
    if second:
        found: tuple[Comparison, ...] = (compare_any(sources, first, second),)
    elif is_trial(sources, first):
        found = (beside_its_plan(sources, first),)
    else:
        found = history(sources, first)
    if as_json:
        told = [comparison_dict(one) for one in found]
        click.echo(json_text(told[0] if second else told))
        return
    if not found:
        click.echo(f"{first} was not adopted from another formula of this folder. Name two to compare.")
        return
    if to is not None:
        _write(found, to, formats, sources.worktable.settings.decimal)
        return
    from optimiser.cli.show_comparison import show_comparison

    for one in found:
        show_comparison(one, whole=whole)


def _write(found: tuple[Comparison, ...], to: Path, formats: str, decimal: DecimalMark) -> None:
    from optimiser.workflows.compare import write_comparison

    names = tuple(name.strip() for name in formats.split(",") if name.strip())
    for one in found:
        for path in write_comparison(one, to, names, decimal):
            click.echo(str(path))
