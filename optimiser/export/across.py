"""The answers of a range as JSON, CSV and a page."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction
from typing import Any

from optimiser.domain.across import FormulaAnswer, Range, Rescue, Rescuer, State
from optimiser.export.pages import environment
from optimiser.export.plain import clean, decimal_text, quantity
from optimiser.export.sheet_csv import guard
from optimiser.export.wording import joined
from optimiser.units.numbers import DecimalMark, show_number

FORMAT = 1
WORDS: dict[State, str] = {
    "works": "works",
    "as it is": "fine as it is",
    "impossible": "impossible",
    "undecided": "undecided",
    "not asked": "not asked",
}


def range_dict(found: Range) -> dict[str, Any]:
    """Numbers as decimal strings with their unit; schema/across.schema.json says what stands where."""
    return {
        "format": FORMAT,
        "asked": clean(found.asked),
        "formulas": found.of,
        "stopped": found.stopped,
        "counts": {state.replace(" ", "_"): count for state, count in found.counts.items()},
        "rescue": None if found.rescue is None else _rescue(found.rescue),
        "answers": [_answer(one) for one in found.answers],
    }


def range_json(found: Range) -> str:
    return json.dumps(range_dict(found), ensure_ascii=False, indent=2) + "\n"


def _rescue(found: Rescue) -> dict[str, Any]:
    return {
        "among": found.among,
        "ingredient": found.ingredient,
        "candidates": found.candidates,
        "proved": found.proved,
        "tried": [
            {
                "ingredient": one.ingredient,
                "name": clean(one.name),
                "works": one.works,
                "uses": one.uses,
                "at_most": one.at_most,
            }
            for one in found.tried
        ],
    }


def _answer(one: FormulaAnswer) -> dict[str, Any]:
    per_kg = f"{one.currency}/kg"
    return {
        "worktable": clean(one.worktable),
        "formula": one.formula,
        "name": clean(one.name),
        "state": one.state.replace(" ", "_"),
        "departure": quantity(one.departure, "points"),
        "cost_before": quantity(one.cost_before, per_kg),
        "cost_unchanged": quantity(one.cost_unchanged, per_kg),
        "cost_after": quantity(one.cost_after, per_kg),
        "went": list(one.went),
        "came": list(one.came),
        "why": clean(one.why),
        "concession": clean(one.concession),
        "proposal": one.proposal,
        "remarks": [clean(text) for text in one.remarks],
    }


COUNTED: dict[State, tuple[str, str]] = {
    "works": ("works with changes", "work with changes"),
    "as it is": ("is fine as it is", "are fine as they are"),
    "impossible": ("is impossible", "are impossible"),
    "undecided": ("is undecided", "are undecided"),
    "not asked": ("could not be asked", "could not be asked"),
}
"""How one and how several are told."""
COLUMNS = (
    "worktable",
    "formula",
    "name",
    "state",
    "departure [points]",
    "cost before [per kg]",
    "cost unchanged [per kg]",
    "cost after [per kg]",
    "currency",
    "went",
    "came",
    "why",
    "concession",
    "proposal",
    "remarks",
)


def range_csv(found: Range) -> str:
    """A row a formula; numbers with a point, several names with a semicolon."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for one in found.answers:
        numbers = (one.departure, one.cost_before, one.cost_unchanged, one.cost_after)
        row = (
            one.worktable,
            one.formula,
            one.name,
            WORDS[one.state],
            *("" if number is None else decimal_text(number) for number in numbers),
            one.currency,
            "; ".join(one.went),
            "; ".join(one.came),
            one.why,
            one.concession,
            one.proposal,
            " ".join(one.remarks),
        )
        writer.writerow([guard(clean(cell)) for cell in row])
    return out.getvalue()


def range_html(found: Range, decimal: DecimalMark = "point") -> str:
    """One page that prints on A4 across; no script, nothing from outside, all text escaped."""

    def money(value: Fraction | None) -> str:
        return "–" if value is None else show_number(value, 2, decimal=decimal, trim=False)

    def points(value: Fraction | None) -> str:
        return "–" if value is None else show_number(value, 1, decimal=decimal, trim=False)

    template = environment().get_template("across.html.j2")
    return (
        template.render(
            found=found,
            words=WORDS,
            money=money,
            points=points,
            joined=joined,
            told=summary(found),
            several=len({one.worktable for one in found.answers}) > 1,
            risen=prices_moved(found),
        )
        + "\n"
    )


def prices_moved(found: Range) -> bool:
    """Whether some base costs something else at the prices asked."""
    return any(one.cost_before != one.cost_unchanged for one in found.answers)


def summary(found: Range) -> tuple[str, ...]:
    """How many of each, then what the one new ingredient does, then what was left when it was stopped."""
    counts = found.counts
    parts = [f"{count} {COUNTED[state][count > 1]}" for state, count in counts.items() if count]
    told = [f"{_formulas(len(found.answers))}: {', '.join(parts)}." if parts else "No formula."]
    if found.rescue is not None:
        told += rescue_words(found.rescue, found.of)
    if found.stopped:
        left = found.of - len(found.answers)
        told.append(f"Stopped: {left} of {_formulas(found.of)} {'is' if left == 1 else 'are'} still to do.")
    return tuple(told)


def rescue_words(found: Rescue, of: int) -> list[str]:
    where = "on the shelf" if found.among == "shelf" else "in the table"
    if not found.candidates:
        return [f"There is nothing {where} that would be new to a formula."]
    best = found.tried[0]
    if not best.ingredient:
        return [f"No single new ingredient {where} makes one more formula work. {_proof(found, where)}"]
    told = [f"With {best.name} as the only new ingredient {_work(best, of)}. {_proof(found, where)}"]
    told += [f"{one.name or 'Nothing new'}: {_work(one, of)}." for one in found.tried[1:]]
    return told


def _work(one: Rescuer, of: int) -> str:
    verb = "works" if one.works == 1 else "work"
    return f"{one.works} of {_formulas(of)} {verb}, {one.uses} of them with it in"


def _proof(found: Rescue, where: str) -> str:
    new = f"{found.candidates} would be new to some formula"
    if found.proved:
        return f"Proved: nothing else {where} does more; {new}." if found.ingredient else f"Proved; {new}."
    most = max(one.at_most for one in found.tried)
    return f"Not proved to be the best: something else {where} may do up to {most}."


def _formulas(count: int) -> str:
    return f"{count} formula{'' if count == 1 else 's'}"
