"""The judge's verdicts as tables: what is broken, what was asked, what the law says; the rest is counted."""

from __future__ import annotations

from optimiser.cli.console import console, plain, short, table
from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Clash, Legal, Needs, UseRange


def show_verdicts(title: str, verdicts: tuple[Verdict, ...]) -> None:
    """Broken rules first, then those that hold; standing rules that concern nothing here are only counted."""
    out = console()
    failing = [v for v in verdicts if not v.met]
    holding = [v for v in verdicts if v.met]
    out.print(plain(f"{title}: {_count(failing)}"))
    for head, shown in (
        ("Does not hold", failing),
        ("Targets and standing rules that hold", [v for v in holding if _is_target(v)]),
        ("Legal limits that concern it", [v for v in holding if isinstance(v.rule, Legal) and v.value]),
    ):
        if shown:
            out.print()
            out.print(_rows(head, shown))
    out.print()
    for line in _counted(holding):
        out.print(line)


def _is_target(verdict: Verdict) -> bool:
    idle = verdict.rule.head.id.startswith("carrier#") and not verdict.value
    return not isinstance(verdict.rule, Clash | Needs | Legal | UseRange) and not idle


def _counted(holding: list[Verdict]) -> list[str]:
    ranges = sum(isinstance(v.rule, UseRange) for v in holding)
    clashes = sum(isinstance(v.rule, Clash) for v in holding)
    idle = sum(isinstance(v.rule, Legal) and not v.value for v in holding)
    lines = [
        (ranges, "lines stand inside their supplier's range"),
        (clashes, "kinds of clash were looked for, none found"),
    ]
    lines.append((idle, "legal limits concern substances that are not in it"))
    return [f"{count} {text}." for count, text in lines if count]


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
