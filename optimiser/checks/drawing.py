"""Numbers with a spread, drawn at once for one batch, and what depends on them, in floats.

A number is drawn from a triangle over its range with the peak at its value: a choice of this program, for
the data give a range and no distribution. Every number is drawn by itself and counts wherever it is used.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from optimiser.checks.amounts import counted
from optimiser.domain.ingredient import Figure, Ingredient, Part
from optimiser.domain.selector import AnyOf, Pick, Selector

Values = Sequence[float]
Gram = float | Callable[[Values], float]
"""What one per cent of a line counts: a constant, or a function of the numbers drawn."""
Key = tuple[str, str, str]


@dataclass(slots=True)
class Numbers:
    """The numbers that are drawn, each with its place in a draw; asked for once, known ever after."""

    places: dict[Key, int] = field(default_factory=dict)
    spreads: list[tuple[float, float, float]] = field(default_factory=list)

    def place(self, key: Key, low: Fraction, value: Fraction, high: Fraction) -> int:
        if key not in self.places:
            self.places[key] = len(self.spreads)
            self.spreads.append((float(low), float(high), float(value)))
        return self.places[key]

    def figure(self, one: Ingredient, name: str, otherwise: float = 0.0) -> Gram:
        """A property of an ingredient; `otherwise` where it has none."""
        found = one.figure(name)
        if found is None:
            return otherwise
        if found.low == found.high:
            return float(found.value)
        at = self.place((one.id, "figure", name), found.low, found.value, found.high)
        return lambda values: values[at]

    def part(self, one: Ingredient, index: int) -> Gram:
        """Share of one substance of its make-up, g/g."""
        part = (one.composition or ())[index]
        if part.low == part.high:
            return float(part.value / 100)
        at = self.place((one.id, "part", str(index)), part.low, part.value, part.high)
        return lambda values: values[at] / 100

    def draw(self, dice: random.Random) -> list[float]:
        return [dice.triangular(low, high, value) for low, high, value in self.spreads]


def of_selector(selector: Selector, one: Ingredient, numbers: Numbers, *, at_most: bool) -> Gram:
    """The part of an ingredient that a selector counts; what is not known counts against the rule."""
    if isinstance(selector, AnyOf):
        return most([of_selector(pick, one, numbers, at_most=at_most) for pick in selector.picks])
    listed = _listed(selector, one)
    if listed:
        return added([numbers.part(one, index) for index in listed])
    ends = counted(selector, one)
    return float(ends.at_most if at_most else ends.surely)


def _listed(pick: Pick, one: Ingredient) -> list[int]:
    if pick.field != "substance":
        return []
    parts = enumerate(one.composition or ())
    return [index for index, part in parts if part.substance.lower() == pick.name.lower()]


def added(grams: Sequence[Gram], factors: Sequence[float] = ()) -> Gram:
    """The sum, each times its factor."""
    by = factors or [1.0] * len(grams)
    fixed = sum(g * f for g, f in zip(grams, by, strict=True) if not callable(g))
    moving = [(g, f) for g, f in zip(grams, by, strict=True) if callable(g)]
    if not moving:
        return fixed
    return lambda values: fixed + sum(g(values) * f for g, f in moving)


def most(grams: Sequence[Gram]) -> Gram:
    fixed = max((g for g in grams if not callable(g)), default=0.0)
    moving = [g for g in grams if callable(g)]
    if not moving:
        return fixed
    return lambda values: max(fixed, *(g(values) for g in moving))


@dataclass(frozen=True, slots=True)
class Sum:
    """Sum of share times gram over the lines, by place; `drawn` where it rests on numbers that are drawn."""

    fixed: tuple[tuple[int, float], ...]
    moving: tuple[tuple[int, Callable[[Values], float]], ...]

    @property
    def drawn(self) -> bool:
        return bool(self.moving)

    def __call__(self, shares: Sequence[float], values: Values) -> float:
        found = 0.0
        for i, gram in self.fixed:
            found += shares[i] * gram
        for i, moves in self.moving:
            found += shares[i] * moves(values)
        return found


def over_lines(grams: Sequence[Gram]) -> Sum:
    """The sum of these, in the order of the lines."""
    return Sum(
        tuple((i, gram) for i, gram in enumerate(grams) if not callable(gram) and gram),
        tuple((i, gram) for i, gram in enumerate(grams) if callable(gram)),
    )


def as_drawn(
    ingredients: Mapping[str, Ingredient], numbers: Numbers, values: Values
) -> dict[str, Ingredient]:
    """The ingredients with every number that was drawn at what it came to, without a spread."""
    figures: dict[str, dict[str, Figure]] = {}
    parts: dict[str, dict[int, Part]] = {}
    for (name, what, which), at in numbers.places.items():
        value, one = Fraction(values[at]), ingredients[name]
        if what == "figure":
            figure = replace(one.figures[which], value=value, low=value, high=value)
            figures.setdefault(name, {})[which] = figure
        else:
            part = (one.composition or ())[int(which)]
            parts.setdefault(name, {})[int(which)] = replace(part, value=value, low=value, high=value)
    return {
        name: replace(
            one,
            figures={**one.figures, **figures.get(name, {})},
            composition=None
            if one.composition is None
            else tuple(parts.get(name, {}).get(i, part) for i, part in enumerate(one.composition)),
        )
        for name, one in ingredients.items()
    }
