"""The options of a request, one way for every command that asks for formulas."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])
AIMS = ("closest", "cheapest", "fewest-changes", "fewest-ingredients", "shelf-first")
FOLDER = click.option(
    "-w",
    "--worktable",
    "folder",
    type=click.Path(path_type=Path),
    default=Path(),
    help="Folder of the worktable (default: here).",
)
OPTIONS = (
    FOLDER,
    click.option(
        "--brief", "briefs", multiple=True, help="A brief of the worktable; may be given several times."
    ),
    click.option(
        "--leave-out",
        multiple=True,
        metavar="WHAT",
        help="An ingredient, or flag:NAME, role:NAME, kind:NAME, substance:NAME.",
    ),
    click.option(
        "--only-from", type=click.Choice(["shelf"]), help="Use only what is on the shelf and in date."
    ),
    click.option(
        "--aim", multiple=True, type=click.Choice(AIMS), help="What to make small; several: in this order."
    ),
    click.option(
        "--bare",
        is_flag=True,
        help="Lift what cheapest, fewest-ingredients and shelf-first hold on to of the base.",
    ),
    click.option("--batch", metavar="AMOUNT", help='Batch to reckon stock and packs for, such as "8 oz".'),
    click.option("--density", metavar="NUMBER", help='Density of the batch, for a volume: "1.15 g/ml".'),
    click.option(
        "--seconds",
        type=click.FloatRange(0.1),
        default=60.0,
        show_default=True,
        help="Longest time for one solve; past it the answer may be 'undecided'.",
    ),
)


def asking(command: F) -> F:
    """Gives a command the options that say what is asked."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command
