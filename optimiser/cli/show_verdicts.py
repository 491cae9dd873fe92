"""The judge's verdicts as a table."""

from __future__ import annotations

from optimiser.cli.console import console, short, table
from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import UseRange


def show_verdicts(title: str, verdicts: tuple[Verdict, ...]) -> None:
    """Broken rules first, then those that hold; supplier's ranges that hold are only counted."""
    out = console()
    failing = [v for v in verdicts if not v.met]
    holding = [v for v in verdicts if v.met and not isinstance(v.rule, UseRange)]
    ranges = sum(1 for v in verdicts if v.met and isinstance(v.rule, UseRange))
    out.print(f"{title}: {_count(failing)}")
    out.print()
    if failing:
        out.print(_rows("Does not hold", failing))
    out.print(_rows("Holds", holding))
    if ranges:
        out.print(f"{ranges} lines stand inside their supplier's range.")


def _count(failing: list[Verdict]) -> str:
    if not failing:
        return "every rule holds."
    return f"{len(failing)} rule{'' if len(failing) == 1 else 's'} not met."


def _rows(title: str, verdicts: list[Verdict]) -> object:
    rows = []
    for verdict in verdicts:
        note = f" ({verdict.note})" if verdict.note else ""
        rows.append((verdict.rule.head.sentence + note, short(verdict.value), verdict.unit, _wanted(verdict)))
    return table(("Rule", "Has", "", "Asked"), rows, right=(1,), title=title)


def _wanted(verdict: Verdict) -> str:
    low, high = verdict.low, verdict.high
    if low is not None and high is not None:
        return short(low) if low == high else f"{short(low)} to {short(high)}"
    if low is not None:
        return f"at least {short(low)}"
    return f"at most {short(high)}" if high is not None else ""
