"""A limit in one plain sentence."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from optimiser.law.facts import EXCLUDES
from optimiser.law.limits import LimitRow


def sentence_of(rows: Sequence[LimitRow]) -> str:
    """Such as "Benzoic acid and its sodium salt together, counted as benzoic acid: at most 0.5 % in a
    leave-on product (Regulation (EC) No 1223/2009, Annex V entry 1).".
    """
    first = rows[0]
    together = " together" if len(rows) > 1 and " and " in first.family and "," not in first.family else ""
    counted = f", counted as {first.counts_as}" if first.counts_as and first.maximum else ""
    text = f"{first.family}{together}{counted}: {_bound(first)}{product_words(first)}"
    details = [first.condition, _other_forms(first.form)]
    text = "; ".join([text, *(detail for detail in details if detail)])
    advice = ", advice and not law" if first.basis == "advice" else ""
    memory = ", from memory" if any(row.status == "memory" for row in rows) else ""
    return f"{text} ({first.instrument}{advice}{memory})."


def _bound(row: LimitRow) -> str:
    shown = plain(row.maximum or Fraction(0))
    if row.basis == "label":
        return f"to be stated on the label above {shown} %"
    return f"at most {shown} %" if row.maximum else "not allowed"


def product_words(row: LimitRow) -> str:
    """Such as " in a leave-on product for the face"; nothing when the limit holds for every product."""
    use = f"{row.use} " if row.use != "any" else ""
    parts = (_named(row.area, "for the "), _age(row.age), _named(row.form, "sold as "))
    tail = "".join(f" {part}" for part in parts if part)
    return f" in a {use}product{tail}" if use or tail else ""


def _named(words: tuple[str, ...], lead: str) -> str:
    return lead + _either(words) if words and words[0] != EXCLUDES else ""


def _other_forms(words: tuple[str, ...]) -> str:
    return f"another limit holds as {_either(words[1:])}" if words and words[0] == EXCLUDES else ""


def _either(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _age(age: str) -> str:
    return f"for children under {age.rpartition('-')[2]}" if age.startswith("under") else ""


def plain(value: Fraction) -> str:
    """A decimal without needless zeros; limits are decimals, so nothing is lost at nine places."""
    whole, rest = divmod(abs(value), 1)
    digits = str(round(rest * 10**9)).rjust(9, "0").rstrip("0")
    return f"{whole}.{digits}" if digits else str(whole)
