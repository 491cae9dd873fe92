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
    together = " together" if len(rows) > 1 and first.maximum else ""
    counted = f", counted as {first.counts_as}" if first.counts_as and first.maximum else ""
    advice = ", advice and not law" if first.basis == "advice" else ""
    memory = ", from memory" if any(row.status == "memory" for row in rows) else ""
    text = f"{first.family}{together}{counted}: {_bound(first)}{product_words(first)}"
    if first.condition:
        text += f"; {first.condition}"
    return f"{text} ({first.instrument}{advice}{memory})."


def _bound(row: LimitRow) -> str:
    shown = plain(row.maximum or Fraction(0))
    if row.basis == "label":
        return f"to be stated on the label above {shown} %"
    return f"at most {shown} %" if row.maximum else "not allowed"


def product_words(row: LimitRow) -> str:
    """ " in a leave-on product for the face", or nothing when the limit holds for every product."""
    use = f"{row.use} " if row.use != "any" else ""
    parts = [_listed(row.area, "for the ", "not for the ", "or"), _age(row.age)]
    parts += [_listed(row.form, "as ", "not as ", "or")]
    tail = " ".join(part for part in parts if part)
    if not use and not tail:
        return ""
    article = "an" if use.startswith(("a", "e", "i", "o")) else "a"
    return f" in {article} {use}product" + (f" {tail}" if tail else "")


def _listed(words: tuple[str, ...], lead: str, barring: str, joint: str) -> str:
    if not words:
        return ""
    barred = words[0] == EXCLUDES
    names = words[1:] if barred else words
    text = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {joint} {names[-1]}"
    return (barring if barred else lead) + text


def _age(age: str) -> str:
    if age == "any":
        return ""
    years = age.rpartition("-")[2]
    return (
        f"for users of {years} years or more" if age.startswith(EXCLUDES) else f"for children under {years}"
    )


def plain(value: Fraction) -> str:
    """A decimal without needless zeros; limits are decimals, so nothing is lost at nine places."""
    whole, rest = divmod(abs(value), 1)
    digits = str(round(rest * 10**9)).rjust(9, "0").rstrip("0")
    return f"{whole}.{digits}" if digits else str(whole)
