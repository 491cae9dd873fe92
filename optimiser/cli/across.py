"""`optimiser across`."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimiser.cli.asking import OPTIONS, F

if TYPE_CHECKING:
    from optimiser.domain.across import Range
    from optimiser.workflows.across_job import Wishes

INTERRUPTED = 130
WHERE = (
    click.option(
        "-w",
        "--worktable",
        "folders",
        type=click.Path(path_type=Path),
        multiple=True,
        help="Folder of a worktable; several: one after another (default: here).",
    ),
)
MORE = (
    click.option("--instead-of", multiple=True, metavar="INGREDIENT", help="Swap this ingredient …"),
    click.option("--use", multiple=True, metavar="INGREDIENT", help="… for this one."),
    click.option(
        "--price",
        "prices",
        multiple=True,
        metavar="INGREDIENT=PRICE",
        help="Ask at this price: kaolin=12.50/kg.",
    ),
    click.option(
        "--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="Ask under the limits in force on that day."
    ),
    click.option(
        "--rescue",
        type=click.Choice(["shelf", "table"]),
        help="Allow one new ingredient for the whole range: the one with which most formulas work.",
    ),
    click.option(
        "--to",
        type=click.Path(path_type=Path),
        metavar="FOLDER",
        help="Keep proposals and the table here; the same again goes on where it stopped.",
    ),
    click.option(
        "--jobs", type=click.IntRange(1, 512), default=1, show_default=True, help="So many formulas at once."
    ),
    click.option(
        "--cluster", default="", metavar="ADDRESS", help="Have the workers of a Dask cluster do them."
    ),
    click.option("--json", "as_json", is_flag=True, help="Write the table as JSON."),
)


def _options(command: F) -> F:
    for option in reversed((*WHERE, *OPTIONS[1:], *MORE)):
        command = option(command)
    return command


@click.command("across")
@click.argument("formulas", nargs=-1)
@_options
def command(
    formulas: tuple[str, ...],
    folders: tuple[Path, ...],
    prices: tuple[str, ...],
    day: datetime | None,
    rescue: str | None,
    to: Path | None,
    jobs: int,
    cluster: str,
    as_json: bool,
    **said: Any,
) -> None:
    """Ask the same of FORMULAS (all when none is named): what works, what it costs, what cannot be."""
    from optimiser.cli.progress import Progress
    from optimiser.workflows.across import Means, across, read_tables, write_range
    from optimiser.workflows.rescue import rescue as rescued

    wishes = _wishes(said, prices, day)
    tables = read_tables(folders or (Path(),), formulas)
    means = Means(jobs, cluster, to)
    with _ending_as_interrupt(), Progress() as progress:
        if rescue is None:
            found = across(tables, wishes, means, progress.tell)
        else:
            found = rescued(tables, wishes, means, "shelf" if rescue == "shelf" else "table", progress.tell)
    written = write_range(found, tables, to) if to is not None else ()
    _print(found, as_json)
    for path in written:
        click.echo(f"written: {path}", err=True)
    sys.exit(_left(found, to))


def _wishes(said: dict[str, Any], prices: tuple[str, ...], day: datetime | None) -> Wishes:
    from optimiser.errors import UsageError
    from optimiser.workflows.across_job import Wishes

    pairs = []
    for word in prices:
        name, sign, price = word.rpartition("=")
        if not sign or not name.strip() or not price.strip():
            raise UsageError(f'"{word}" names no price', "write --price INGREDIENT=12.50/kg")
        pairs.append((name.strip(), price.strip()))
    listed = sorted((key, tuple(v) if isinstance(v, list) else v) for key, v in said.items() if v)
    return Wishes(tuple(listed), tuple(pairs), day.date() if day else None)


@contextmanager
def _ending_as_interrupt() -> Iterator[None]:
    """A request to end is taken like Ctrl-C: what is done is kept."""

    def stop(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _print(found: Range, as_json: bool) -> None:
    if as_json:
        from optimiser.cli.console import json_text
        from optimiser.export.across import range_dict

        click.echo(json_text(range_dict(found)))
    else:
        from optimiser.cli.show_across import show_range

        show_range(found)


def _left(found: Range, to: Path | None) -> int:
    """The exit code: the worst of the range; a stopped run says how to go on."""
    from optimiser.cli.funnel import DATA, FOUND, IMPOSSIBLE, UNDECIDED

    if found.stopped:
        how = f"the same command goes on from what is kept in {to}" if to else "with --to FOLDER it can go on"
        click.echo(f"stopped: {len(found.answers)} of {found.of} done; {how}", err=True)
        return INTERRUPTED
    counts = found.counts
    if counts["not asked"]:
        return DATA
    if counts["impossible"]:
        return IMPOSSIBLE
    return UNDECIDED if counts["undecided"] else FOUND
