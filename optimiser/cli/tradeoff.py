"""`optimiser tradeoff`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from optimiser.cli.asking import asking

FORMATS = ("html", "svg", "png", "csv", "json")


@click.command("tradeoff")
@click.argument("formula")
@asking
@click.option("--between", default="cost", show_default=True, metavar="MEASURE", help="One wish …")
@click.option(
    "--and",
    "other",
    default="departure",
    show_default=True,
    metavar="MEASURE",
    help='… and the other, such as "most share:clay".',
)
@click.option(
    "--points",
    type=click.IntRange(2, 60),
    default=10,
    show_default=True,
    help="Show at most so many corners of the curve.",
)
@click.option("--to", type=click.Path(path_type=Path), metavar="FOLDER", help="Write files into this folder.")
@click.option(
    "--format",
    "formats",
    default="html",
    show_default=True,
    metavar="LIST",
    help=f"What --to writes: {', '.join(FORMATS)}; several with commas.",
)
@click.option("--json", "as_json", is_flag=True, help="Write the answer as JSON.")
def command(
    formula: str,
    folder: Path,
    between: str,
    other: str,
    points: int,
    to: Path | None,
    formats: str,
    as_json: bool,
    **said: Any,
) -> None:
    """Set two wishes against each other: every formula for FORMULA of which none is better in both."""
    from optimiser.cli.progress import Progress
    from optimiser.cli.propose import code_of, print_outcome
    from optimiser.domain.curve import Curve
    from optimiser.workflows.ask import ask
    from optimiser.workflows.tradeoff import tradeoff
    from optimiser.workflows.worktable import open_worktable

    path = Path(formula)
    if path.parent.name == "formulas" and path.exists():
        folder, formula = path.parent.parent, path.stem
    sources = open_worktable(folder)
    asked = ask(sources, formula, said)
    with Progress() as progress:
        found = tradeoff(sources, asked, between, other, progress.tell, points)
    if not isinstance(found, Curve):
        print_outcome(found, sources, as_json)
        sys.exit(code_of(found))
    if to is not None:
        _write(found, to, formats, sources.worktable.settings.decimal)
    elif as_json:
        from optimiser.cli.console import json_text
        from optimiser.export.curve_json import curve_dict

        click.echo(json_text(curve_dict(found)))
    else:
        from optimiser.cli.show_curve import show_curve

        show_curve(found)


def _write(found: Any, to: Path, formats: str, decimal: Any) -> None:
    from optimiser.workflows.tradeoff import write_curve

    names = tuple(name.strip() for name in formats.split(",") if name.strip())
    for path in write_curve(found, to, names, decimal):
        click.echo(str(path))
