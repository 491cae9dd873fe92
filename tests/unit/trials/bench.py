"""Trials made of invented jars, on the demo's table."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction

from optimiser.domain.trials import Entry, Planned, Trial

DAY = date(2026, 11, 3)


def jar(name: str, lines: Mapping[str, str], lot: str = "", **reads: float | str) -> Trial:
    """Grams by ingredient, weighed so, and readings by measure; a thickness is read at 1/s."""
    entries = tuple(
        Entry(
            number,
            DAY,
            "read",
            measure=measure.replace("_", "-"),
            value=Fraction(str(value)),
            rate=Fraction(1) if measure == "thickness" else None,
        )
        for number, (measure, value) in enumerate(reads.items(), 1)
    )
    planned = tuple(
        Planned("A", one, Fraction(grams), lot="" if one == "water" else lot) for one, grams in lines.items()
    )
    weighed = tuple(
        Entry(number, DAY, "weighed", ingredient=line.ingredient, grams=line.grams)
        for number, line in enumerate(planned, len(entries) + 1)
    )
    return Trial(name, "slurry", DAY, Fraction(100), planned, entries=(*entries, *weighed))


SLURRIES: tuple[Mapping[str, str], ...] = (
    {"water": "80", "kaolin": "20"},
    {"water": "79.5", "kaolin": "20", "citric-acid-20": "0.5"},
    {"water": "79", "kaolin": "20", "citric-acid-20": "1"},
)
GELS: tuple[Mapping[str, str], ...] = (
    {"water": "99.5", "xanthan": "0.5"},
    {"water": "99.2", "xanthan": "0.8"},
    {"water": "99", "xanthan": "1"},
)
