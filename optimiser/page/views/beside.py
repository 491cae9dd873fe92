"""Two formulas side by side: lines and measures that are apart, rules one of them breaks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.comparison import Comparison, LinePair, MeasurePair, RulePair
from optimiser.export.plain import digits_of
from optimiser.page.views.figures import DASH, Figures
from optimiser.requests.sentences import first_upper

KEPT = {None: "has no such rule", True: "holds", False: "does not hold"}


@dataclass(frozen=True, slots=True)
class PairRow:
    """`state` is new, out or empty; `note` says what a share is where it is no plain share."""

    name: str
    first: str
    second: str
    apart: str
    unit: str = ""
    note: str = ""
    state: str = ""


@dataclass(frozen=True, slots=True)
class BesideShown:
    """`alike` counts lines that are left out for being alike."""

    first: tuple[str, str]
    second: tuple[str, str]
    summary: str
    lines: tuple[PairRow, ...]
    measures: tuple[PairRow, ...]
    rules: tuple[tuple[str, str, str], ...]
    label: tuple[str, ...]
    alike: int


def beside_shown(found: Comparison, figures: Figures, *, whole: bool) -> BesideShown:
    """What is apart, the largest first; with `whole` also what is alike, in the order of the first."""
    count = len(found.apart)
    return BesideShown(
        (found.first.name, found.first.asked),
        (found.second.name, found.second.asked),
        f"{count} of {len(found.lines)} lines are apart, by {figures.short(found.moved)} points in all.",
        tuple(_line(pair, figures) for pair in (found.lines if whole else found.apart)),
        tuple(_measure(pair, figures) for pair in found.measures if whole or _differs(pair)),
        tuple(_rule(pair) for pair in found.rules),
        found.label,
        0 if whole else len(found.lines) - count,
    )


def _line(pair: LinePair, figures: Figures) -> PairRow:
    state = "" if pair.first and pair.second else "out" if pair.first else "new" if pair.second else ""
    apart = state or (figures.signed(pair.moved) if pair.moved else "")
    note = "at most, by a reading" if pair.dosed else ""
    return PairRow(
        pair.name, _share(pair.first, figures), _share(pair.second, figures), apart, "%", note, state
    )


def _share(value: Fraction, figures: Figures) -> str:
    return figures.fixed(value) if value else DASH


def _differs(pair: MeasurePair) -> bool:
    if pair.first is None or pair.second is None:
        return pair.first is not pair.second
    places = digits_of(pair.name, pair.unit)
    return round(pair.first, places) != round(pair.second, places)


def _measure(pair: MeasurePair, figures: Figures) -> PairRow:
    places = digits_of(pair.name, pair.unit)
    known = pair.first is not None and pair.second is not None
    apart = figures.signed(pair.second - pair.first, places) if known else ""  # type: ignore[operator]
    first, second = (figures.fixed(one, places) for one in (pair.first, pair.second))
    return PairRow(first_upper(pair.name), first, second, apart, pair.unit)


def _rule(pair: RulePair) -> tuple[str, str, str]:
    return pair.sentence, KEPT[pair.first], KEPT[pair.second]
