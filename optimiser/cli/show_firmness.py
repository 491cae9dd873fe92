"""What firmness holds, what it does not reach, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from optimiser.cli.console import short
from optimiser.domain.firm import Firm
from optimiser.domain.outcome import Firmness, FirmPrice
from optimiser.requests.sentences import first_upper, number

TITLE = "Firm against what the data leave open"


def firmness_lines(found: Firmness | None, currency: str) -> tuple[str, ...]:
    """Sentences, the price first; nothing where no firmness was asked."""
    if found is None:
        return ()
    return (*_prices(found, currency), _held(found), *(note.text for note in found.notes))


def _held(found: Firmness) -> str:
    count = len(found.held)
    if not count:
        return "No rule that was asked for rests on a number with a spread that this can reckon with."
    names = "; ".join(rule.head.sentence.partition(":")[0].removesuffix(".") for rule in found.held)
    return f"Held {_how(found.asked)}: {names}."


def _how(firm: Firm) -> str:
    if firm.off_at_once is None:
        return "for every value in the data"
    one = firm.off_at_once == 1
    return f"with {number(firm.off_at_once)} number{'' if one else 's'} off at once"


def _prices(found: Firmness, currency: str) -> Iterator[str]:
    plain = found.prices[0]
    if not plain.possible:
        yield "At middle values no formula was found either."
        return
    yield f"At middle values: {_has(plain, currency)}."
    for price in found.prices[1:]:
        if price.firm is None:
            continue
        how = first_upper(_how(price.firm))
        if not price.possible:
            yield f"{how}: no formula was found."
        else:
            yield f"{how}: {_more(price, plain, currency)}."


def _has(price: FirmPrice, currency: str) -> str:
    cost = "cost not known" if price.cost_per_kg is None else f"{short(price.cost_per_kg, 2)} {currency}/kg"
    return f"{cost}, departure {short(price.departure, 2)} points"


def _more(price: FirmPrice, plain: FirmPrice, currency: str) -> str:
    parts = [
        _apart(price.cost_per_kg, plain.cost_per_kg, f"{currency}/kg"),
        _apart(price.departure, plain.departure, "points of change"),
    ]
    missed = price.unmet_wishes - plain.unmet_wishes
    if missed > 0:
        parts.append(f"{missed} more wish{'' if missed == 1 else 'es'} not met")
    told = [part for part in parts if part]
    nothing = "that formula holds too; firmness costs nothing here"
    return f"{' and '.join(told)} than that" if told else nothing


def _apart(firm: Fraction | None, plain: Fraction | None, unit: str) -> str:
    """`0.21 EUR/kg more`; nothing below a hundredth."""
    if firm is None or plain is None or abs(firm - plain) < Fraction(1, 200):
        return ""
    return f"{short(abs(firm - plain), 2)} {unit} {'more' if firm > plain else 'less'}"
