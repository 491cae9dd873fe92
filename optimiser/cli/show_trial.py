"""A trial on the terminal: planned beside weighed, expected beside read, what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from optimiser.cli.console import console, fixed, plain, short, table
from optimiser.domain.trials import Entry, Expected, Trial
from optimiser.domain.vocabulary import unit_words
from optimiser.export.trial_words import entry_words, measure_words, taken_back
from optimiser.units.numbers import places_of
from optimiser.workflows.trials import Beside, beside_of


def show_trial(trial: Trial) -> None:
    """The whole trial; tables without rows are left out, and what is still to read is said."""
    out = console()
    made = f" from {trial.proposal}" if trial.proposal else ""
    head = f"{trial.id}  {trial.formula}{made}  {fixed(trial.batch_g, 0)} g  {trial.opened}  {trial.state}"
    out.print(plain(head), style="bold")
    weighed = trial.weighed
    places = _places([*(line.grams for line in trial.lines), *weighed.values()])
    rows = [
        (
            line.phase,
            line.ingredient,
            fixed(line.grams, places),
            fixed(weighed[line.ingredient], places) if line.ingredient in weighed else "",
            _lot(trial, line.ingredient, line.lot),
        )
        for line in trial.lines
    ]
    out.print(table(("Phase", "Ingredient", "To weigh g", "Weighed g", "Lot"), rows, right=(2, 3)))
    if trial.entries:
        for name, most in trial.unweighed_dosed.items():
            text = f"{name} is dosed and was not weighed: until it is, it counts as all of {short(most)} g."
            out.print(plain(text))
    beside = beside_of(trial)
    if beside:
        out.print()
        told = [_measure(one) for one in beside]
        out.print(table(("Measure", "Expected", "From", "To", "Read", "Unit", ""), told, right=(1, 2, 3, 4)))
    seen = [
        _seen(one, trial)
        for one in trial.entries
        if one.what not in ("weighed", "read", "felt") or taken_back(one, trial)
    ]
    if seen:
        out.print()
        out.print(table(("No", "Day", "What", ""), seen, right=(0,)))
    unread = [measure_words(one.measure) for one in beside if not one.readings]
    if unread and trial.state == "open":
        out.print(plain(f"Still to read: {', '.join(unread)}."))


def _places(values: Sequence[Fraction]) -> int:
    """Decimals that show each of them, three at most."""
    return max((min(places_of(value) or 0, 3) for value in values), default=0)


def _lot(trial: Trial, ingredient: str, planned: str) -> str:
    lots = [one.lot for one in trial.counting if one.what == "weighed" and one.ingredient == ingredient]
    return ", ".join(dict.fromkeys(filter(None, lots))) or planned


def _measure(one: Beside) -> tuple[str, ...]:
    none = f"read at {short(one.readings[-1].rate)}/s" if one.other_shear else ""
    said = {True: "as foretold", False: "not as foretold", None: none}[one.inside]
    expected: Expected | None = one.expected
    ends = (
        ("", "", "") if expected is None else tuple(map(short, (expected.value, expected.low, expected.high)))
    )
    rate = f" at {short(expected.rate)}/s" if expected is not None and expected.rate is not None else ""
    read = ", ".join(short(entry.value) for entry in one.readings)
    felt = any(entry.what == "felt" for entry in one.readings)
    return (measure_words(one.measure) + rate, *ends, read, "of 10" if felt else unit_words(one.unit), said)


def _seen(one: Entry, trial: Trial) -> tuple[str, ...]:
    what = f"{one.what} (taken back)" if taken_back(one, trial) else one.what
    return (str(one.number), one.day.isoformat(), what, entry_words(one, short))
