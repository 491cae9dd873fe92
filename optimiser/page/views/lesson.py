"""What trials teach: numbers before and after, what cannot be told apart, the check by other trials."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.domain.vocabulary import unit_words
from optimiser.export.lesson_words import STATES, before_text, check_texts, ends_text, refused, untold
from optimiser.requests.sentences import first_upper
from optimiser.trials.learning import Lesson
from optimiser.units.numbers import DecimalMark


@dataclass(frozen=True, slots=True)
class NumberRow:
    name: str
    unit: str
    before: str
    after: str
    trials: str
    state: str


@dataclass(frozen=True, slots=True)
class LessonShown:
    """`checks` are rows of trial, measure, read, by the table, by the other trials, inside or not."""

    numbers: tuple[NumberRow, ...]
    refused: tuple[str, ...]
    untold: tuple[str, ...]
    series: tuple[str, ...]
    checks: tuple[tuple[str, ...], ...]
    out: tuple[str, ...]
    unfit: tuple[str, ...]
    learned: int


def lesson_of(lesson: Lesson, decimal: DecimalMark) -> LessonShown:
    return LessonShown(
        tuple(
            NumberRow(
                first_upper(one.told),
                unit_words(one.unit),
                before_text(one, decimal),
                ends_text(one.after, decimal) if one.state == "learned" else "",
                ", ".join(one.trials) if one.state == "learned" else "",
                STATES[one.state],
            )
            for one in lesson.numbers
        ),
        tuple(refused(one) for one in lesson.numbers if one.state == "mixed up"),
        untold(lesson),
        lesson.told,
        tuple(check_texts(one, decimal) for one in lesson.foretold),
        lesson.out,
        lesson.unfit,
        len(lesson.learned),
    )
