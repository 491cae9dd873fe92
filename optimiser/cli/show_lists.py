"""Every clash and every way out, on the terminal."""

from __future__ import annotations

from typing import Any

from optimiser.cli.console import console, fixed, plain, short
from optimiser.domain.lists import Clash, Lists, WayOut
from optimiser.domain.request import Request
from optimiser.export.lists_words import said_of

INDENT = "     "


def show_lists(found: Lists, request: Request, *, whole: bool = False) -> None:
    """Both lists; with `whole` the sums in full."""
    out = console()
    out.print()
    if found.wish is not None:
        out.print(plain(f"Your wish clashes: {found.wish.head.sentence}"), style="bold")
    else:
        numbers = " with the numbers as they stand" if found.assumed else ""
        out.print(f"Every way it clashes{numbers}", style="bold")
    for count, clash in enumerate(found.clashes, 1):
        _clash(out, count, clash, whole=whole)
    _more(out, len(found.clashes), found.clash_count)
    out.print()
    out.print("Every way out", style="bold")
    for count, way in enumerate(found.ways, 1):
        _way(out, count, way, request)
    if not found.ways:
        out.print("  None was found: what is never given up cannot hold together.")
    _more(out, len(found.ways), found.way_count)
    out.print()
    out.print(plain(said_of(found)))


def _clash(out: Any, count: int, clash: Clash, *, whole: bool) -> None:
    for place, side in enumerate(clash.members):
        out.print(plain(f"{f'{count:>3}. ' if place == 0 else INDENT}{side.words}"))
    if not clash.members:
        out.print(plain(f"{count:>3}. What is never given up, by itself:"))
    if clash.always:
        named = " ".join(rule.head.sentence for rule in clash.always[: None if whole else 3])
        more = "" if whole or len(clash.always) <= 3 else f" And {len(clash.always) - 3} more."
        out.print(plain(f"{INDENT}With what is never given up: {named}{more}"))
    if not clash.certified:
        out.print(f"{INDENT}The solver says so; it was not proved in exact fractions.")
    if whole:
        for line in clash.proof:
            out.print(plain(f"{INDENT}  {line}"))


def _way(out: Any, count: int, way: WayOut, request: Request) -> None:
    for place, text in enumerate(way.limits or tuple(side.words for side in way.members)):
        out.print(plain(f"{f'{count:>3}. ' if place == 0 else INDENT}{text}"))
    if not way.lines:
        out.print(f"{INDENT}No formula under it was found in whole steps that every other rule accepts.")
        return
    cost = "" if way.cost_per_kg is None else f", {fixed(way.cost_per_kg, 2)} {request.currency}/kg"
    most = sorted(way.lines, key=lambda line: (-line[1], line[0]))
    named = [f"{_name(request, name)} {short(share)} %" for name, share in most]
    out.print(plain(f"{INDENT}Then{cost.removeprefix(',') + ':' if cost else ':'} {', '.join(named)}."))


def _name(request: Request, name: str) -> str:
    known = request.ingredients.get(name)
    return known.name if known is not None else name


def _more(out: Any, shown: int, found: int) -> None:
    if found > shown:
        out.print(f"     … and {found - shown} more (--all lists them).")
