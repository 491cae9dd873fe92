"""The report on a model file as text."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from optimiser.cli.console import console, plain, table
from optimiser.model.exact import exact_text
from optimiser.workflows.solve_model import ModelReport

MOST_ROWS = 60
PLACES = 10


def show_report(report: ModelReport) -> None:
    """Status, objective, values that are not zero, duals that are not zero."""
    out = console()
    how = "proved in exact fractions" if report.certified else "as the solver says, not proved"
    out.print(plain(f"{report.model.name}: {report.answer} ({how})."))
    if report.note and not report.certified:
        out.print(plain(report.note))
    if report.objective is not None:
        out.print(f"Objective ({report.model.sense}): {_both(report.objective)}")
    titles = {var.name: var.title for var in report.model.vars}
    sentences = {row.name: row.sentence for row in report.model.rows}
    _numbers("Variable", "Value", report.values, titles)
    _numbers("Row", "Dual", report.duals, sentences)
    if report.proof is not None:
        out.print(f"The contradiction holds in {len(report.proof.leaves)} case(s); --json shows each sum.")


def _numbers(head: str, what: str, numbers: Mapping[str, Fraction], words: Mapping[str, str]) -> None:
    shown = [(name, _both(value), words.get(name, "")) for name, value in sorted(numbers.items()) if value]
    if not shown:
        return
    out = console()
    out.print()
    out.print(table((head, what, ""), shown[:MOST_ROWS], right=(1,)))
    if len(shown) > MOST_ROWS:
        out.print(f"… and {len(shown) - MOST_ROWS} more (--json lists all).")


def _both(value: Fraction) -> str:
    """The exact text where it is short, else ten digits and the fraction's size."""
    text = exact_text(value)
    if len(text) <= PLACES + 4:
        return text
    return f"{float(value):.{PLACES}g}"
