"""`optimiser batch`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimiser.cli.asking import FOLDER

if TYPE_CHECKING:
    from optimiser.domain.batches import Batch, Event

DAY = click.option(
    "--on", "day", type=click.DateTime(["%Y-%m-%d"]), required=True, help="The day it happened."
)
JARS = click.option("--jars", type=click.IntRange(1), required=True, help="How many.")
JSON = click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")


@click.group("batch")
def command() -> None:
    """Keep what was made: lots that went in, jars that went out, what was heard; trace it both ways."""


@command.command("new")
@click.argument("number")
@click.argument("formula")
@FOLDER
@click.option("--made", type=click.DateTime(["%Y-%m-%d"]), required=True, help="The day it was made.")
@click.option("--size", default="", metavar="AMOUNT", help="Size (default: the formula's usual batch).")
def new(number: str, formula: str, folder: Path, made: datetime, size: str) -> None:
    """Open batch NUMBER of FORMULA (a formula or a saved proposal) with the lots that expire first."""
    from optimiser.cli.console import fixed
    from optimiser.workflows.batches import open_batch
    from optimiser.workflows.worktable import open_worktable

    done = open_batch(open_worktable(folder), number, formula, made.date(), size)
    click.echo(f"{done.path}: {fixed(done.batch.grams, 0)} g of {done.batch.formula}")
    for name, grams in sorted(done.missing.items()):
        click.echo(
            f"No lot in date covers {fixed(grams, 1)} g of {name}: write the lot into the file.", err=True
        )


def _event(name: str, what: Event, help_text: str, *options: Any) -> None:
    def run(number: str, folder: Path, day: datetime, **said: object) -> None:
        from optimiser.workflows.batches import add_entry

        texts = {key: str(value) for key, value in said.items() if value not in (None, "")}
        batch = add_entry(folder, number, day.date(), what, **texts)
        click.echo(_line(batch))

    made = click.argument("number")(FOLDER(DAY(run)))
    for option in reversed(options):
        made = option(made)
    command.command(name, help=help_text)(made)


_event(
    "fill",
    "filled",
    "Note how many jars batch NUMBER filled.",
    JARS,
    click.option("--holds", default="", metavar="AMOUNT", help='What a jar holds, such as "100 g".'),
)
_event("keep", "kept", "Note jars of batch NUMBER that stay in the house as samples.", JARS)
_event(
    "release",
    "released",
    "Let batch NUMBER go out: somebody has looked at it and says so.",
    click.option("--by", "who", required=True, metavar="NAME", help="Who decided."),
    click.option("--because", "text", default="", metavar="TEXT", help="On what grounds."),
)
_event(
    "hold",
    "held",
    "Keep batch NUMBER in the house.",
    click.option("--by", "who", required=True, metavar="NAME", help="Who decided."),
    click.option("--because", "text", default="", metavar="TEXT", help="Why."),
)
_event(
    "went",
    "went",
    "Note where jars of batch NUMBER went.",
    JARS,
    click.option("--to", "who", required=True, metavar="NAME", help="A buyer, a stall, a shop."),
)
_event(
    "back",
    "back",
    "Note jars of batch NUMBER that came back.",
    JARS,
    click.option("--from", "who", required=True, metavar="NAME", help="From whom."),
)
_event(
    "note",
    "noted",
    "Note a complaint, a reaction, a deviation or a remark about batch NUMBER.",
    click.option(
        "--kind",
        type=click.Choice(["complaint", "reaction", "deviation", "remark"]),
        required=True,
        help="What it is. A reaction on skin: stop use, keep the jar, see what local law asks you to report.",
    ),
    click.option("--text", required=True, metavar="TEXT", help="What was heard or seen."),
    click.option("--from", "who", default="", metavar="NAME", help="From whom."),
    click.option("--jars", type=click.IntRange(1), help="How many jars it concerns."),
)
_event(
    "correct",
    "corrected",
    "Say that an entry of batch NUMBER does not count; write the right one after it.",
    click.option("--entry", "corrects", type=click.IntRange(1), required=True, help="Its number."),
    click.option("--because", "text", required=True, metavar="TEXT", help="Why."),
)


@command.command("show")
@click.argument("number")
@FOLDER
@JSON
def show(number: str, folder: Path, as_json: bool) -> None:
    """Show batch NUMBER: lots, jars, entries."""
    from optimiser.cli.console import console, fixed, json_text, plain, table
    from optimiser.export.batch_json import batch_dict
    from optimiser.workflows.batches import show_batch

    batch = show_batch(folder, number)
    if as_json:
        click.echo(json_text(batch_dict(batch)))
        return
    out = console()
    out.print(plain(_line(batch)), style="bold")
    lots = [(one.ingredient, one.lot or "not written down", fixed(one.grams, 1)) for one in batch.lots]
    out.print(table(("Ingredient", "Lot", "g"), lots, right=(2,)))
    gone = {one.corrects for one in batch.happened}
    rows = [
        (
            str(one.number),
            one.day.isoformat(),
            one.what + (" (does not count)" if one.number in gone else ""),
            str(one.jars) if one.jars else "",
            " ".join(filter(None, (one.who, one.kind, one.text, one.holds))),
        )
        for one in batch.happened
    ]
    if rows:
        out.print(table(("No", "Day", "What", "Jars", ""), rows, right=(0, 3)))


@command.command("list")
@FOLDER
def listing(folder: Path) -> None:
    """List every batch of the worktable, the oldest first."""
    from optimiser.cli.funnel import show_problems
    from optimiser.loading.batches import read_batches
    from optimiser.loading.folder import no_folder

    nowhere = no_folder(folder)
    batches, problems = ((), (nowhere,)) if nowhere else read_batches(folder)
    for one in batches:
        click.echo(_line(one))
    if not batches and not problems:
        click.echo("No batch was opened yet: optimiser batch new NUMBER FORMULA --made DAY")
    if problems:
        show_problems(problems)
        raise SystemExit(1)


@command.command("trace")
@click.argument("word")
@FOLDER
@JSON
def tracing(word: str, folder: Path, as_json: bool) -> None:
    """From a lot to batches, jars and where they went; or back from a buyer or a batch to the lots."""
    from optimiser.cli.console import console, json_text, plain, table
    from optimiser.export.batch_json import trace_dict
    from optimiser.workflows.batches import trace

    found = trace(folder, word)
    if as_json:
        click.echo(json_text(trace_dict(found.word, found.by, found.batches)))
        return
    out = console()
    counted = f"{len(found.batches)} batch{'' if len(found.batches) == 1 else 'es'}"
    out.print(plain(f"{word} ({' and '.join(found.by)}): {counted}"), style="bold")
    for one in found.batches:
        out.print(plain(_line(one)))
    if found.went_to:
        out.print()
        rows = [(who, batch, str(jars)) for who, batch, jars in found.went_to]
        out.print(table(("Went to", "Batch", "Jars"), rows, right=(2,)))
    lots = sorted(
        {(lot.ingredient, lot.lot or "not written down") for one in found.batches for lot in one.lots}
    )
    out.print()
    out.print(table(("Made with", "Lot"), lots))
    heard = [(one.id, e) for one in found.batches for e in one.counting if e.what == "noted"]
    if heard:
        told = [(batch, e.day.isoformat(), e.kind, e.text) for batch, e in heard]
        out.print(table(("Batch", "Day", "Heard", ""), told))
    out.print(f"{sum(jars for _, _, jars in found.went_to)} jars are out, {found.here} are here.")


def _line(batch: Batch) -> str:
    from optimiser.cli.console import fixed

    return (
        f"{batch.id}  {batch.made}  {batch.formula}  {fixed(batch.grams, 0)} g  {batch.state}; "
        f"{batch.jars('filled')} jars filled, {batch.here} here ({batch.jars('kept')} kept as samples)"
    )
