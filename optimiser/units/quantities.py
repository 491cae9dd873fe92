"""Amounts, shares and prices as people write them, in grams, % and money per kilogram; never a float."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

from optimiser.problems import did_you_mean
from optimiser.units.numbers import DecimalMark, NumberFault, date_fault, read_number, tidy

WEIGHTS = {
    "mg": "milligram",
    "g": "gram",
    "gram": "gram",
    "grams": "gram",
    "kg": "kilogram",
    "kilo": "kilogram",
    "oz": "ounce",
    "ounce": "ounce",
    "ounces": "ounce",
    "lb": "pound",
    "lbs": "pound",
    "pound": "pound",
    "pounds": "pound",
}
VOLUMES = {
    "ml": "milliliter",
    "cl": "centiliter",
    "dl": "deciliter",
    "l": "liter",
    "litre": "liter",
    "litres": "liter",
    "liter": "liter",
    "liters": "liter",
    "fl oz": "fluid_ounce",
    "floz": "fluid_ounce",
    "fl. oz": "fluid_ounce",
    "fl.oz": "fluid_ounce",
    "fl. oz.": "fluid_ounce",
}
METRIC = {"milligram": Fraction(1, 1000), "gram": Fraction(1), "kilogram": Fraction(1000)}
LONGEST_QUANTITY = 200
CURRENCY_SIGNS = {"€": "EUR", "£": "GBP", "$": "USD"}

_NUMBER_AND_UNIT = re.compile(
    r"([+-]?[0-9.,][0-9.,]*(?: [0-9.,]+)*(?:[eE][+-]?[0-9]+)?)\s*((?![0-9]).*)", re.ASCII | re.DOTALL
)


def split_unit(text: str) -> tuple[str, str] | None:
    """("1,5", "kg") from "1,5 kg"; None where the text does not begin with a number."""
    found = _NUMBER_AND_UNIT.fullmatch(tidy(text)) if len(text) <= LONGEST_QUANTITY else None
    return (found[1], " ".join(found[2].split())) if found else None


def read_amount(
    text: str, decimal: DecimalMark, *, density: Fraction | None = None, default_unit: str | None = None
) -> Fraction | NumberFault:
    """Grams from "8 oz", "285 g", "1,5 kg"; a volume needs `density` in g/ml.

    `fl oz` is the US fluid ounce. A bare number is refused unless `default_unit` says what it counts.
    """
    parts = _number_and_unit(text, decimal)
    if isinstance(parts, NumberFault):
        return parts
    number, unit = parts
    unit = unit or default_unit or ""
    if not unit:
        return NumberFault(text, "an amount with its unit", f'write "{text.strip()} g" if grams are meant')
    return _in_grams(text, number, unit.casefold(), density)


def _number_and_unit(text: str, decimal: DecimalMark) -> tuple[Fraction, str] | NumberFault:
    """A number that is not negative, and what stands behind it."""
    split = split_unit(text)
    dated = date_fault(text)
    if dated is not None:
        return dated
    if split is None:
        return NumberFault(text, "an amount", "write a number and a unit, such as 250 g")
    number = read_number(split[0], decimal=decimal)
    if isinstance(number, NumberFault):
        return NumberFault(text, number.expected, number.fix)
    if number < 0:
        return NumberFault(text, "an amount of zero or more", "remove the minus")
    return number, split[1]


def _in_grams(text: str, number: Fraction, unit: str, density: Fraction | None) -> Fraction | NumberFault:
    if unit in WEIGHTS:
        return number * _factor(WEIGHTS[unit], "gram")
    if unit in VOLUMES:
        if density is None:
            return NumberFault(
                text, "a weight", "give the ingredient a density in g/ml, or write the amount in grams"
            )
        return number * _factor(VOLUMES[unit], "milliliter") * density
    near = did_you_mean(unit, [*WEIGHTS, *VOLUMES])
    return NumberFault(text, "a unit of weight or volume (g, kg, mg, oz, lb, ml, l, fl oz)", near)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Decimal, cache_folder=None)


@lru_cache(maxsize=64)
def _factor(unit: str, into: str) -> Fraction:
    """How many `into` one `unit` is."""
    if into == "gram" and unit in METRIC:
        return METRIC[unit]
    registry = _registry()
    magnitude = registry.Quantity(Decimal(1), unit).to(into).magnitude
    if not isinstance(magnitude, Decimal):
        raise TypeError(f"{unit} in {into} is no exact number")
    return Fraction(magnitude)


@lru_cache(maxsize=4096)
def read_with_unit(
    text: str, decimal: DecimalMark, unit: str, *, bare: bool = False
) -> Fraction | NumberFault:
    """A number in `unit` ("38 %", "0.9 g/g", "5.0" where the unit is pH or "-"); `bare` lets the unit out."""
    split = split_unit(text)
    dated = date_fault(text)
    if dated is not None:
        return dated
    if split is None:
        return NumberFault(text, f"a number in {unit}" if unit not in ("-", "") else "a number")
    number, found = split
    free = bare or unit in ("-", "", "pH")
    if not found and not free:
        return NumberFault(text, f"a number in {unit}", f'write "{text.strip()} {unit}"')
    if found and found.casefold().replace(" ", "") != unit.casefold():
        wanted = f"a number in {unit}" if unit not in ("-", "") else "a number without a unit"
        return NumberFault(
            text, wanted, f'write "{number} {unit}"' if unit not in ("-", "") else f"write {number}"
        )
    value = read_number(number, decimal=decimal)
    return NumberFault(text, value.expected, value.fix) if isinstance(value, NumberFault) else value


def read_percent(text: str, decimal: DecimalMark, *, bare: bool = False) -> Fraction | NumberFault:
    """5 from "5 %"; a bare "5" only where the place itself says %."""
    return read_with_unit(text, decimal, "%", bare=bare)


def read_price(text: str, decimal: DecimalMark, currency: str) -> Fraction | NumberFault:
    """Money per kilogram from "9.50 EUR/kg" or "1.20 EUR / 100 g"."""
    shape = f"a price such as 9{'.' if decimal == 'point' else ','}50 {currency}/kg"
    money, slash, weight = tidy(text).partition("/")
    split = split_unit(money) if money[:1] not in CURRENCY_SIGNS else split_unit(f"{money[1:]} {money[0]}")
    if not slash or split is None:
        return NumberFault(text, shape)
    found = CURRENCY_SIGNS.get(split[1], split[1]).upper()
    if found != currency.upper():
        return NumberFault(text, shape, f"the worktable counts in {currency}")
    number = read_number(split[0], decimal=decimal)
    if isinstance(number, NumberFault):
        return NumberFault(text, number.expected, number.fix)
    weight = weight.strip()
    grams = read_amount(weight if weight[:1].isdigit() else f"1 {weight}", decimal)
    if isinstance(grams, NumberFault) or grams == 0:
        return NumberFault(text, shape, "say per which weight, such as /kg")
    if number < 0:
        return NumberFault(text, "a price of zero or more", "remove the minus")
    return number / grams * 1000


def read_money(text: str, decimal: DecimalMark, currency: str) -> Fraction | NumberFault:
    """Money from "9.50 EUR" or "€ 9.50"; a bare number is in the worktable's currency."""
    tidied = tidy(text)
    sign = tidied[:1] if tidied[:1] in CURRENCY_SIGNS else ""
    split = split_unit(tidied[len(sign) :])
    shape = f"money such as 9{'.' if decimal == 'point' else ','}50 {currency}"
    if split is None:
        return NumberFault(text, shape)
    unit = split[1] or sign or currency
    if CURRENCY_SIGNS.get(unit, unit).upper() != currency.upper():
        return NumberFault(text, shape, f"the worktable counts in {currency}")
    number = read_number(split[0], decimal=decimal)
    if isinstance(number, NumberFault):
        return NumberFault(text, number.expected, number.fix)
    return number if number >= 0 else NumberFault(text, "money of zero or more", "remove the minus")


def read_minutes(text: str, decimal: DecimalMark) -> Fraction | NumberFault:
    """Minutes from "40 min" or "1.5 h"."""
    split = split_unit(text)
    factor = {"min": Fraction(1), "h": Fraction(60)}.get(split[1].casefold()) if split else None
    if split is None or factor is None:
        return NumberFault(text, "a time such as 40 min or 1 h")
    number = read_number(split[0], decimal=decimal)
    if isinstance(number, NumberFault):
        return NumberFault(text, number.expected, number.fix)
    return number * factor if number >= 0 else NumberFault(text, "a time of zero or more", "remove the minus")


def read_temperature(text: str, decimal: DecimalMark) -> Fraction | NumberFault:
    """Degrees Celsius from "22 C", "-18 °C", "72 F" (to a hundredth of a degree) or a bare number in C."""
    split = split_unit(text)
    if split is None or split[1].replace("°", "").strip().casefold() not in ("", "c", "f"):
        return NumberFault(text, "a temperature in C or F", "write it so: 22 C")
    number = read_number(split[0], decimal=decimal)
    if isinstance(number, NumberFault):
        return NumberFault(text, number.expected, number.fix)
    return round((number - 32) * 5 / 9, 2) if split[1].casefold().endswith("f") else number
