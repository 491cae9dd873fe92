"""The content of a pack in the units a place uses."""

from __future__ import annotations

from fractions import Fraction

from optimiser.errors import UsageError
from optimiser.units.numbers import DecimalMark, NumberFault, show_number
from optimiser.units.quantities import VOLUMES, read_amount, split_unit

GRAMS_PER_OUNCE = Fraction("28.349523125")
ML_PER_FLUID_OUNCE = Fraction("29.5735295625")
"""Avoirdupois ounce and US fluid ounce: NIST Handbook 44, Appendix C."""
THOUSAND = 1000


def net_content(text: str, decimal: DecimalMark, *, both: bool = False) -> str:
    """`100 g`, `50 ml`, `1.5 kg` or `1 l` from an amount as typed; with `both` the US units first, as in
    `3.5 oz (100 g)`. From 1000 on it is kilograms and litres (the Canadian guide asks for it).

    All are rounded down, so that no pack holds less than it says. Raises UsageError.
    """
    split = split_unit(text)
    volume = split is not None and split[1].casefold() in VOLUMES
    read = read_amount(text, decimal, density=Fraction(1) if volume else None)
    if isinstance(read, NumberFault) or _down(read) <= 0:
        raise UsageError(f'the content "{text}" cannot be read', 'give it as "100 g" or "50 ml"')
    metric = _metric(read, decimal, volume=volume)
    if not both:
        return metric
    ounces = _down(read / (ML_PER_FLUID_OUNCE if volume else GRAMS_PER_OUNCE))
    return f"{show_number(ounces, 2)} {'fl oz' if volume else 'oz'} ({metric})"


def _down(value: Fraction) -> Fraction:
    """To tenths, below one to hundredths; never up."""
    part = 10 if value >= 1 else 100
    return Fraction(value * part // 1, part)


def _metric(read: Fraction, decimal: DecimalMark, *, volume: bool) -> str:
    if read >= THOUSAND:
        whole = Fraction(read // 1) / THOUSAND
        return f"{show_number(whole, 3, decimal=decimal, trim=True)} {'l' if volume else 'kg'}"
    return f"{show_number(_down(read), 2, decimal=decimal)} {'ml' if volume else 'g'}"
