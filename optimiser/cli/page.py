"""`optimiser page`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("page")
@click.argument("folder", type=click.Path(path_type=Path), default=Path())
@click.option("--open", "open_browser", is_flag=True, help="Open the page in the browser.")
@click.option(
    "--listen", default="", metavar="ADDRESS", help="Share on this address of the network; takes a password."
)
@click.option(
    "--password-file",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    metavar="FILE",
    help="The password for --listen: the first line of this file.",
)
def command(folder: Path, open_browser: bool, listen: str, password_file: Path | None) -> None:
    """Work on FOLDER in the browser, on this computer alone; prints the address. Ctrl+C ends it."""
    from optimiser.page.serve import serve

    password = ""
    if password_file is not None and listen:
        password = password_file.read_text(encoding="utf-8").partition("\n")[0].strip()
    serve(folder, listen=listen, password=password, open_browser=open_browser, say=click.echo)
