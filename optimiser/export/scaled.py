"""A proposal at several sizes as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from optimiser.domain.costs import JarCost
from optimiser.export.buying import jar_dict
from optimiser.export.plain import clean, quantity
from optimiser.search.weighing import Weight

FORMAT = 1


def scaled_dict(title: str, sizes: list[dict[str, Any]]) -> dict[str, Any]:
    return {"format": FORMAT, "title": clean(title), "sizes": sizes}


def size_dict(
    batch_g: Fraction,
    lines: Sequence[tuple[str, Fraction]],
    weights: Sequence[Weight],
    jar: JarCost | None,
    said: Sequence[str],
    currency: str,
) -> dict[str, Any]:
    """One size; `weigh` is empty where it cannot be weighed out, and `minds` says why."""
    return {
        "batch": quantity(batch_g, "g"),
        "weigh": [
            {"name": clean(name), "share": quantity(share, "%"), "grams": quantity(weight.weighed_g, "g")}
            for (name, share), weight in zip(lines, weights, strict=bool(weights))
        ],
        "jar": jar_dict(jar, currency),
        "minds": [clean(text) for text in said],
    }
