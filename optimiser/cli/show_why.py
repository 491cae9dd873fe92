"""Why, on the terminal."""

from __future__ import annotations

from typing import Any

from optimiser.cli.console import console, fixed, plain, short, signed, table
from optimiser.cli.show_answer import show_outcome
from optimiser.cli.show_comparison import show_comparison
from optimiser.domain.outcome import Proposals
from optimiser.domain.why import Forced, LineWhy, Why
from optimiser.export.why_words import (
    comes_in,
    cost_words,
    span_words,
    stage_words,
    step_words,
    steps_of,
    without_words,
)


def show_why(found: Why, *, whole: bool = False) -> None:
    """Line by line, then what each limit costs."""
    out = console()
    request = found.outcome.request
    out.print(plain(request.name), style="bold")
    out.print(f"Aim: {found.aim}. Formulas that are as good may differ in the lines with room.")
    out.print()
    heads = ("Line", "%", "As good from – to", "May be from – to", "Without it")
    rows = [_line(one, found) for one in found.lines]
    out.print(table(heads, rows, right=(1, 2, 3)))
    _runners_up(out, found)
    out.print("What stops a line where it stands", style="bold")
    for one in found.lines:
        for text in one.held_by[: None if whole else 2]:
            own = text.removeprefix(f"{one.name}: ").removeprefix(f"{one.name}, ")
            out.print(plain(f"  {one.name}: {own}"))
    out.print()
    _limits(out, found)


def _line(one: LineWhy, found: Why) -> tuple[str, ...]:
    return (
        one.name,
        fixed(one.share),
        span_words(one.as_good, short),
        span_words(one.may, short),
        without_words(one, found, short, signed),
    )


def _runners_up(out: Any, found: Why) -> None:
    """Line by line what would come in next, and at which price."""
    rows = []
    money = f"{found.outcome.request.currency}/kg"
    for line in found.lines:
        one = line.runner_up
        if one is not None:
            now = fixed(one.price, 2)
            rows.append((line.name, one.name, now, *comes_in(one, short, fixed)))
    if rows:
        out.print("What would come in next, and at which price", style="bold")
        heads = ("Line", "Runner-up", f"Costs, {money}", "Comes in at", "Has then, %", "Line then, %")
        out.print(table(heads, rows, right=(2, 3, 4, 5)))


def _limits(out: Any, found: Why) -> None:
    if not found.limits:
        out.print("No limit that could be moved holds it back.")
        return
    out.print("What the next step of a limit costs", style="bold")
    heads = ("Limit", "Step", "With the same ingredients", "With any")
    rows = []
    for both in steps_of(found):
        one = next(iter(both.values()))
        costs = (cost_words(both.get(way), found, short, signed) for way in (False, True))
        rows.append((one.rule.rstrip("."), step_words(one, short), *costs))
    out.print(table(heads, rows))


def show_forced(free: Proposals, forced: tuple[Forced, ...]) -> None:
    """Each forced answer beside the free one, or why there is none."""
    out = console()
    for one in forced:
        out.print(plain(f"And {one.asked}?"), style="bold")
        if one.beside is not None and isinstance(one.outcome, Proposals):
            for text in stage_words(free, one.outcome, short, signed):
                out.print(plain(text))
            show_comparison(one.beside)
        else:
            show_outcome(one.outcome)
