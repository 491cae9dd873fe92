"""A trial: planned beside weighed, expected beside read, everything that was written down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.trials import Planned, Trial
from optimiser.domain.vocabulary import unit_words
from optimiser.export.trial_words import entry_words, measure_words, taken_back
from optimiser.page.views.figures import DASH, Figures
from optimiser.units.numbers import places_of
from optimiser.workflows.recording import rows_without_shear
from optimiser.workflows.trials import Beside, Preview, beside_of

STATES = {"open": "open", "accepted": "accepted", "dropped": "given up"}
KINDS = {"visit": "kept jar", "challenge": "challenge test", "dropped": "given up", "corrected": "taken back"}
READ = {True: "as foretold", False: "not as foretold"}


@dataclass(frozen=True, slots=True)
class WeighRow:
    """A line in grams; `apart` is the weighed less the planned, empty until it was weighed, and where less
    than the most of a line was needed that is dosed to a reading.
    """

    phase: str
    id: str
    name: str
    planned: str
    weighed: str
    apart: str
    lot: str
    note: str


@dataclass(frozen=True, slots=True)
class ReadRow:
    measure: str
    words: str
    expected: str
    between: str
    read: str
    unit: str
    verdict: str
    off: bool


@dataclass(frozen=True, slots=True)
class Written:
    """One entry; `gone` when a later one takes it back, `fixed` when it cannot be taken back."""

    number: int
    day: str
    what: str
    text: str
    gone: bool
    fixed: bool


@dataclass(frozen=True, slots=True)
class TrialShown:
    id: str
    about: str
    state: str
    lines: tuple[WeighRow, ...]
    measures: tuple[ReadRow, ...]
    entries: tuple[Written, ...]
    unread: str
    count: int


def trial_of(trial: Trial, known: Mapping[str, Ingredient], figures: Figures) -> TrialShown:
    """The whole trial; names of ingredients as the table has them now."""
    beside = beside_of(trial)
    grams = [*(line.grams for line in trial.lines), *trial.weighed.values()]
    places = max((min(places_of(one) or 0, 3) for one in grams), default=0)
    unread = [measure_words(one.measure) for one in beside if not one.readings]
    return TrialShown(
        trial.id,
        f"opened {trial.opened.isoformat()} · {figures.short(trial.batch_g)} g",
        STATES[trial.state],
        tuple(_weighed(line, trial, known, figures, places) for line in trial.lines),
        tuple(_read(one, figures) for one in beside),
        _written(trial, figures),
        ", ".join(unread) if trial.state == "open" else "",
        len(trial.entries),
    )


def _weighed(
    line: Planned, trial: Trial, known: Mapping[str, Ingredient], figures: Figures, places: int
) -> WeighRow:
    """An ingredient that stands on several lines is weighed in all: its sum stands beside each."""
    own = [one for one in trial.lines if one.ingredient == line.ingredient]
    planned = sum((one.grams for one in own), Fraction(0))
    weighed = trial.weighed.get(line.ingredient)
    lots = [one.lot for one in trial.counting if one.what == "weighed" and one.ingredient == line.ingredient]
    dosed_within = line.dosed and weighed is not None and weighed <= planned
    notes = ["dosed to a reading: at most"] if line.dosed else []
    if len(own) > 1:
        notes.append(f"{figures.fixed(planned, places)} g over all its lines")
    return WeighRow(
        line.phase,
        line.ingredient,
        known[line.ingredient].name if line.ingredient in known else line.ingredient,
        figures.fixed(line.grams, places),
        DASH if weighed is None else figures.fixed(weighed, places),
        "" if weighed is None or dosed_within else figures.signed(weighed - planned, places),
        ", ".join(dict.fromkeys(filter(None, lots))) or line.lot,
        ", ".join(notes),
    )


def _read(one: Beside, figures: Figures) -> ReadRow:
    told = one.expected
    rate = f" at {figures.short(told.rate)}/s" if told is not None and told.rate is not None else ""
    if one.inside is not None:
        verdict = READ[one.inside]
    else:
        verdict = "still to read" if not one.readings else "nothing was foretold"
    if told is not None and told.error:
        verdict += f" (the model itself may be {figures.short(told.error)} off)"
    return ReadRow(
        one.measure,
        measure_words(one.measure) + rate,
        DASH if told is None else figures.short(told.value),
        DASH if told is None else f"{figures.short(told.low)} to {figures.short(told.high)}",
        ", ".join(figures.short(entry.value) for entry in one.readings) or DASH,
        unit_words(one.unit),
        verdict,
        one.inside is False,
    )


def _written(trial: Trial, figures: Figures) -> tuple[Written, ...]:
    found = []
    for one in trial.entries:
        gone = taken_back(one, trial)
        what = KINDS.get(one.what, one.what)
        text = entry_words(one, figures.short)
        more = [f"lot {one.lot}"] if one.lot else []
        if one.instrument:
            more.append(f"with {one.instrument}")
        text = "; ".join(filter(None, (text, *more)))
        found.append(Written(one.number, one.day.isoformat(), what, text, gone, one.what == "corrected"))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class ImportRow:
    trial: str
    day: str
    what: str
    text: str


@dataclass(frozen=True, slots=True)
class ImportShown:
    rows: tuple[ImportRow, ...]
    problems: tuple[str, ...]
    known: int
    shearless: str = ""


def import_of(found: Preview, figures: Figures) -> ImportShown:
    return ImportShown(
        tuple(
            ImportRow(
                name, one.day.isoformat(), KINDS.get(one.what, one.what), entry_words(one, figures.short)
            )
            for name, one in found.entries
        ),
        tuple(one.sentence() for one in found.problems),
        found.known,
        rows_without_shear(found.entries),
    )
