"""The pH part of the sheet: what to expect, how the adjuster moves it, what the readings tell."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from optimiser.export.acidity_sheet import AcidityTold, Curve, Point, Span, State
from optimiser.export.plain import clean
from optimiser.export.sheet import CurvePoint, Expected, ExpectedRow, SheetCurve, SheetLine
from optimiser.export.wording import Wording, joined, sentence
from optimiser.science.charge import End
from optimiser.science.readings import LEAST_APART

ROWS = 5
"""Steps of the printed table, none and all of it included as ends."""
ENDS: tuple[End, End, End] = ("low", "middle", "high")
RANGE = "In brackets the lowest and the highest pH that the data allow; the model's own error comes on top."
UNTOLD = "The pH is not predicted: the reading decides."
Window = tuple[Fraction, Fraction] | None


@dataclass(frozen=True, slots=True)
class Dosing:
    """One adjuster in this batch: its curve to 100 g, its line as weighed and the step of its balance."""

    told: AcidityTold
    curve: Curve
    line: SheetLine
    step: Fraction
    batch_g: Fraction

    @property
    def scale(self) -> Fraction:
        """Grams in the batch for one gram to 100 g."""
        return self.batch_g / 100

    def dose_to(self, ph: Fraction, end: End) -> Fraction | None:
        """Grams in the batch, as `Pot.dose_to`."""
        curve, most = self.curve, self.line.grams / self.scale
        found = self.told.pot.dose_to(curve.ingredient, most, ph, end, falls=curve.falls)
        return None if found is None else found * self.scale

    def first(self) -> Fraction:
        """Grams that stay short of the target for all values in the data and the model's error."""
        states = [one for one in (self.told.before, self.told.after) if one is not None]
        error = max(one.model_error for one in states) if states else Fraction(0)
        falls = self.curve.falls
        early = self.curve.target + (error if falls else -error)
        dose = self.dose_to(early, "low" if falls else "high")
        return self._weighed(self.line.grams if dose is None else dose)

    def _weighed(self, grams: Fraction) -> Fraction:
        return math.floor(grams / self.step) * self.step

    def sheet_curve(self, window: Window) -> SheetCurve:
        grams = dict.fromkeys(self._weighed(self.line.grams * k / ROWS) for k in range(ROWS + 1))
        pot, name = self.told.pot, self.curve.ingredient
        rows = [self._in_batch(pot.at(name, one / self.scale)) for one in grams]
        points = tuple(self._in_batch(one) for one in self.curve.points)
        line = self.line
        return SheetCurve(name, line.name, line.places, self.curve.target, window, tuple(rows), points)

    def _in_batch(self, point: Point) -> CurvePoint:
        return CurvePoint(point.grams * self.scale, point.low, point.middle, point.high)

    def reached(self, wording: Wording) -> str:
        """At how many grams the target is expected, by the middle and by the ends of the data."""
        doses = [self.dose_to(self.curve.target, end) for end in ENDS]
        target = f"pH {wording.number(self.curve.target)}"
        low, middle, high = (self._grams(one, wording) for one in doses)
        least, most = (low, high) if self.curve.falls else (high, low)
        if middle == least == most:
            return f"{target} is expected with {middle} of {self.line.name}."
        return f"{target} is expected with {middle} of {self.line.name}; by the data from {least} to {most}."

    def _grams(self, dose: Fraction | None, wording: Wording) -> str:
        if dose is None:
            return "more than all"
        if not dose:
            return "none"
        weighed = self._weighed(dose)
        if not weighed:
            return f"less than {wording.grams(self.step, self.line.places)}"
        return wording.grams(weighed, self.line.places)

    def moves(self, wording: Wording) -> str:
        """How far a handy amount of the adjuster moves the pH where it is wanted."""
        handy = self._handy()
        found = []
        for end in ENDS:
            dose = self.dose_to(self.curve.target, end)
            start = max((self.line.grams if dose is None else dose) - handy / 2, Fraction(0))
            ph = [
                self.told.pot.ph(self.curve.ingredient, grams / self.scale, end)
                for grams in (start, start + handy)
            ]
            found.append(Fraction(f"{abs(ph[1] - ph[0]):.2f}"))
        way = "lowers" if self.curve.falls else "lifts"
        least, most = (wording.number(one) for one in (min(found), max(found)))
        spread = "" if least == most else f" (by the data {least} to {most})"
        return (
            f"Around there {wording.number(handy)} g more of {self.line.name} {way} the pH by about "
            f"{wording.number(found[1])}{spread}."
        )

    def _handy(self) -> Fraction:
        """The largest power of ten of grams in a quarter of the ceiling."""
        handy = Fraction(1)
        while handy > self.line.grams / 4:
            handy /= 10
        while handy * 10 <= self.line.grams / 4:
            handy *= 10
        return handy


def dosings_of(
    told: AcidityTold,
    lines: tuple[tuple[str, SheetLine], ...],
    steps: Mapping[int, Fraction],
    batch_g: Fraction,
) -> tuple[Dosing, ...]:
    """`steps` is what the balance of each line number reads, in grams."""
    by_slot = {(phase, line.ingredient): line for phase, line in lines if line.dosed and line.grams}
    return tuple(
        Dosing(told, curve, line, steps[line.number], batch_g)
        for curve in told.curves
        if (line := by_slot.get((curve.phase, curve.ingredient))) is not None
    )


def expected_of(
    told: AcidityTold, dosings: tuple[Dosing, ...], dosed: tuple[SheetLine, ...], wording: Wording
) -> Expected | None:
    """None where there is no water phase; `dosed` are the lines added to a pH."""
    if not told.watery:
        return None
    used = tuple(line.name for line in dosed)
    if not told.valid:
        return Expected((), (UNTOLD, *_why(told, wording)), used, _tells(told, dosed, wording))
    texts = [RANGE]
    for dosing in dosings:
        texts += [dosing.reached(wording), dosing.moves(wording)]
    texts += _why(told, wording)
    if told.neutral:
        names = wording.names(told.neutral)
        texts.append(f"Counted as neither acid nor base, no constants being listed: {names}.")
    return Expected(_rows(told, dosed, wording), tuple(texts), used, _tells(told, dosed, wording))


def _rows(told: AcidityTold, dosed: tuple[SheetLine, ...], wording: Wording) -> tuple[ExpectedRow, ...]:
    if told.before is None or told.after is None:
        return ()
    if not dosed:
        return (_row("the batch", told.after),)
    names = joined(line.name for line in dosed)
    most = joined(wording.grams(line.grams, line.places) for line in dosed)
    return (_row(f"before {names}", told.before), _row(f"with all of it, {most}", told.after))


def _row(when: str, state: State) -> ExpectedRow:
    return ExpectedRow(when, _ends(state.made), _ends(state.read), state.model_error)


def _ends(span: Span) -> tuple[Fraction, Fraction, Fraction]:
    return span.low, span.ph, span.high


def _why(told: AcidityTold, wording: Wording) -> list[str]:
    """Charges that are not known by their ingredient, else what limits the model."""
    if not told.unknown:
        return [sentence(one[:1].upper() + one[1:]) for one in told.why]
    found = []
    for identifier, reason in told.unknown:
        name = wording.name(identifier)
        found.append(f"The charge of {name} is not known: {sentence(reason.removeprefix(f'{name}: '))}")
    return [clean(one) for one in found]


def _tells(told: AcidityTold, dosed: tuple[SheetLine, ...], wording: Wording) -> str:
    if not dosed:
        return ""
    who = f"{wording.names(told.powders)} buffer{'' if len(told.powders) > 1 else 's'}"
    whose = f"how {who}{' together' if len(told.powders) > 1 else ''}" if told.powders else "how it buffers"
    return (
        f"The two readings, {wording.number(Fraction(str(LEAST_APART)))} pH or more apart, and the grams "
        f"between them tell {whose}: keep them with this sheet."
    )
