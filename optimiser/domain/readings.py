"""What can be read of a trial: its unit, what is plausible, other units it is told in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType

F = Fraction


def _none() -> Mapping[str, Fraction]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Readable:
    """A reading, kept in `unit`, between `low` and `high`; `also` says how many of it another unit is.

    What is kept in C is read in F too.
    """

    unit: str
    low: Fraction
    high: Fraction
    words: str
    also: Mapping[str, Fraction] = field(default_factory=_none)


READABLE: Mapping[str, Readable] = MappingProxyType(
    {
        "ph": Readable("", F(0), F(14), "pH of the finished batch"),
        "ph-before": Readable("", F(0), F(14), "pH before the line dosed to it"),
        "ph-all": Readable("", F(0), F(14), "pH with all of that line"),
        "thickness": Readable(
            "Pa.s",
            F(1, 10000),
            F(100000),
            "thickness",
            {"mPa.s": F(1, 1000), "cP": F(1, 1000), "P": F(1, 10)},
        ),
        "density": Readable(
            "g/ml", F(1, 10), F(9), "density", {"kg/l": F(1), "g/cm3": F(1), "kg/m3": F(1, 1000)}
        ),
        "water-activity": Readable("", F(0), F(1), "water activity"),
        "solids": Readable("%", F(0), F(100), "what stays after drying"),
        "loss-on-drying": Readable("%", F(0), F(100), "loss on drying"),
        "water": Readable("%", F(0), F(100), "water, by titration or the like"),
        "temperature": Readable("C", F(-40), F(200), "temperature"),
        "melt": Readable("C", F(-40), F(200), "melting point"),
        "yield": Readable("g", F(0), F(10**9), "what the pot gave", {"kg": F(1000)}),
        "separation": Readable("%", F(0), F(100), "part of the height that has come apart"),
    }
)
SETTABLE: Mapping[str, Readable] = MappingProxyType(
    {
        "stirring": Readable("rpm", F(1), F(50000), "speed of stirring", {"1/min": F(1), "rps": F(60)}),
        "stirred": Readable("min", F(0), F(10000), "time of stirring", {"s": F(1, 60), "h": F(60)}),
        "heated-to": Readable("C", F(-40), F(200), "temperature heated to"),
        "held": Readable("min", F(0), F(10000), "time held hot", {"s": F(1, 60), "h": F(60)}),
        "cooled-in": Readable("min", F(0), F(10000), "time of cooling", {"s": F(1, 60), "h": F(60)}),
        "poured-at": Readable("C", F(-40), F(200), "temperature poured at"),
    }
)
"""How a batch was made: settings of the work that may be varied from trial to trial."""
SCORE = Readable("", F(0), F(10), "a score from 0 to 10")
"""What is felt, smelt or looked at and scored."""
