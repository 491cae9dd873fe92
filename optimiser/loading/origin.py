"""The figure for natural origin as the standard counts it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.ingredient import Figure, Part
from optimiser.science.natural_origin import index

FIGURE = "natural_origin"
NOTE = "half or less, which counts as none (ISO 16128)"


def with_origin_counted(
    figures: Mapping[str, Figure], composition: tuple[Part, ...] | None
) -> dict[str, Figure]:
    """The figures; a single material at or below one half natural counts as none.

    The figure of a blend is a mean over its parts, and stays as the seller states it; so does that of a
    material whose make-up is not known.
    """
    own = figures.get(FIGURE)
    if own is None or composition is None or len(composition) != 1:
        return dict(figures)
    value, low, high = (_counted(end) for end in (own.value, own.low, own.high))
    if (value, low, high) == (own.value, own.low, own.high):
        return dict(figures)
    source = "; ".join(filter(None, (own.source, NOTE)))
    return {**figures, FIGURE: replace(own, value=value, low=low, high=high, source=source)}


def _counted(percent: Fraction) -> Fraction:
    return index(percent / 100) * 100
