"""A trial on the terminal: planned beside weighed, expected beside read, what was seen."""

from __future__ import annotations

from fractions import Fraction

from optimiser.cli.console import console, fixed, plain, short, table
from optimiser.domain.readings import READABLE
from optimiser.domain.trials import Entry, Expected, Trial
from optimiser.workflows.trials import Beside, beside_of


def show_trial(trial: Trial) -> None:
    """The whole trial; tables without rows are left out, and what is still to read is said."""
    out = console()
    made = f" from {trial.proposal}" if trial.proposal else ""
    head = f"{trial.id}  {trial.formula}{made}  {fixed(trial.batch_g, 0)} g  {trial.opened}  {trial.state}"
    out.print(plain(head), style="bold")
    rows = [
        (
            line.phase,
            line.ingredient,
            *_weights(trial, line.ingredient, line.grams),
            _lot(trial, line.ingredient, line.lot),
        )
        for line in trial.lines
    ]
    out.print(table(("Phase", "Ingredient", "To weigh g", "Weighed g", "Lot"), rows, right=(2, 3)))
    beside = beside_of(trial)
    if beside:
        out.print()
        told = [_measure(one) for one in beside]
        out.print(table(("Measure", "Expected", "From", "To", "Read", "Unit", ""), told, right=(1, 2, 3, 4)))
    seen = [
        _seen(one, trial)
        for one in trial.entries
        if one.what not in ("weighed", "read", "felt") or _gone(one, trial)
    ]
    if seen:
        out.print()
        out.print(table(("No", "Day", "What", ""), seen, right=(0,)))
    unread = [_words(one.measure) for one in beside if not one.readings]
    if unread and trial.state == "open":
        out.print(plain(f"Still to read: {', '.join(unread)}."))


def _weights(trial: Trial, ingredient: str, planned: Fraction) -> tuple[str, str]:
    weighed = trial.weighed.get(ingredient)
    return short(planned), "" if weighed is None else short(weighed)


def _lot(trial: Trial, ingredient: str, planned: str) -> str:
    lots = [one.lot for one in trial.counting if one.what == "weighed" and one.ingredient == ingredient]
    return ", ".join(dict.fromkeys(filter(None, lots))) or planned


def _measure(one: Beside) -> tuple[str, ...]:
    said = {True: "as foretold", False: "not as foretold", None: ""}[one.inside]
    expected: Expected | None = one.expected
    ends = (
        ("", "", "") if expected is None else tuple(map(short, (expected.value, expected.low, expected.high)))
    )
    rate = f" at {short(expected.rate)}/s" if expected is not None and expected.rate is not None else ""
    read = ", ".join(short(entry.value) for entry in one.readings)
    return (_words(one.measure) + rate, *ends, read, one.unit, said)


def _words(measure: str) -> str:
    return READABLE[measure].words if measure in READABLE else measure


def _gone(one: Entry, trial: Trial) -> bool:
    return one.number not in {entry.number for entry in trial.counting} and one.what != "corrected"


def _seen(one: Entry, trial: Trial) -> tuple[str, ...]:
    value = "" if one.value is None else f"{_words(one.measure)} {short(one.value)} {one.unit}".strip()
    weight = "" if one.grams is None else f"{one.ingredient} {short(one.grams)} g"
    stored = "" if one.stored_c is None else f"stood at {short(one.stored_c)} C"
    cycles = "" if one.cycles is None else f"{one.cycles} times frozen and thawed"
    back = "" if one.corrects is None else f"entry {one.corrects} does not count"
    texts = (weight, value, stored, one.light, cycles, one.outcome, one.path, one.text, back, one.who)
    what = f"{one.what} (taken back)" if _gone(one, trial) else one.what
    return (str(one.number), one.day.isoformat(), what, "; ".join(filter(None, texts)))
