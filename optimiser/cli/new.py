"""`optimiser new`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("new")
@click.argument("folder", type=click.Path(path_type=Path))
def command(folder: Path) -> None:
    """Copy the demo worktable into FOLDER: ingredients, formulas and briefs of an invented workshop."""
    from optimiser.workflows.worktable import start_worktable

    started = start_worktable(folder)
    click.echo(f"{started.files} files in {started.folder}. Prices, traders and lots in it are invented.")
    click.echo(f"Next: cd {started.folder} && optimiser propose oat-rose-mask --brief sensitive-skin")
