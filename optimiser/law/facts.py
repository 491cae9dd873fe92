"""Product facts as the law asks for them, from the words a maker writes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from optimiser.law.limits import LimitRow

USUAL_AREAS = frozenset({"face", "body", "hand", "foot", "hair", "scalp"})
STATED_AREAS = frozenset({"eye", "lip", "mouth", "nail", "underarm", "nappy"})
WORDS = {
    "hands": "hand",
    "feet": "foot",
    "beard": "hair",
    "lips": "lip",
    "oral": "mouth",
    "teeth": "mouth",
    "eyes": "eye",
    "eyelid": "eye",
    "eyelids": "eye",
    "eyelash": "eye",
    "eyelashes": "eye",
    "nails": "nail",
    "armpit": "underarm",
    "neck": "face",
}
AGES = {
    "adult": 18,
    "adults": 18,
    "teen": 13,
    "teens": 13,
    "teenager": 13,
    "child": 3,
    "children": 3,
    "kids": 3,
    "baby": 0,
    "babies": 0,
    "infant": 0,
    "toddler": 0,
    "newborn": 0,
}
EXCLUDES = "not"
_AREA_WORDS = re.compile(r"[^\W\d_]+")
_UNDER = re.compile(r"(?:under|below|up to|less than|<)[ -]*[0-9]+.*")
_YEARS = re.compile(r"[^0-9]*?([0-9]{1,3})(?:\s*(?:\+|-|–|to|years?|and|or).*)?")


@dataclass(frozen=True, slots=True)
class Facts:
    """`areas` are all that may be meant; `youngest` is in whole years, None when the words do not tell it."""

    use: str
    areas: frozenset[str]
    youngest: int | None
    form: str


def read_facts(*, use: str, area: str, age: str, form: str) -> Facts:
    """The strict reading: what is not stated or not known is leave-on, any usual area, an unknown age."""
    return Facts(
        "rinse-off" if use.strip().casefold() == "rinse-off" else "leave-on",
        areas_of(area),
        youngest_of(age),
        form.strip().casefold(),
    )


def areas_of(text: str) -> frozenset[str]:
    """The areas named; with none among them that is known, every usual one."""
    named = {WORDS.get(word, word) for word in _AREA_WORDS.findall(text.casefold())}
    known = frozenset(named) & (USUAL_AREAS | STATED_AREAS)
    return known or USUAL_AREAS


def youngest_of(text: str) -> int | None:
    """The youngest age in years: "adult" 18, "3 to 12" 3, "under 3" 0; None when it cannot be told."""
    plain = text.strip().casefold()
    if plain in AGES:
        return AGES[plain]
    if _UNDER.fullmatch(plain) or "month" in plain:
        return 0
    found = _YEARS.fullmatch(plain)
    return int(found[1]) if found else None


def applies(row: LimitRow, facts: Facts) -> bool:
    """Whether the row speaks of such a product.

    A special form (spray, soap, make-up ...) must be stated to count.
    """
    return (
        row.use in ("any", facts.use)
        and _area(row.area, facts.areas)
        and _age(row.age, facts.youngest)
        and _form(row.form, facts.form)
    )


def _area(wanted: tuple[str, ...], areas: frozenset[str]) -> bool:
    if not wanted:
        return True
    if wanted[0] == EXCLUDES:
        return bool(areas.difference(wanted))
    return bool(areas.intersection(wanted))


def _age(wanted: str, youngest: int | None) -> bool:
    if wanted == "any":
        return True
    younger = (youngest or 0) < int(wanted.rpartition("-")[2])
    return not younger if wanted.startswith(EXCLUDES) else younger


def _form(wanted: tuple[str, ...], form: str) -> bool:
    if not wanted:
        return True
    if wanted[0] == EXCLUDES:
        return not any(word in form for word in wanted)
    return any(word in form for word in wanted)
