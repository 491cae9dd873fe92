"""The table of a range on the terminal."""

from __future__ import annotations

from typing import Any

from optimiser.cli.console import console, fixed, plain, point, table
from optimiser.domain.across import FormulaAnswer, Range
from optimiser.export.across import WORDS, prices_moved, summary


def show_range(found: Range) -> None:
    """A row a formula, then why some are impossible and what would do."""
    out = console()
    out.print(plain(f"The range: {found.asked}"), style="bold")
    out.print()
    several = len({one.worktable for one in found.answers}) > 1
    risen = prices_moved(found)
    heads = ["Formula", "", "Departure", f"Before{_money(found)}"]
    heads += ["Unchanged"] if risen else []
    heads += ["After", "Out → in"]
    rows = [_row(one, several=several, risen=risen) for one in found.answers]
    out.print(table(heads, rows, right=range(2, len(heads) - 1)))
    _remarks(out, found, several=several)
    for one in found.answers:
        if one.why:
            out.print()
            out.print(plain(f"{_named(one, several=several)}: {WORDS[one.state]}."), style="bold")
            _item(out, one.why)
            if one.concession:
                _item(out, f"Would do: {one.concession}")
    out.print()
    for text in summary(found):
        out.print(plain(text))


def _remarks(out: Any, found: Range, *, several: bool) -> None:
    told = [(_named(one, several=several), text) for one in found.answers for text in one.remarks]
    if told:
        out.print()
        out.print("Look again at these:", style="bold")
    for name, text in told:
        point(out, f"{name}: {text}")


def _money(found: Range) -> str:
    """The currency where all share one."""
    known = {one.currency for one in found.answers if one.currency}
    return f" {known.pop()}/kg" if len(known) == 1 else ""


def _named(one: FormulaAnswer, *, several: bool) -> str:
    if not one.formula:
        return one.worktable
    return f"{one.worktable} / {one.formula}" if several else one.formula


def _row(one: FormulaAnswer, *, several: bool, risen: bool) -> list[str]:
    went, came = ", ".join(one.went), ", ".join(one.came)
    moved = (
        f"{went or '–'} → {came or '–'}" if went or came else "amounts only" if one.state == "works" else ""
    )
    cells = [
        _named(one, several=several),
        WORDS[one.state],
        fixed(one.departure, 1),
        fixed(one.cost_before, 2),
    ]
    cells += [fixed(one.cost_unchanged, 2)] if risen else []
    return [*cells, fixed(one.cost_after, 2), moved]


def _item(out: object, text: str) -> None:
    from rich.padding import Padding
    from rich.text import Text

    out.print(Padding(Text(plain(text)), (0, 0, 0, 2)))  # type: ignore[attr-defined]
