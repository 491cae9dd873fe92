"""How far a reading may be off, in standard errors."""

from __future__ import annotations


def one_sided(freedom: int, level: float = 0.95) -> float:
    """Student's t that `level` of all readings stay below, on so many degrees of freedom."""
    from scipy.stats import t

    return float(t.ppf(level, freedom))
