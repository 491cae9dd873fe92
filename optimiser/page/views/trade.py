"""The trade-off curve: its corners as rows, and what was proved of it."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.domain.curve import Curve
from optimiser.export.curve_words import changes_of, figure, proof_of, title, with_unit
from optimiser.units.numbers import DecimalMark

MEASURES = (
    ("cost", "cost, the less the better"),
    ("departure", "departure from the formula, the less the better"),
    ("natural-origin", "natural origin, the more the better"),
    ("least ingredients", "count of ingredients, the fewer the better"),
    ("least new-ingredients", "count of new ingredients, the fewer the better"),
)


@dataclass(frozen=True, slots=True)
class PointRow:
    number: int
    first: str
    second: str
    changes: str


@dataclass(frozen=True, slots=True)
class TradeShown:
    """`heads` are the two measures with their units."""

    title: str
    heads: tuple[str, str]
    points: tuple[PointRow, ...]
    proved: tuple[str, ...]


def trade_of(found: Curve, decimal: DecimalMark) -> TradeShown:
    return TradeShown(
        f"{title(found.first)} against {found.second.name}",
        (with_unit(found.first), with_unit(found.second)),
        tuple(
            PointRow(
                one.number,
                figure(found.first, one.first, decimal),
                figure(found.second, one.second, decimal),
                changes_of(found, one, decimal),
            )
            for one in found.points
        ),
        proof_of(found),
    )
