"""From words of the command line (or the page) to entries of a trial."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from fractions import Fraction
from typing import cast

from optimiser.domain.trials import Entry, Trial, What
from optimiser.errors import UsageError
from optimiser.loading.readings import Said, read_degrees, read_said, read_score, read_setting
from optimiser.requests.sources import Sources
from optimiser.units.numbers import DecimalMark, NumberFault, read_number, show_number
from optimiser.units.quantities import read_amount, read_with_unit
from optimiser.workflows.worktable import find

STORED = ("stored_c", "light", "cycles")
OF_THICKNESS = ("spindle", "rate", "rpm")
OF_READING = ("spread", "at_c", "instrument")
FAR = 100
TWICE = Fraction(3, 2)
WITH_SHEAR = "Write it again with --rate, such as --rate 10/s,"
PLAIN: tuple[tuple[str, What, str], ...] = (
    ("challenge", "challenge", "outcome"),
    ("photo", "photo", "path"),
    ("remark", "remark", "text"),
)


def entries_of(sources: Sources, day: date, said: Mapping[str, object]) -> tuple[Entry, ...]:
    """Entries in the order: taken back, weighed, made, read, felt, looked at, the rest, decided.

    Keys of `said` are those of `optimiser trial record`; missing ones are unsaid. What is said of a kept jar
    (`stored`, `light`, `cycles`) makes its readings a visit. Raises UsageError with what was expected.
    """
    decimal = sources.worktable.settings.decimal
    about = _about(said, decimal)
    stored = any(about.get(key) is not None and about.get(key) != "" for key in STORED)
    found: list[Entry] = []
    if said.get("correct"):
        found.append(
            Entry(0, day, "corrected", corrects=cast("int", said["correct"]), who=_text(said, "who"))
        )
    found += [_weighed(sources, day, word, said) for word in _words(said, "weighed")]
    found += [_made(day, word, decimal, _text(said, "who")) for word in _words(said, "made")]
    for key, read, what in (("reads", read_said, "read"), ("felt", read_score, "felt")):
        for word in _words(said, key):
            one = _read(word, decimal, read)
            kind = cast("What", "visit" if stored else what)
            more = _of_this(one.measure, about, beside=key == "felt" and bool(said.get("reads")))
            found.append(Entry(0, day, kind, measure=one.measure, value=one.value, unit=one.unit, **more))  # type: ignore[arg-type]
    if _text(said, "looked"):
        more = {key: about[key] for key in (*STORED, "who")}
        found.append(Entry(0, day, "visit" if stored else "looked", text=_text(said, "looked"), **more))  # type: ignore[arg-type]
    found += [
        Entry(0, day, what, who=_text(said, "who"), **{field: _text(said, key)})  # type: ignore[arg-type]
        for key, what, field in PLAIN
        if _text(said, key)
    ]
    found += [Entry(0, day, what, who=_text(said, "who")) for what in _decided(said)]
    if stored and not any(one.what == "visit" for one in found):
        raise UsageError("nothing was seen of the kept jar", "add --read, --felt or --looked")
    if not found and not said.get("as_planned"):
        raise UsageError("nothing to write down", "say what was seen, such as --read ph=5.2")
    return tuple(found)


def rest_of(day: date, said: Mapping[str, object]) -> Entry | None:
    """With `as_planned`, the weighing that every line without one gets."""
    return Entry(0, day, "weighed", who=_text(said, "who")) if said.get("as_planned") else None


def far_off(trial: Trial, count: int) -> tuple[str, ...]:
    """Of the last `count` entries those a hundred times off what was foretold: the unit may be wrong.

    And lines that come to half as much again as was planned: they may have been written down twice.
    """
    foretold = {one.measure: one for one in trial.expected}
    found = list(_twice(trial, count))
    for one in trial.entries[-count:]:
        known = foretold.get(one.measure)
        if one.what != "read" or known is None or not one.value or known.value <= 0:
            continue
        if not 1 < one.value / known.value * FAR < FAR * FAR:
            read, told = (f"{show_number(value, 4)} {one.unit}".strip() for value in (one.value, known.value))
            found.append(
                f"{one.measure} {read}, where {told} was foretold: was another unit meant? "
                f"If so, write it again, and take this back with --correct {one.number}."
            )
    return tuple(found)


def without_shear(trial: Trial, count: int) -> tuple[str, ...]:
    """Thicknesses among the last `count` entries that have no shear: they stand, and teach nothing."""
    return tuple(
        f"{one.measure} {show_number(cast('Fraction', one.value), 4)} {one.unit} was written down without "
        "its shear (1/s), and nothing is learned from a thickness without it. "
        f"{WITH_SHEAR} and take this back with --correct {one.number}; where nobody knows the shear, let it "
        "stand."
        for one in trial.entries[-count:]
        if _lacks_shear(one)
    )


def _lacks_shear(one: Entry) -> bool:
    return one.what == "read" and one.measure == "thickness" and one.value is not None and one.rate is None


def rows_without_shear(entries: Iterable[tuple[str, Entry]]) -> str:
    """What to know of a table whose thicknesses have no shear; nothing where each has one."""
    count = sum(_lacks_shear(one) for _, one in entries)
    if not count:
        return ""
    first, them = ("1 thickness has", "it") if count == 1 else (f"{count} thicknesses have", "them")
    return (
        f"{first} no shear (1/s), and nothing is learned from {them} without it: fill the column rate, such "
        "as 10, before the table is kept; where nobody knows the shear, let it stand."
    )


def _twice(trial: Trial, count: int) -> Iterator[str]:
    planned: dict[str, Fraction] = {}
    for line in trial.lines:
        planned[line.ingredient] = planned.get(line.ingredient, Fraction(0)) + line.grams
    last = {one.ingredient: one.number for one in trial.entries[-count:] if one.what == "weighed"}
    for name, number in last.items():
        weighed = trial.weighed.get(name, Fraction(0))
        if weighed > planned[name] * TWICE:
            all_of_it, wanted = (show_number(value, 4) for value in (weighed, planned[name]))
            yield (
                f"{name} comes to {all_of_it} g in all, where {wanted} g was planned: was it written down "
                f"twice? If so, take one back with --correct {number}."
            )


def _of_this(measure: str, about: Mapping[str, object], *, beside: bool) -> dict[str, object]:
    """Spindle, shear and turns belong to a thickness alone.

    How something was read is not said of a score that was given `beside` a reading.
    """
    others = (*(() if measure == "thickness" else OF_THICKNESS), *(OF_READING if beside else ()))
    return {key: value for key, value in about.items() if key not in others}


def _decided(said: Mapping[str, object]) -> list[What]:
    if said.get("accept") and said.get("drop"):
        raise UsageError("a trial is accepted or dropped, not both", "give one of --accept and --drop")
    return ["accepted"] if said.get("accept") else ["dropped"] if said.get("drop") else []


def _about(said: Mapping[str, object], decimal: DecimalMark) -> dict[str, object]:
    """What belongs to every reading of the call."""
    return {
        "spread": _number(said, "spread", decimal),
        "at_c": _degrees(said, "at_c", "--at", decimal),
        "instrument": _text(said, "instrument"),
        "spindle": _text(said, "spindle"),
        "rate": _in_unit(said, "rate", "/s", decimal),
        "rpm": _in_unit(said, "rpm", "rpm", decimal),
        "stored_c": _degrees(said, "stored", "--stored", decimal),
        "light": _text(said, "light"),
        "cycles": said.get("cycles"),
        "who": _text(said, "who"),
    }


def _weighed(sources: Sources, day: date, word: str, said: Mapping[str, object]) -> Entry:
    name, amount = _halves(word, "kaolin=45.1 g")
    own = find(name, sources.worktable.ingredients, "ingredient")
    density = own.figure("density")
    grams = read_amount(
        amount, sources.worktable.settings.decimal, density=None if density is None else density.value
    )
    return Entry(
        0,
        day,
        "weighed",
        ingredient=own.id,
        grams=_good(grams, word),
        lot=_text(said, "lot"),
        who=_text(said, "who"),
    )


def _read(
    word: str,
    decimal: DecimalMark,
    read: Callable[[str, str, DecimalMark], Said | NumberFault],
    example: str = "ph=5.2",
) -> Said:
    name, value = _halves(word, example)
    found = read(name, value, decimal)
    if isinstance(found, NumberFault):
        raise UsageError(f'"{word}": {found.text.strip() or "nothing"} is not {found.expected}', found.fix)
    return found


def _made(day: date, word: str, decimal: DecimalMark, who: str) -> Entry:
    one = _read(word, decimal, read_setting, "stirring=800 rpm")
    return Entry(0, day, "made", measure=one.measure, value=one.value, unit=one.unit, who=who)


def _halves(word: str, example: str) -> tuple[str, str]:
    name, mark, value = word.partition("=")
    if not mark or not name.strip() or not value.strip():
        raise UsageError(f'"{word}" does not say what and how much', f"write it so: {example}")
    return name.strip(), value.strip()


def _good(value: Fraction | NumberFault, word: str) -> Fraction:
    if isinstance(value, NumberFault):
        raise UsageError(f'"{word}": expected {value.expected}', value.fix)
    return value


def _above_none(value: Fraction | NumberFault, word: str) -> Fraction:
    good = _good(value, word)
    if good <= 0:
        raise UsageError(f'"{word}": expected a number above 0', "look at the sign")
    return good


def _number(said: Mapping[str, object], key: str, decimal: DecimalMark) -> Fraction | None:
    text = _text(said, key)
    return _above_none(read_number(text, decimal=decimal), f"--{key} {text}") if text else None


def _in_unit(said: Mapping[str, object], key: str, unit: str, decimal: DecimalMark) -> Fraction | None:
    """A number in a unit, or without it; 10 1/s is 10/s."""
    text = _text(said, key)
    if unit == "/s" and text.endswith(" 1/s"):
        text = text.removesuffix(" 1/s") + "/s"
    return _above_none(read_with_unit(text, decimal, unit, bare=True), f"--{key} {text}") if text else None


def _degrees(said: Mapping[str, object], key: str, option: str, decimal: DecimalMark) -> Fraction | None:
    text = _text(said, key)
    return _good(read_degrees(text, decimal), f"{option} {text}") if text else None


def _text(said: Mapping[str, object], key: str) -> str:
    return str(said.get(key) or "").strip()


def _words(said: Mapping[str, object], key: str) -> tuple[str, ...]:
    return tuple(cast("tuple[str, ...]", said.get(key) or ()))
