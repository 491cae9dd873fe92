"""Line values of a formula ("5 %", "to 100 %", "12 g", "to pH 5.0, at most 3 %"), put on the grid."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from optimiser.domain.formula import Dosed, Line
from optimiser.domain.ingredient import Place
from optimiser.loading.findings import Findings, shown, squeezed
from optimiser.loading.names import Reader
from optimiser.units.numbers import NumberFault, read_number, show_number
from optimiser.units.quantities import read_amount, read_percent, split_unit

GRID_PLACES = 3
_FILLER = re.compile(r"to\s+100\s*%", re.IGNORECASE)
_DOSED = re.compile(r"to\s+pH\s*(\S+?)\s*,?\s+at\s+most\s+(.+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Written:
    """A line as written: its amount in % or grams (0 for the filler until the rest is known)."""

    ingredient: str
    amount: Fraction
    unit: Literal["%", "g", "fill"]
    line: int
    dosed: Dosed | None = None
    cell: str = ""


def read_value(
    text: str, ingredient: str, line: int, reader: Reader, *, cell: str = "", unit: str = ""
) -> Written | None:
    """One line value; `unit` is that of the column where the place itself says it."""
    text = squeezed(text)
    if _FILLER.fullmatch(text):
        return Written(ingredient, Fraction(0), "fill", line, cell=cell)
    dosed = _DOSED.fullmatch(text)
    if dosed is not None:
        return _read_dosed(dosed, ingredient, line, reader, cell)
    if text.casefold().startswith("to "):
        fix = 'write "to 100 %", or "to pH 5.0, at most 3 %"'
        reader.findings.add(line, ingredient, "an amount, or what the line goes to", shown(text), fix, cell)
        return None
    return _plain(text, ingredient, line, reader, cell, unit)


def _read_dosed(
    dosed: re.Match[str], ingredient: str, line: int, reader: Reader, cell: str
) -> Written | None:
    ph = reader.findings.number(line, ingredient, read_number(dosed[1], decimal=reader.names.decimal), cell)
    ceiling = _plain(dosed[2], ingredient, line, reader, cell, "")
    if ph is None or ceiling is None:
        return None
    if not 0 <= ph <= 14:
        reader.findings.add(line, ingredient, "a pH from 0 to 14", shown(dosed[1]), cell=cell)
        return None
    return replace(ceiling, dosed=Dosed(f"pH {dosed[1].replace(',', '.')}"))


def _plain(text: str, ingredient: str, line: int, reader: Reader, cell: str, unit: str) -> Written | None:
    decimal = reader.names.decimal
    split = split_unit(text)
    found = split[1] if split else ""
    read: Fraction | NumberFault
    if split is not None and not found and not unit:
        read = NumberFault(text, "an amount in % or g", f'write "{text} %" or "{text} g"')
    elif (found or unit) == "%":
        read = read_percent(text, decimal, bare=True)
    else:
        density = reader.names.densities.get(ingredient)
        read = read_amount(text, decimal, density=density, default_unit=unit or None)
    amount = reader.findings.number(line, ingredient, read, cell)
    if amount is None:
        return None
    percent = (found or unit) == "%"
    if amount <= 0 or (percent and amount > 100):
        wanted = "more than 0 % and at most 100 %" if percent else "more than 0 g"
        reader.findings.add(line, ingredient, wanted, shown(text), cell=cell)
        return None
    return Written(ingredient, amount, "%" if percent else "g", line, cell=cell)


@dataclass(frozen=True, slots=True)
class Sum:
    """What a formula says of its whole: its usual batch in grams, and whether it may be scaled to 100 %."""

    file: str
    line: int
    batch_g: Fraction | None
    normalise: bool


@dataclass(frozen=True, slots=True)
class Settled:
    """Lines in % that sum to exactly 100, in the order given; the batch in grams, and a note on rounding."""

    lines: tuple[Line, ...]
    batch_g: Fraction | None
    note: str = ""


def settle(written: tuple[Written, ...], whole: Sum, findings: Findings) -> Settled | None:
    """All lines in % on the grid of 0.001 %, or None with the problem noted."""
    fillers = [one for one in written if one.unit == "fill"]
    for second in fillers[1:]:
        findings.add(
            second.line,
            second.ingredient,
            'one line "to 100 %"',
            "another one",
            f"the first is {fillers[0].ingredient} on line {fillers[0].line}",
            second.cell,
        )
    units = {one.unit for one in written} - {"fill"}
    if len(units) == 2:
        odd = next(one for one in written if one.unit == "%")
        findings.add(
            odd.line,
            odd.ingredient,
            "all lines in % or all in grams",
            "both in one formula",
            "write this line in grams too",
            odd.cell,
        )
        return None
    if len(fillers) > 1 or not written:
        return None
    return _in_grams(written, whole, findings) if units == {"g"} else _in_percent(written, whole, findings)


def _in_percent(written: tuple[Written, ...], whole: Sum, findings: Findings) -> Settled | None:
    total = sum((one.amount for one in written), Fraction(0))
    if any(one.unit == "fill" for one in written):
        return _on_grid(written, Fraction(1), whole, findings)
    if total == 100:
        return _on_grid(written, Fraction(1), whole, findings)
    if whole.normalise:
        settled = _on_grid(written, 100 / total, whole, findings, scaled=True)
        note = f"The lines summed to {show_number(total)} % and were scaled to 100 %."
        return settled and replace(settled, note=" ".join((note, settled.note)).strip())
    findings.add(
        whole.line,
        "formula",
        "lines that sum to 100 %",
        f"{show_number(total)} %",
        'make one line "to 100 %", or write normalise: yes',
    )
    return None


def _in_grams(written: tuple[Written, ...], whole: Sum, findings: Findings) -> Settled | None:
    """Grams whose sum is the batch, or whose filler takes what the batch leaves."""
    total = sum((one.amount for one in written), Fraction(0))
    filler = any(one.unit == "fill" for one in written)
    if filler and whole.batch_g is None:
        findings.add(
            whole.line,
            "formula",
            'batch: beside a line "to 100 %" in grams',
            "no batch",
            "write batch: 250 g",
        )
        return None
    batch = whole.batch_g if filler and whole.batch_g is not None else total
    if whole.batch_g is not None and whole.batch_g != total and not filler and not whole.normalise:
        findings.add(
            whole.line,
            "formula",
            f"lines that sum to the batch of {show_number(whole.batch_g)} g",
            f"{show_number(total)} g",
            "correct a line, leave batch: out, or write normalise: yes",
        )
        return None
    settled = _on_grid(written, 100 / batch, whole, findings, scaled=True)
    return settled and replace(settled, batch_g=whole.batch_g or total)


def _on_grid(
    written: tuple[Written, ...], factor: Fraction, whole: Sum, findings: Findings, *, scaled: bool = False
) -> Settled | None:
    """Each amount times `factor` on the grid; the filler takes the rest.

    Where no line says "to 100 %", the largest one is the filler.
    """
    exact = [one.amount * factor for one in written]
    percents = [Fraction(round(value * 10**GRID_PLACES), 10**GRID_PLACES) for value in exact]
    fit = [_fits(*line, findings, scaled=scaled) for line in zip(written, exact, percents, strict=True)]
    if not all(fit):
        return None
    filling = [place for place, one in enumerate(written) if one.unit == "fill"]
    takes = filling[0] if filling else _largest(written, percents)
    moved = any(
        one.unit != "fill" and percent != value
        for one, value, percent in zip(written, exact, percents, strict=True)
    )
    used = sum(percents) - percents[takes]
    percents[takes] = 100 - used
    if used > 100:
        found = f"the other lines sum to {show_number(used)} %"
        one = written[takes]
        findings.add(one.line, one.ingredient, "room for the line that takes the rest", found, cell=one.cell)
        return None
    lines = tuple(
        Line(one.ingredient, percent, place == takes, one.dosed, Place(whole.file, one.line))
        for place, (one, percent) in enumerate(zip(written, percents, strict=True))
    )
    notes = [] if filling else [f"No line says to 100 %: {written[takes].ingredient}, the largest, fills up."]
    notes += (
        [f"Shares were put on steps of 0.001 %; {written[takes].ingredient} takes the rest."] if moved else []
    )
    return Settled(lines, whole.batch_g, " ".join(notes))


def _fits(one: Written, value: Fraction, percent: Fraction, findings: Findings, *, scaled: bool) -> bool:
    """Whether a line stands on a step of the grid: as written in %, or by rounding where scaled."""
    if one.unit == "fill" or (percent > 0 and (scaled or percent == value)):
        return True
    fix = "" if scaled else f"write {show_number(max(percent, Fraction(1, 1000)))} %"
    findings.add(
        one.line,
        one.ingredient,
        "steps of 0.001 %",
        f"{show_number(value, 6)} %",
        fix,
        one.cell,
    )
    return False


def _largest(written: tuple[Written, ...], percents: list[Fraction]) -> int:
    """The place of the largest line that is not dosed to a reading; the first of equals."""
    return max(range(len(written)), key=lambda at: (written[at].dosed is None, percents[at], -at))
