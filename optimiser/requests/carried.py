"""Targets that a formula carries when nobody states any: what it has today stays about as it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.measures import middle
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Pull, Remark
from optimiser.domain.rules import Amount, Head, Level, Mean, Newcomers, Rule, Share, Thickness
from optimiser.domain.selector import AnyOf, Pick
from optimiser.domain.vocabulary import Vocabulary
from optimiser.requests.sentences import about, first_upper, number, reckoned

BAND = Fraction(1, 10)
SOURCE = "carried over from the base"
MOST_NEWCOMERS = 2
PASSING_ROLES = frozenset(
    {
        "solvent",
        "bulking",
        "viscosity-controlling",
        "gel-forming",
        "suspending",
        "preservative",
        "preservative-booster",
        "acid-adjuster",
        "alkali-adjuster",
        "buffering",
        "neutraliser",
    }
)
"""Roles that levels, coverage and readings hold, or that nobody pays for."""
Measured = Share | Level | Mean


@dataclass(frozen=True, slots=True)
class Today:
    """The base's amounts, and which ingredients may be used at all."""

    amounts: Amounts
    allowed: Mapping[str, Ingredient]
    vocabulary: Vocabulary


def measures_of(today: Today) -> tuple[Measured, ...]:
    """What the base has: shares of its groups, its thickening, its solids."""
    found: list[Measured] = [
        Share(_head(f"share-{group}"), Pick("group", group))
        for group in sorted({i.group for i in today.amounts.present if _carried(i, today) == "share"})
    ]
    thickening = Level(_head("level-thickening"), "thickening")
    if middle(thickening, today.amounts):
        found.append(thickening)
    if all(i.figure("solids") is not None for i in today.amounts.present):
        found.append(Mean(_head("mean-solids"), "solids"))
    return tuple(found)


def _carried(ingredient: Ingredient, today: Today) -> str:
    return today.vocabulary.kinds[ingredient.kind].carried


def _head(name: str) -> Head:
    return Head(f"carried#{name}", "", SOURCE, basis="carried")


def name_of(of: Measured) -> str:
    """The same measure has the same name, whoever asks for it."""
    match of:
        case Share():
            kind = of.of.name if isinstance(of.of, Pick) and of.of.field in ("kind", "group") else str(of.of)
            return f"share of {kind}" + (f" in {of.phase}" if of.phase else "")
        case Level():
            return f"level of {of.strength}" + (f" in {of.phase}" if of.phase else "")
        case Mean():
            return f"mean {of.figure.replace('_', ' ')}"


def bands(
    today: Today, *, floor_only: bool, stated: Collection[str]
) -> tuple[tuple[Rule, ...], tuple[Remark, ...]]:
    """Bands of 90 to 110 % (or floors of 90 %) for every measure nobody stated, and for every line of a kind
    that nothing else can stand for (an extract, a scent, a pigment).

    A measure that no allowed ingredient can carry any more is let go, and said.
    """
    rules: list[Rule] = []
    gone: list[Remark] = []
    for of in measures_of(today):
        if name_of(of) in stated:
            continue
        if any(_carries(of, i) for i in today.allowed.values()):
            rules.append(_banded(of, today, floor_only=floor_only))
        else:
            text = f"{first_upper(name_of(of))}: nothing allowed can carry it, so it is let go."
            gone.append(Remark(name_of(of), text))
    rules += [
        _line(ingredient, today, floor_only=floor_only)
        for ingredient in today.amounts.present
        if _carried(ingredient, today) == "line" and ingredient.id in today.allowed
    ]
    return tuple(rules), tuple(gone)


def _banded(of: Measured, today: Today, *, floor_only: bool) -> Rule:
    value = middle(of, today.amounts)
    low, high = value * (1 - BAND), None if floor_only else value * (1 + BAND)
    text = f"{first_upper(name_of(of))}: {reckoned(low, high, _unit(of))}, as in the base ({about(value)})."
    return replace(of, head=replace(of.head, sentence=text), low=low, high=high)


def _line(ingredient: Ingredient, today: Today, *, floor_only: bool) -> Amount:
    value = today.amounts.of(ingredient.id)
    low, high = value * (1 - BAND), None if floor_only else value * (1 + BAND)
    as_base = f"as in the base ({about(value)} %); nothing else stands for it"
    text = f"{ingredient.name}: {reckoned(low, high)}, {as_base}."
    return Amount(replace(_head(f"line-{ingredient.id}"), sentence=text), ingredient.id, low, high)


def floors_of_work(today: Today) -> tuple[Rule, ...]:
    """Floors of 90 % for every kind, and for every main role: the cheapest jar still does the same work."""
    rules: list[Rule] = []
    base = [i for i in today.amounts.present if _carried(i, today) == "share"]
    for kind in sorted({i.kind for i in base}):
        rules += _floor(
            f"kind-{kind}", f"share of {kind}", {n for n, i in _all(today) if i.kind == kind}, today
        )
    for role in sorted({i.roles[0] for i in base if i.roles} - PASSING_ROLES):
        able = {n for n, i in _all(today) if i.roles[:1] == (role,)}
        rules += _floor(f"role-{role}", f"share of what is there for {role.replace('-', ' ')}", able, today)
    return tuple(rules)


def _all(today: Today) -> list[tuple[str, Ingredient]]:
    return sorted({**{i.id: i for i in today.amounts.present}, **today.allowed}.items())


def _floor(name: str, label: str, members: Collection[str], today: Today) -> list[Rule]:
    if not set(members) & set(today.allowed):
        return []
    value = sum((today.amounts.of(member) for member in members), Fraction(0))
    low = value * (1 - BAND)
    text = f"{first_upper(label)}: {reckoned(low, None)}, nine tenths of the base."
    of = AnyOf(tuple(Pick("ingredient", member) for member in sorted(members)))
    return [Share(replace(_head(name), sentence=text), of, low)]


def _unit(of: Measured) -> str:
    return "%" if not isinstance(of, Level) else "g xanthan per 100 g"


def _carries(of: Measured, ingredient: Ingredient) -> bool:
    match of:
        case Share():
            return isinstance(of.of, Pick) and of.of.name == ingredient.group
        case Level():
            return ingredient.figure(of.strength) is not None
        case Mean():
            return ingredient.figure(of.figure) is not None


def pulls_of(today: Today, rules: Collection[Rule]) -> tuple[Pull, ...]:
    """Carried measures as pulls: towards the middle of a stated window, else towards the base."""
    windows = {name_of(r): r for r in rules if isinstance(r, Share | Level | Mean) and r.head.rank is None}
    found = []
    thick = any(isinstance(r, Thickness) and r.predicted and r.head.rank is None for r in rules)
    for of in measures_of(today):
        if thick and isinstance(of, Level) and name_of(of) not in windows:
            continue
        if not any(_carries(of, i) for i in today.allowed.values()):
            continue
        target = middle(of, today.amounts)
        half = target * BAND
        window = windows.get(name_of(of))
        if (
            window is not None
            and window.low is not None
            and window.high is not None
            and window.high > window.low
        ):
            half = (window.high - window.low) / 2
            if not window.low <= target <= window.high:
                target = (window.low + window.high) / 2
        if half > 0:
            found.append(Pull(name_of(of), of, target, half))
    return tuple(found)


def floors(
    names: Collection[str], today: Today, *, why: str, origin: str, loosened: Collection[str]
) -> tuple[Rule, ...]:
    """Named lines not below the base; those that had to be loosened are left alone."""
    rules = []
    for name in sorted(set(names) & set(today.allowed) - set(loosened)):
        value = today.amounts.of(name)
        if value:
            label = today.allowed[name].name
            head = Head(
                f"{origin}#{name}",
                f"{label}: at least {number(value)} %, as in the base ({why}).",
                SOURCE,
                why,
                "carried",
            )
            rules.append(Amount(head, name, value, None))
    return tuple(rules)


def few_newcomers() -> Newcomers:
    text = f"At most {MOST_NEWCOMERS} ingredients that the base does not have."
    return Newcomers(
        Head("carried#newcomers", text, "house custom: few new things at once", basis="carried"),
        MOST_NEWCOMERS,
    )
