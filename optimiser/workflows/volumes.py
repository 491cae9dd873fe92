"""A batch given as a volume, by a density that was given or is predicted."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.densities import density_of, without_density
from optimiser.errors import UsageError
from optimiser.requests.sentences import number
from optimiser.search.foretold import density_words
from optimiser.units.numbers import DecimalMark
from optimiser.units.quantities import VOLUMES, read_amount, read_with_unit, split_unit

MOST_NAMES = 3


@dataclass(frozen=True, slots=True)
class Batch:
    """Grams of a batch; `note` says by which predicted density, nothing where none was needed."""

    grams: Fraction
    note: str = ""


def batch_of(text: str, decimal: DecimalMark, density: str, amounts: Amounts) -> Batch:
    """Grams of "8 oz", "8 fl oz"; a volume without `density` takes the one predicted for `amounts`.

    Raises UsageError where the text cannot be read, or a line has no density.
    """
    if density or not _is_volume(text):
        return Batch(batch_grams(text, decimal, density))
    predicted = density_of(amounts)
    if predicted is None:
        names = without_density(amounts)
        more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
        what = f"the density cannot be predicted, it is not known of {', '.join(names[:MOST_NAMES])}{more}"
        fix = 'add --density "1.15 g/ml", or give a weight'
        raise UsageError(f'the batch "{text}" is a volume, and {what}', fix)
    grams = batch_grams(text, decimal, f"{_text(predicted.value, decimal)} g/ml")
    return Batch(grams, f"{' '.join(text.split())} at {density_words(predicted)}")


def _text(value: Fraction, decimal: DecimalMark) -> str:
    return number(value) if decimal == "point" else number(value).replace(".", ",")


def _is_volume(text: str) -> bool:
    split = split_unit(text)
    return split is not None and split[1].casefold() in VOLUMES


def batch_grams(text: str, decimal: DecimalMark, density: str = "") -> Fraction:
    """Grams of a batch such as "8 oz"; a volume asks for the batch's density. Raises UsageError."""
    per_ml: Fraction | None = None
    if density:
        read = read_with_unit(density, decimal, "g/ml", bare=True)
        if not isinstance(read, Fraction) or read <= 0:
            raise UsageError(f'the density "{density}" cannot be read', 'give it as "1.15 g/ml"')
        per_ml = read
    grams = read_amount(text, decimal, density=per_ml)
    if not isinstance(grams, Fraction):
        wanted = "a weight, or a volume with its density" if grams.expected == "a weight" else grams.expected
        fix = 'add --density "1.15 g/ml", or give a weight' if grams.expected == "a weight" else grams.fix
        raise UsageError(f'the batch "{text}" cannot be read: expected {wanted}', fix)
    if grams <= 0:
        fix = 'give a weight such as "250 g" or "8 oz"'
        raise UsageError(f'the batch "{text}" is not more than nothing', fix)
    return grams
