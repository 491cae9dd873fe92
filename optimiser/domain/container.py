"""The pack a product stands in, as far as it draws on what is inside."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.domain.ingredient import Figure


@dataclass(frozen=True, slots=True)
class Container:
    """`takes`: ml of water that the wall around 100 g is worth to an undissociated preservative."""

    name: str
    takes: Figure
