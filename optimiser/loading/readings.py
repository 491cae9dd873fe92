"""Readings as people write them: `ph=5.2`, `thickness=38 Pa.s`, and tables of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from optimiser.domain.readings import READABLE, SCORE, SETTABLE, Readable
from optimiser.domain.trials import Entry, Trial, What
from optimiser.loading.cells import read_day
from optimiser.loading.findings import Findings, shown
from optimiser.loading.tables import Columns, Row, Table, read_csv
from optimiser.loading.workbooks import read_xlsx
from optimiser.problems import Problem, did_you_mean, in_order
from optimiser.units.numbers import DecimalMark, NumberFault, date_fault, read_number
from optimiser.units.quantities import read_amount, read_temperature, split_unit

NAMED = re.compile(r"[a-z][a-z0-9-]{0,40}")
COLUMNS = Columns(
    ("trial", "day"),
    (
        *(
            "measure",
            "value",
            "unit",
            "score",
            "setting",
            "ingredient",
            "lot",
            "grams",
            "at_c",
            "instrument",
            "spindle",
        ),
        *("rate", "rpm", "spread", "stored_c", "light", "cycles", "text", "who"),
    ),
    {"grams": "g", "at_c": "C", "stored_c": "C", "rate": "1/s", "rpm": "rpm"},
)
AS: dict[str, What] = {"measure": "read", "score": "felt", "setting": "made"}
"""What a row of each kind is written down as."""
WORDS = ("lot", "instrument", "spindle", "light", "text", "who")
DEGREES = ("at_c", "stored_c")
NUMBERS = (*DEGREES, "rate", "rpm", "spread")


class Said(NamedTuple):
    """A reading in its own unit."""

    measure: str
    value: Fraction
    unit: str


def read_said(measure: str, text: str, decimal: DecimalMark) -> Said | NumberFault:
    """`thickness`, `38 Pa.s` → 38 in Pa.s, as is `38000 mPa.s`. A unit is asked for where there is one."""
    name = _plain(measure)
    known = READABLE.get(name)
    if known is None:
        hint = did_you_mean(name, READABLE)
        return NumberFault(
            measure, f"a reading: {', '.join(READABLE)}", hint or "a score is written with --felt"
        )
    value = _in_its_unit(text, known, decimal)
    return value if isinstance(value, NumberFault) else Said(name, value, known.unit)


def read_score(measure: str, text: str, decimal: DecimalMark) -> Said | NumberFault:
    """`softness`, `7`: a score of 0 to 10 under a name of one's own."""
    name = _plain(measure)
    if not NAMED.fullmatch(name):
        return NumberFault(
            measure, "a name of letters, digits and hyphens", "such as softness or slip-on-skin"
        )
    if name in READABLE:
        return NumberFault(measure, "a score", f"{name} is a reading: write it with --read")
    value = _in_its_unit(text, SCORE, decimal)
    return value if isinstance(value, NumberFault) else Said(name, value, "")


def read_setting(setting: str, text: str, decimal: DecimalMark) -> Said | NumberFault:
    """`stirring`, `800 rpm`: how a batch was made. A setting under a name of one's own keeps its unit."""
    name = _plain(setting)
    known = SETTABLE.get(name)
    if known is not None:
        value = _in_its_unit(text, known, decimal)
        return value if isinstance(value, NumberFault) else Said(name, value, known.unit)
    hint = did_you_mean(name, SETTABLE)
    if hint or not NAMED.fullmatch(name):
        return NumberFault(setting, f"a setting: {', '.join(SETTABLE)}, or a name of your own", hint or "")
    split = split_unit(text)
    if split is None:
        return NumberFault(text, "a number with its unit", "such as 2 bar")
    number = read_number(split[0], decimal=decimal)
    return number if isinstance(number, NumberFault) else Said(name, number, split[1])


def _plain(name: str) -> str:
    return name.strip().casefold().replace("_", "-").replace(" ", "-")


def read_degrees(text: str, decimal: DecimalMark) -> Fraction | NumberFault:
    """Degrees Celsius of a jar or a room, from C or F."""
    return _in_its_unit(text, READABLE["temperature"], decimal)


def _in_its_unit(text: str, known: Readable, decimal: DecimalMark) -> Fraction | NumberFault:
    dated = date_fault(text)
    if dated is not None:
        return dated
    if known.unit == "C":
        degrees = read_temperature(text, decimal)
        return degrees if isinstance(degrees, NumberFault) else _within(degrees, text, known)
    split = split_unit(text)
    if split is None:
        return NumberFault(text, f"a number{' in ' + known.unit if known.unit else ''}", "")
    number = read_number(split[0], decimal=decimal)
    if isinstance(number, NumberFault):
        return number
    times = _times(split[1], known)
    if times is None:
        units = ", ".join(filter(None, (known.unit, *known.also))) or "no unit"
        return NumberFault(text, f"{known.words} in {units}", f"write it so: {split[0]} {known.unit}".strip())
    return _within(number * times, text, known)


def _within(value: Fraction, text: str, known: Readable) -> Fraction | NumberFault:
    if not known.low <= value <= known.high:
        if known is SCORE:
            return NumberFault(text, known.words, "write 0 for none of it, 10 for the most")
        ends = f"from {float(known.low):g} to {float(known.high):g}{' ' + known.unit if known.unit else ''}"
        return NumberFault(text, f"{known.words} {ends}", "look at the decimal mark and the unit")
    return value


def _times(unit: str, known: Readable) -> Fraction | None:
    if unit == known.unit or (unit.casefold() == "ph" and known.words.startswith("pH")):
        return Fraction(1)
    by_case = {
        word.casefold(): times for word, times in {known.unit: Fraction(1), **known.also}.items() if word
    }
    return by_case.get(unit.casefold())


@dataclass(frozen=True, slots=True)
class Import:
    """Entries by trial id in the order of the file; their numbers are given when they are written."""

    entries: tuple[tuple[str, Entry], ...]
    problems: tuple[Problem, ...]


def read_readings(
    path: Path, trials: dict[str, Trial], decimal: DecimalMark, ingredients: Callable[[str], str | None]
) -> Import:
    """Rows of a CSV or XLSX file: a trial, a day, then a reading, a score, or grams of an ingredient.

    `ingredients` gives the id of a name, or None. With a fault in any row nothing is to be kept.
    """
    findings = Findings(path.name)
    is_book = path.suffix.casefold() == ".xlsx"
    table = read_xlsx(path, COLUMNS, findings, decimal) if is_book else read_csv(path, COLUMNS, findings)
    reader = _Rows(table, trials, decimal, ingredients, findings)
    found = [one for row in table.rows if not row.broken and (one := reader.entry(row)) is not None]
    if not found and not findings.problems:
        findings.add(1, "rows", "at least one reading", "none")
    return Import(tuple(found), in_order(findings.problems))


@dataclass(frozen=True, slots=True)
class _Rows:
    table: Table
    trials: dict[str, Trial]
    decimal: DecimalMark
    ingredients: Callable[[str], str | None]
    findings: Findings

    def entry(self, row: Row) -> tuple[str, Entry] | None:
        before = len(self.findings.problems)
        name, day = row["trial"].strip(), self._day(row)
        if name not in self.trials:
            fix = did_you_mean(name, self.trials) or "open it with `optimiser trial new`"
            self._fault(row, "trial", "a trial of the worktable", row["trial"], fix)
        kinds = [key for key in ("measure", "score", "setting", "ingredient") if row[key].strip()]
        if len(kinds) > 1:
            self._fault(row, kinds[1], f"a row of its own, beside the {kinds[0]}", row[kinds[1]], "")
        kinds = kinds or ["text"] * bool(row["text"].strip())
        if not kinds:
            self._fault(row, "measure", "a measure, a score, a setting, an ingredient or a text", "", "")
        made = self._made(row, day or date.min, kinds[0]) if kinds else None
        if name in self.trials and day is not None and made is not None:
            self._of_its_trial(row, self.trials[name], made)
        return None if made is None or len(self.findings.problems) > before else (name, made)

    def _of_its_trial(self, row: Row, trial: Trial, made: Entry) -> None:
        """Nothing is before the day it was opened; only its lines are weighed."""
        if made.day < trial.opened:
            opened = f"{trial.opened}, when {trial.id} was opened, or later"
            self._fault(row, "day", opened, row["day"], "look at the date")
        known = {line.ingredient for line in trial.lines}
        if made.ingredient and made.ingredient not in known:
            fix = did_you_mean(made.ingredient, known) or f"its lines are {', '.join(sorted(known))}"
            self._fault(row, "ingredient", f"a line of {trial.id}", row["ingredient"], fix)

    def _made(self, row: Row, day: date, kind: str) -> Entry | None:
        texts = {key: " ".join(row[key].split()) for key in WORDS}
        numbers = {key: self._number(row, key) for key in NUMBERS}
        cycles = self._number(row, "cycles")
        if cycles is not None and cycles.denominator != 1:
            self._fault(row, "cycles", "a whole number", row["cycles"], "")
        visit = numbers["stored_c"] is not None or cycles is not None or bool(texts["light"])
        more: dict[str, object] = {**texts, **numbers, "cycles": None if cycles is None else int(cycles)}
        if kind == "ingredient":
            return self._weighed(row, day, {key: texts[key] for key in ("lot", "text", "who")})
        if kind == "text":
            return Entry(0, day, "visit" if visit else "looked", **more)  # type: ignore[arg-type]
        said = self._said(row, kind)
        if said is None:
            return None
        what = AS[kind] if kind == "setting" or not visit else "visit"
        return Entry(0, day, what, measure=said.measure, value=said.value, unit=said.unit, **more)  # type: ignore[arg-type]

    def _said(self, row: Row, kind: str) -> Said | None:
        text = f"{row['value'].strip()} {row['unit'].strip()}".strip()
        read = {"measure": read_said, "score": read_score, "setting": read_setting}[kind]
        said = read(row[kind], text, self.decimal)
        if isinstance(said, NumberFault):
            self._fault(row, "value" if said.text == text else kind, said.expected, said.text, said.fix)
            return None
        return said

    def _weighed(self, row: Row, day: date, texts: dict[str, str]) -> Entry | None:
        known = self.ingredients(row["ingredient"].strip())
        if known is None:
            self._fault(row, "ingredient", "an ingredient of the worktable", row["ingredient"], "")
        grams = read_amount(row["grams"], self.decimal, default_unit="g")
        if isinstance(grams, NumberFault):
            self._fault(row, "grams", grams.expected, grams.text, grams.fix)
            return None
        return None if known is None else Entry(0, day, "weighed", ingredient=known, grams=grams, **texts)  # type: ignore[arg-type]

    def _day(self, row: Row) -> date | None:
        day = read_day(row["day"].strip())
        if day is None:
            self._fault(row, "day", "a date such as 2026-11-20", row["day"], "")
        return day

    def _number(self, row: Row, key: str) -> Fraction | None:
        if not row[key].strip():
            return None
        degrees, text = key in DEGREES, row[key]
        value = read_degrees(text, self.decimal) if degrees else read_number(text, decimal=self.decimal)
        if isinstance(value, NumberFault):
            self._fault(row, key, value.expected, value.text, value.fix)
            return None
        if value <= 0 and not degrees:
            self._fault(row, key, "a number above 0", row[key], "")
            return None
        return value

    def _fault(self, row: Row, key: str, expected: str, found: str, fix: str) -> None:
        self.findings.add(
            row.line,
            row["trial"] or "row",
            expected,
            shown(found) if found else "nothing",
            fix,
            cell=row.cell(key),
        )
