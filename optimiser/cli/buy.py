"""`optimiser buy`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.asking import FOLDER

if TYPE_CHECKING:
    from optimiser.workflows.buy import Shopping

RULES_DATE = "the rules_date of worktable.yaml"


@click.command("buy")
@click.argument("formulas", nargs=-1)
@FOLDER
@click.option("--batches", type=click.IntRange(1), default=1, show_default=True, help="So many of each.")
@click.option("--batch", default="", metavar="AMOUNT", help="Size of a batch (default: the formula's own).")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="The day the lots have to be in date.")
@click.option("--csv", "as_csv", is_flag=True, help="Write the packs as CSV.")
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")
def command(
    formulas: tuple[str, ...],
    folder: Path,
    batches: int,
    batch: str,
    day: datetime | None,
    as_csv: bool,
    as_json: bool,
) -> None:
    """Packs to buy at the least money for the next batches of FORMULAS (all of them when none is named)."""
    from optimiser.cli.console import json_text
    from optimiser.export.buying import basket_csv, basket_dict, drawn_dict
    from optimiser.export.plain import quantity
    from optimiser.workflows.buy import shopping
    from optimiser.workflows.worktable import open_worktable

    found = shopping(open_worktable(folder), formulas, batches, batch, day.date() if day else None)
    if as_csv:
        click.echo(basket_csv(found.basket, found.names, found.currency), nl=False)
    elif as_json:
        needs = [
            {
                "ingredient": one.ingredient,
                "needed": quantity(one.needed, "g"),
                "on_shelf": quantity(one.on_shelf, "g"),
                "stock": quantity(one.stock, "g"),
                "missing": quantity(one.missing, "g"),
            }
            for one in found.needs
        ]
        told = {"format": 1, "on": found.day.isoformat(), "needs": needs, "lots": drawn_dict(found.drawn)}
        click.echo(json_text(told | basket_dict(found.basket, found.currency)))
    else:
        _show(found, asked_day=day is not None)


def _show(found: Shopping, *, asked_day: bool) -> None:
    from optimiser.cli.console import console, fixed, plain, table

    out = console()
    for name, count, grams in found.batches:
        out.print(plain(f"{count} × {fixed(grams, 0)} g  {name}"))
    out.print()
    rows = [
        (
            one.name,
            fixed(one.needed, 1),
            fixed(one.stock, 1),
            fixed(one.on_shelf, 1),
            fixed(one.missing, 1) if one.missing else "",
        )
        for one in found.needs
    ]
    heads = ("Ingredient", "Needed g", "On the shelf g", "Taken g", "Missing g")
    origin = "" if asked_day else f" ({RULES_DATE})"
    out.print(plain(f"Of the shelf, lots in date on {found.day}{origin} count, the first to expire first."))
    out.print(table(heads, rows, right=(1, 2, 3, 4)))
    _show_basket(out, found)
    _show_lots(out, found, asked_day=asked_day)


def _show_basket(out: object, found: Shopping) -> None:
    from optimiser.cli.console import fixed, table

    say = out.print  # type: ignore[attr-defined]
    basket = found.basket
    if not basket.packs:
        say("Nothing to buy." if not basket.not_offered else "Nothing of it is on offer.")
    else:
        ranked = sorted(basket.packs, key=lambda b: (b.offer.supplier, b.offer.ingredient, b.offer.grams))
        rows = [
            (
                one.offer.supplier,
                found.names[one.offer.ingredient],
                f"{one.packs} × {fixed(one.offer.grams, 0)} g",
                fixed(one.price, 2),
            )
            for one in ranked
        ]
        say(table(("Buy at", "What", "Packs", found.currency), rows, right=(2, 3)))
        post = f", {fixed(basket.post, 2)} {found.currency} of it for carriage" if basket.post else ""
        proved = " No cheaper basket covers it." if basket.proved else ""
        say(f"{fixed(basket.total, 2)} {found.currency} in all{post}.{proved}")
    if basket.not_offered:
        say(f"No pack is on offer of: {', '.join(found.names[one] for one in basket.not_offered)}.")


def _show_lots(out: object, found: Shopping, *, asked_day: bool) -> None:
    from optimiser.cli.console import fixed, plain

    say = out.print  # type: ignore[attr-defined]
    say("")
    told = "" if asked_day else f", {RULES_DATE}; --on asks for another day"
    say(f"Use these lots first (as on {found.day}{told})", style="bold")
    for name, taken in found.drawn.taken.items():
        if taken:
            lots = ", ".join(
                f"{one.lot.lot} {fixed(one.grams, 1)} g"
                + (f" (to {one.lot.expires})" if one.lot.expires else " (no date)")
                for one in taken
            )
            say(plain(f"  {found.names[name]}: {lots}"))
