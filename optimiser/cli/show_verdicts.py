"""The judge's verdicts as tables: what is broken, what was asked, what the law says; the rest is counted."""

from __future__ import annotations

from optimiser.cli.console import console, plain, short, table
from optimiser.domain.outcome import Verdict
from optimiser.domain.rules import Legal
from optimiser.export.verdict_words import count_broken, counted, is_target, told, wanted


def show_verdicts(title: str, verdicts: tuple[Verdict, ...]) -> None:
    """Broken rules first, then those that hold; standing rules that concern nothing here are only counted."""
    out = console()
    failing = [v for v in verdicts if not v.met]
    holding = [v for v in verdicts if v.met]
    out.print(plain(f"{title}: {count_broken(failing)}"))
    for head, shown in (
        ("Does not hold", failing),
        ("Targets and standing rules that hold", [v for v in holding if is_target(v)]),
        ("Legal limits that concern it", [v for v in holding if isinstance(v.rule, Legal) and v.value]),
    ):
        if shown:
            out.print()
            out.print(_rows(head, shown))
    out.print()
    for line in counted(holding):
        out.print(line)


def _rows(title: str, verdicts: list[Verdict]) -> object:
    rows = [(told(one), short(one.value), one.unit, wanted(one)) for one in verdicts]
    return table(("Rule", "Has", "", "Asked"), rows, right=(1,), title=title)
