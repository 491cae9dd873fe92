"""Rules: what must or should hold. A closed union; every rule carries its sentence and source.

All shares and amounts are in % w/w of the formula. `None` for a limit means that side is open.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, get_args

from optimiser.domain.response import Fitted
from optimiser.domain.selector import Selector

Basis = Literal["physics", "law", "safety", "house", "character", "carried", "wish"]

MICROBES = ("bacteria", "yeast", "mould")
"""Groups of microbes a preservative may cover, in the order they are named."""


@dataclass(frozen=True, slots=True)
class Head:
    """What every rule carries.

    `id` is `file#name`. Physics is never blamed; law is never offered for loosening. `rank` is None for a
    must and 1, 2, ... for wishes (1 is honoured first). With `surely` a character rule holds at worst values,
    with `off_at_once` while so many of its numbers stand at their worst, whichever these are.
    """

    id: str
    sentence: str
    source: str = ""
    why: str = ""
    basis: Basis = "character"
    rank: int | None = None
    surely: bool = False
    off_at_once: Fraction | None = None

    @property
    def at_worst(self) -> bool:
        return self.surely or self.basis in ("law", "safety")


@dataclass(frozen=True, slots=True)
class Share:
    """Share of what the selector matches, in % of the formula (of all phases, or of the lines of one)."""

    head: Head
    of: Selector
    low: Fraction | None = None
    high: Fraction | None = None
    phase: str | None = None


@dataclass(frozen=True, slots=True)
class Level:
    """Work done: sum of share times strength; `strength` names the property."""

    head: Head
    strength: str
    low: Fraction | None = None
    high: Fraction | None = None
    phase: str | None = None


@dataclass(frozen=True, slots=True)
class Mean:
    """Mean of a property over the whole formula, in the property's unit."""

    head: Head
    figure: str
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Ratio:
    """Share of `top` over share of `bottom`."""

    head: Head
    top: Selector
    bottom: Selector
    low: Fraction | None = None
    high: Fraction | None = None
    phase: str | None = None


@dataclass(frozen=True, slots=True)
class Absent:
    """Nothing that the selector matches, or may match for all that is known."""

    head: Head
    of: Selector


@dataclass(frozen=True, slots=True)
class Amount:
    """One ingredient's share over all its lines."""

    head: Head
    ingredient: str
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass(frozen=True, slots=True)
class UseRange:
    """When the ingredient is used at all, it stands between `low` and `high`."""

    head: Head
    ingredient: str
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Legal:
    """Sum over substances, each counted by `factor`, at its highest content; at most `maximum` %."""

    head: Head
    members: tuple[tuple[str, Fraction], ...]
    maximum: Fraction


@dataclass(frozen=True, slots=True)
class Covers:
    """Some preservative stands at or above its own least dose for `group` and works up to `ph_top`.

    With `ph_top` None no acid preservative counts.
    """

    head: Head
    group: str
    ph_top: Fraction | None


@dataclass(frozen=True, slots=True)
class Reaches:
    """Some preservative stands, free and undissociated in the water at `ph_top`, at its least free dose.

    Powders, micelles and oil hold the rest back; what they hold is mostly assumed.
    """

    head: Head
    group: str
    ph_top: Fraction | None


@dataclass(frozen=True, slots=True)
class Acidity:
    """The pH window, reached at the table by reading: some line must be there to adjust with.

    Where the charges of all lines are known it is `predicted`: for every value in the data some dose of the
    `adjusters` (lines dosed to the pH, between none and their ceiling) reaches the window. `preservatives`
    are the acid preservatives that may be there, ingredients by id: only beside one of them does a window
    that safety asks for have to hold at the worst values.
    """

    head: Head
    low: Fraction
    high: Fraction
    predicted: bool = False
    adjusters: tuple[str, ...] = ()
    preservatives: tuple[str, ...] = ()

    def at_worst(self, there: Collection[str]) -> bool:
        """Whether it holds at the worst values of the data, these ingredients being there."""
        if self.head.surely or not self.preservatives:
            return self.head.at_worst
        return any(name in there for name in self.preservatives)


@dataclass(frozen=True, slots=True)
class Thickness:
    """Thickness in Pa.s at `shear` per second: gums in the water phase, glycerol, powders.

    Where the constants of all lines are known it is `predicted`; else it is held by reading.
    """

    head: Head
    low: Fraction | None = None
    high: Fraction | None = None
    shear: Fraction = Fraction(1)
    predicted: bool = False


@dataclass(frozen=True, slots=True)
class FreeLiquid:
    """Liquid left after the powders have drunk, in % of the formula: water and polyols, or (`oily`) oils."""

    head: Head
    low: Fraction | None = None
    high: Fraction | None = None
    oily: bool = False
    predicted: bool = False


ForecastOf = Literal[
    "water_activity",
    "frost_proof",
    "powder_volume",
    "buffer",
    "hlb",
    "undissolved",
    "density",
    "allergens",
]
FORECASTS: tuple[ForecastOf, ...] = get_args(ForecastOf)


@dataclass(frozen=True, slots=True)
class Forecast:
    """A measure that the science foretells; it is `predicted` where all its numbers are known.

    `water_activity` (1 is pure water); `frost_proof`, degrees below 0 °C without ice; `powder_volume`, % of
    the whole volume; `buffer`, mmol per kg and pH at both ends of the pH window; `hlb`, how far the
    emulsifiers are from what the oils ask for; `undissolved`, % that water and oil do not hold; `density`,
    g/ml without air; `allergens`, how many listed ones the label has to name.
    """

    head: Head
    of: ForecastOf
    low: Fraction | None = None
    high: Fraction | None = None
    predicted: bool = False


@dataclass(frozen=True, slots=True)
class Response:
    """What trials taught of a score or a reading, in its own unit.

    It is `predicted` where the trials had every ingredient of the base; else it is held by reading.
    """

    head: Head
    fitted: Fitted
    low: Fraction | None = None
    high: Fraction | None = None
    predicted: bool = False

    @property
    def bends(self) -> bool:
        """Whether no straight row says the same: parts are multiplied, or the error is held off as well."""
        return self.predicted and (self.head.at_worst or not self.fitted.straight)


@dataclass(frozen=True, slots=True)
class Cost:
    """Material cost in the worktable's currency per kg."""

    head: Head
    high: Fraction


@dataclass(frozen=True, slots=True)
class Newcomers:
    """At most so many ingredients that the base does not have."""

    head: Head
    at_most: int


@dataclass(frozen=True, slots=True)
class LineCount:
    """At most so many ingredients in all."""

    head: Head
    at_most: int


@dataclass(frozen=True, slots=True)
class Clash:
    """`a` and `b` never together."""

    head: Head
    a: Selector
    b: Selector


@dataclass(frozen=True, slots=True)
class Needs:
    """When more than `above` % of `when` is there, at least `at_least` % of `needs` must be."""

    head: Head
    when: Selector
    above: Fraction
    needs: Selector
    at_least: Fraction


@dataclass(frozen=True, slots=True)
class Stock:
    """Only what is there: the most of each ingredient in %; one that is not named is not there."""

    head: Head
    most: Mapping[str, Fraction]


Rule = (
    Share
    | Level
    | Mean
    | Ratio
    | Absent
    | Amount
    | UseRange
    | Legal
    | Covers
    | Reaches
    | Acidity
    | Thickness
    | FreeLiquid
    | Forecast
    | Response
    | Cost
    | Newcomers
    | LineCount
    | Clash
    | Needs
    | Stock
)
