"""What nobody has told of the ingredients that a conflict speaks of, and where to fill it in."""

from __future__ import annotations

from collections.abc import Iterable

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Remark, Request, SetAside
from optimiser.domain.rules import Absent, Acidity, Amount, Covers, Legal, Level, Needs, Rule, Share, UseRange
from optimiser.domain.selector import AnyOf, Pick, Selector, matches

FILES = {
    "make-up": "composition.csv",
    "price": "pack_size and pack_price in ingredients.csv",
    "way of adding": "process.csv",
    "value for": "properties.csv",
    "thickening": "properties.csv",
    "charge": "composition.csv or properties.csv",
    "holds back": "properties.csv",
}
"""Where what is lacking is filled in, by a word of the reason why an ingredient was set aside."""


def unknown_of(request: Request, rules: Iterable[Rule]) -> tuple[Remark, ...]:
    """One remark for each thing that is not known; `source` is the file and line of the ingredient."""
    found: dict[tuple[str, str], Remark] = {}
    for rule in rules:
        for remark in (*_set_aside(request, rule), *_of_lines(request, rule)):
            found.setdefault((remark.about, remark.text), remark)
    return tuple(found[key] for key in sorted(found))


def _set_aside(request: Request, rule: Rule) -> list[Remark]:
    """An ingredient the rule names, which was not considered because something of it is not known."""
    named = _named(rule)
    return [
        _remark(one.ingredient, f"{one.name or one.ingredient} was not considered: {one.reason}.", one)
        for one in request.set_aside
        if one.ingredient in named
    ]


def _named(rule: Rule) -> set[str]:
    """Ingredients that a rule speaks of by name."""
    match rule:
        case Amount() | UseRange():
            return {rule.ingredient}
        case Share():
            return _by_name(rule.of)
        case Needs():
            return _by_name(rule.needs) | _by_name(rule.when)
        case _:
            return set()


def _by_name(selector: Selector) -> set[str]:
    picks = selector.picks if isinstance(selector, AnyOf) else (selector,)
    return {pick.name for pick in picks if pick.field == "ingredient"}


def _remark(about: str, text: str, aside: SetAside) -> Remark:
    where = next((place for word, place in FILES.items() if word in aside.reason), "")
    place = f"{aside.place.file}:{aside.place.line}" if aside.place.line else aside.place.file
    return Remark(about, f"{text} Fill in {where}." if where else text, place)


def _of_lines(request: Request, rule: Rule) -> list[Remark]:
    """What the rule needs to know of the base's own lines and of what was asked for, and nobody told."""
    own = [request.ingredients[name] for name in sorted(request.formula.ingredients)]
    match rule:
        case Absent():
            return [_flagged(one, rule.of) for one in own if matches(rule.of, one) is None]
        case Level() if not rule.strength.startswith("least_dose_"):
            return [
                _lacks(one, f"{rule.strength.replace('_', ' ')} strength", f"{one.id},{rule.strength},…")
                for one in own
                if one.figure(rule.strength) is None and "viscosity-controlling" in one.roles
            ]
        case Covers():
            return [
                _lacks(one, f"least dose against {rule.group}", f"{one.id},least_dose_{rule.group},…")
                for one in own
                if one.group == "preservative" and not _any_dose(one)
            ]
        case Legal():
            return [_no_make_up(one) for one in own if one.composition is None]
        case Acidity() if not rule.predicted:
            return [r for r in request.by_hand if r.about in request.ingredients and "predicted" in r.text]
        case _:
            return []


def _any_dose(one: Ingredient) -> bool:
    return any(name.startswith("least_dose_") for name in one.figures)


def _where(one: Ingredient) -> str:
    return f"{one.place.file}:{one.place.line}" if one.place.line else one.place.file


def _lacks(one: Ingredient, what: str, row: str) -> Remark:
    return Remark(
        one.id, f"{one.name} has no {what}, so it counts as none. Add {row} to properties.csv.", _where(one)
    )


def _flagged(one: Ingredient, of: Selector) -> Remark:
    picks = of.picks if isinstance(of, AnyOf) else (of,)
    unsaid = [pick for pick in picks if matches(pick, one) is None]
    flags = [pick.name for pick in unsaid if isinstance(pick, Pick) and pick.field == "flag"]
    if not flags:
        return _no_make_up(one)
    named = " or ".join(flags)
    text = f"Nobody has said whether {one.name} is {named}, so it counts as if it were."
    return Remark(one.id, f"{text} Add a line for {one.id} to flags.csv.", _where(one))


def _no_make_up(one: Ingredient) -> Remark:
    text = f"What {one.name} is made of is not known, so it may hold anything. Fill in composition.csv."
    return Remark(one.id, text, _where(one))
