"""A trial and its entries as the text of their file."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

import yaml

from optimiser.domain.trials import Entry, Expected, Planned, Trial
from optimiser.export.plain import clean, decimal_text
from optimiser.loading.trials import FORMAT, NUMBERS, TEXTS

HEAD = "# A trial as it was planned. Entries are only added; what was wrong is corrected by a later one.\n"
WIDTH = 10_000


def trial_text(trial: Trial) -> str:
    """The whole file; the same trial gives the same bytes. Numbers have a decimal point whatever the mark."""
    content: dict[str, Any] = {
        "format": int(FORMAT),
        "trial": clean(trial.id),
        "formula": clean(trial.formula),
        "proposal": clean(trial.proposal),
        "briefs": [clean(one) for one in trial.briefs],
        "opened": trial.opened,
        "batch": _grams(trial.batch_g),
        "table": clean(trial.table),
        "block": clean(trial.block),
        "lines": [_line(one) for one in trial.lines],
        "expected": [_expected(one) for one in trial.expected],
    }
    kept = {key: value for key, value in content.items() if value}
    return HEAD + _dumped(kept) + "entries:\n" + entries_text(trial.entries)


def entries_text(entries: Iterable[Entry]) -> str:
    """Each entry as a line of the list at the end of the file."""
    return "".join(_dumped([_entry(one)]) for one in entries)


def _line(line: Planned) -> dict[str, Any]:
    told = {"phase": clean(line.phase), "ingredient": clean(line.ingredient), "grams": _grams(line.grams)}
    return (
        told | ({"dosed": True} if line.dosed else {}) | ({"lot": clean(line.lot)} if clean(line.lot) else {})
    )


def _expected(one: Expected) -> dict[str, Any]:
    numbers = {name: getattr(one, name) for name in ("value", "low", "high", "error", "rate")}
    told = {"measure": clean(one.measure)} | {
        name: _Number(decimal_text(value)) for name, value in numbers.items() if value is not None
    }
    return told | ({"unit": clean(one.unit)} if clean(one.unit) else {})


def _entry(one: Entry) -> dict[str, Any]:
    """The keys that hold something, in one order."""
    told: dict[str, Any] = {"n": one.number, "day": one.day, "what": one.what}
    for name in ("corrects", "ingredient", "grams", "lot", "measure", "value", "unit", "spread", "cycles"):
        if (value := _word(name, getattr(one, name))) is not None:
            told[name] = value
    for name in (*TEXTS, *NUMBERS):
        if name not in told and (value := _word(name, getattr(one, name))) is not None:
            told[name] = value
    return told


def _word(name: str, value: object) -> str | int | None:
    if isinstance(value, Fraction):
        return _grams(value) if name == "grams" else _Number(decimal_text(value))
    if isinstance(value, int):
        return value
    return clean(value) or None if isinstance(value, str) else None


def _grams(value: Fraction) -> str:
    return f"{decimal_text(value)} g"


def _dumped(content: object) -> str:
    return str(
        yaml.dump(
            content,
            Dumper=_Plain,
            sort_keys=False,
            allow_unicode=True,
            width=WIDTH,
            default_flow_style=None,
        )
    )


class _Number(str):
    """A number that is written bare; the reader takes every scalar as the text it is."""

    __slots__ = ()


class _Plain(yaml.SafeDumper):
    """Writes what repeats twice instead of naming it once."""

    def ignore_aliases(self, _data: object) -> bool:
        return True


def _bare(dumper: yaml.SafeDumper, number: _Number) -> yaml.ScalarNode:
    kind = "float" if "." in number else "int"
    return dumper.represent_scalar(f"tag:yaml.org,2002:{kind}", str(number))


_Plain.add_representer(_Number, _bare)
