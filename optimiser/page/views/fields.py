"""A row of a table as a form shows it: every column labelled, with what may be chosen and what is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from optimiser.domain.ingredient import FlagState
from optimiser.domain.vocabulary import PropertyMeaning, Vocabulary, unit_words
from optimiser.loading.flags import STATES
from optimiser.loading.ingredients import FORMS
from optimiser.loading.reference import load_substances
from optimiser.loading.tables import several
from optimiser.page.views.columns import COLUMNS, STARTS, Column
from optimiser.problems import Problem

Choices = tuple[tuple[str, str], ...]
STATES_MEAN: Mapping[FlagState, str] = {
    "contains": "it is in it",
    "free": "a paper says that it is not in it",
    "unknown": "nobody has said yet",
}


@dataclass(frozen=True, slots=True)
class FaultShown:
    """A problem at its place."""

    place: str
    entry: str
    expected: str
    found: str
    fix: str


@dataclass(frozen=True, slots=True)
class FieldShown:
    """A column with the text in its field, what may be chosen, and what is wrong with it.

    `stands` is what the file says where that is something else; `also` are known words that may be added to
    those in the field.
    """

    column: Column
    unit: str
    text: str
    choices: Choices = ()
    faults: tuple[FaultShown, ...] = ()
    stands: str | None = None
    also: Choices = ()


def fault_shown(problem: Problem) -> FaultShown:
    return FaultShown(problem.place, problem.entry, problem.expected, problem.found, problem.fix)


def fields(
    table: str,
    texts: Mapping[str, str],
    vocabulary: Vocabulary,
    currency: str,
    problems: Iterable[Problem] = (),
    stands: Mapping[str, str] | None = None,
) -> tuple[FieldShown, ...]:
    """Every column with its text; `problems` are those of the row, `stands` what the file says."""
    told: dict[str, list[FaultShown]] = {}
    for one in problems:
        told.setdefault(one.cell, []).append(fault_shown(one))
    return tuple(
        FieldShown(
            column,
            currency if column.unit == "money" else column.unit,
            texts.get(column.name, ""),
            _choices(column, texts.get(column.name, ""), vocabulary),
            tuple(told.get(column.name, ())),
            _other(stands, column.name, texts.get(column.name, "")),
            _also(column, texts.get(column.name, ""), vocabulary),
        )
        for column in COLUMNS[table]
    )


def _other(stands: Mapping[str, str] | None, column: str, text: str) -> str | None:
    """What the file says where that is something else than the text."""
    there = None if stands is None else stands.get(column, "")
    return None if there == text else there


def _choices(column: Column, text: str, vocabulary: Vocabulary) -> Choices:
    """(value, words) of a column with closed words; what stands there is among them, known or not."""
    if column.how != "choice":
        return ()
    known = CHOICES[column.name](vocabulary)
    odd = ((text, f"{text} (not a known word)"),) if text and text not in dict(known) else ()
    return (*odd, *known)


def _also(column: Column, text: str, vocabulary: Vocabulary) -> Choices:
    """(value, what it means) of the known words that a cell of several words does not hold yet."""
    known = KNOWN[column.name](vocabulary) if column.name in KNOWN else ()
    there = several(text)
    return tuple((name, means) for name, means in known if name not in there)


def with_more(text: str, more: Iterable[str]) -> str:
    """The cell with more words at its end; as it is where there are none."""
    fresh = [one for one in more if one not in several(text)]
    return "; ".join([*several(text), *fresh]) if fresh else text


def property_called(meant: PropertyMeaning) -> str:
    """ "water uptake, g/g"."""
    unit = unit_words(meant.unit)
    return meant.title if unit in ("", "pH") else f"{meant.title}, {unit}"


CHOICES: Mapping[str, Callable[[Vocabulary], Choices]] = {
    "kind": lambda words: tuple((name, f"{name}: {kind.meaning}") for name, kind in words.kinds.items()),
    "form": lambda _: tuple((name, name) for name in FORMS),
    "flag": lambda words: tuple((name, f"{name}: {means}") for name, means in words.flags.items()),
    "state": lambda _: tuple((name, f"{name}: {STATES_MEAN[name]}") for name in STATES),
    "property": lambda words: tuple(
        (name, f"{property_called(one)}: {one.meaning}") for name, one in words.properties.items()
    ),
    "unit": lambda words: tuple(
        (one, unit_words(one) or "none: a pure number")
        for one in dict.fromkeys(p.unit for p in words.properties.values())
    ),
    "stage": lambda words: tuple(
        (name, f"{one.title}: {one.meaning}")
        for name, one in sorted(words.stages.items(), key=lambda pair: pair[1].order)
    ),
}


def offers(table: str, vocabulary: Vocabulary) -> Mapping[str, Choices]:
    """The lists that fields of the table offer: (value, what it means)."""
    asked = {column.offers for column in COLUMNS[table]} - {""}
    return {name: OFFERS[name](vocabulary) for name in sorted(asked)}


KNOWN: Mapping[str, Callable[[Vocabulary], Choices]] = {"roles": lambda words: tuple(words.roles.items())}
"""Of columns that hold several words, all that are known."""
OFFERS: Mapping[str, Callable[[Vocabulary], Choices]] = {
    "starts": lambda _: tuple((f"{start}: ", "") for start in STARTS),
    "substances": lambda _: tuple(
        (name, "") for name in sorted({one.name for one in load_substances().values()})
    ),
    "selectors": lambda words: (
        *((f"group:{name}", "") for name in words.groups),
        *((f"kind:{name}", kind.meaning) for name, kind in words.kinds.items()),
    ),
}
