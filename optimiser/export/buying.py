"""What to buy and what it costs, as JSON and CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from optimiser.domain.costs import JarCost
from optimiser.export.plain import clean, decimal_text, quantity
from optimiser.export.sheet_csv import guard
from optimiser.search.buying import Basket
from optimiser.search.stock import Drawn

FORMAT = 1


def basket_dict(basket: Basket, currency: str) -> dict[str, Any]:
    """The packs, their price, and whether no cheaper basket exists."""
    return {
        "packs": [
            {
                "ingredient": one.offer.ingredient,
                "supplier": clean(one.offer.supplier),
                "pack": quantity(one.offer.grams, "g"),
                "packs": one.packs,
                "price": quantity(one.price, currency),
            }
            for one in basket.packs
        ],
        "post": quantity(basket.post, currency),
        "total": quantity(basket.total, currency),
        "not_offered": list(basket.not_offered),
        "proved": basket.proved,
    }


def drawn_dict(drawn: Drawn) -> dict[str, Any]:
    """Lots to use, the first to expire first."""
    return {
        name: [
            {
                "lot": clean(one.lot.lot),
                "expires": one.lot.expires.isoformat() if one.lot.expires else None,
                "grams": quantity(one.grams, "g"),
            }
            for one in taken
        ]
        for name, taken in drawn.taken.items()
        if taken
    }


def basket_csv(basket: Basket, names: Mapping[str, str], currency: str) -> str:
    """One row a pack size to buy."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("supplier", "ingredient", "name", "pack [g]", "packs", f"price [{currency}]"))
    for one in sorted(basket.packs, key=lambda b: (b.offer.supplier, b.offer.ingredient, b.offer.grams)):
        offer = one.offer
        words = (guard(clean(offer.supplier)), guard(offer.ingredient), guard(clean(names[offer.ingredient])))
        writer.writerow((*words, decimal_text(offer.grams), one.packs, decimal_text(one.price)))
    return out.getvalue()


def jar_dict(jar: JarCost | None, currency: str) -> dict[str, Any] | None:
    if jar is None:
        return None
    return {
        "batch": quantity(jar.batch_g, "g"),
        "jars": jar.jars,
        "holds": quantity(jar.holds_g, "g"),
        "filled": quantity(jar.filled_g, "g"),
        "in_pots": quantity(jar.in_pots_g, "g"),
        "left": quantity(jar.left_g, "g"),
        "shares": [
            {"what": clean(one.what), "per_jar": quantity(one.per_jar, currency)} for one in jar.shares
        ],
        "per_jar": quantity(jar.per_jar, currency),
        "price": quantity(jar.price, currency),
        "margin": quantity(jar.margin, currency),
    }


def lines_list(lines: tuple[tuple[str, Fraction, Fraction], ...], currency: str) -> list[dict[str, Any]]:
    return [
        {"name": clean(name), "share": quantity(share, "%"), "per_kg": quantity(money, f"{currency}/kg")}
        for name, share, money in lines
    ]
