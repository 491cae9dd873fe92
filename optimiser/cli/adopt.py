"""`optimiser adopt`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("adopt")
@click.argument("proposal", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option(
    "--as", "identifier", required=True, metavar="NAME", help="Name of the file, such as mild-mask."
)
@click.option(
    "--title", default="", metavar="TEXT", help="Name on the sheet (default: the base's, and what was asked)."
)
def command(proposal: Path, identifier: str, title: str) -> None:
    """Make a saved PROPOSAL a formula of its worktable; it says which formula it comes from."""
    from optimiser.workflows.adopt import adopt

    done = adopt(proposal, identifier, title)
    click.echo(f"{done.path}: {done.formula.name}")
    for verdict in done.broken:
        click.echo(f"It does not meet: {verdict.rule.head.sentence}", err=True)
