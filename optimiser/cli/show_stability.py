"""An estimate of how long jars keep, on the terminal."""

from __future__ import annotations

from fractions import Fraction

from optimiser.cli.console import console, table
from optimiser.trials.stability import Kept, Stability
from optimiser.units.numbers import DecimalMark, show_number

MONTH = 30.4375


def show_stability(found: Stability, decimal: DecimalMark) -> None:
    """A line for each way of keeping, what limits what is said, and the rates over temperature or why not."""
    out = console()
    name = "pH" if found.measure == "ph" else found.measure
    ends = ((found.limits.low, "at least"), (found.limits.high, "at most"))
    asked = " and ".join(f"{word} {_number(end, decimal)}" for end, word in ends if end is not None)
    out.print(f"An estimate of how long {name} stays {asked} {found.unit}".rstrip(), style="bold")
    heads = ("Kept at", "Readings", "Observed", "Start", "Change a month", "Estimate", "")
    out.print(table(heads, [_row(one, decimal) for one in found.kept], right=(1,)))
    for one in found.kept:
        for why in one.why:
            out.print(f"  - {_kept_at(one)}: {why}.")
    out.print()
    if found.at_room is not None and found.rate is not None:
        longest = max(one.observed for one in found.kept)
        energy, error = (_number(value, decimal) for value in (found.rate.energy, found.rate.energy_error))
        out.print(
            f"By the rates at the other temperatures (Arrhenius): about {int(found.at_room)} days at "
            f"{_number(found.at_c, decimal)} °C, with an activation energy of {energy} ± {error} kJ/mol. "
            f"A rough estimate: no jar was observed longer than {longest} days, and only jars at that "
            "temperature tell."
        )
    else:
        out.print(f"No estimate from warm jars to {_number(found.at_c, decimal)} °C: {found.no_rate}.")
    for text in found.out:
        out.print(f"Not used: {text}.")
    out.print(
        "The days are those at which the one-sided 95 % bound of the mean meets the limit. It is an estimate "
        "of one measure and no claim: preservation counts too, and retained jars go on being read."
    )


def _row(one: Kept, decimal: DecimalMark) -> tuple[str, ...]:
    if one.line is None:
        return _kept_at(one), str(one.count), f"{one.observed} days", "", "", "none", ""
    month = one.line.slope * MONTH
    change = _number(month, decimal, signed=True)
    beyond = "beyond what was observed" if one.beyond else ""
    start = _number(one.line.start, decimal)
    return _kept_at(one), str(one.count), f"{one.observed} days", start, change, f"{one.told} days", beyond


def _kept_at(one: Kept) -> str:
    celsius, light = one.condition
    place = "room, not written down" if celsius is None else f"{float(celsius):g} °C"
    return f"{place}, {light}" if light else place


def _number(value: float, decimal: DecimalMark, *, signed: bool = False) -> str:
    text = show_number(Fraction(f"{value:.3g}"), 9, decimal=decimal)
    return f"+{text}" if signed and value > 0 else text
