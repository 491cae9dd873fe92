"""Whether the pH can be predicted, and what that asks of newcomers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from optimiser.domain.request import Remark, SetAside, Slot
from optimiser.domain.rules import Acidity, Rule
from optimiser.requests import asked
from optimiser.requests.draft import Draft
from optimiser.requests.sentences import first_upper
from optimiser.requests.standing import excluded
from optimiser.science.acidity import solve_ph
from optimiser.science.charge import Unknown
from optimiser.science.formula import TURNS_TO_SOAP, profile_for, profiles_for, turns_to_soap


@dataclass(frozen=True, slots=True)
class Predicted:
    """Rules with their pH windows predicted where they can be, and the slots that remain."""

    rules: tuple[Rule, ...]
    slots: tuple[Slot, ...]
    aside: tuple[SetAside, ...]
    remarks: tuple[Remark, ...] = ()


def predict_ph(
    rules: Iterable[Rule],
    slots: tuple[Slot, ...],
    aside: tuple[SetAside, ...],
    made: Draft,
    dosed: Iterable[str],
) -> Predicted:
    """A window is predicted when every line of the base that may stay has a known charge.

    Newcomers without one are then set aside; where the base has a gap, or lies outside what can be predicted,
    the window is held by reading alone.
    """
    rules, dosed = tuple(rules), tuple(dosed)
    if not any(isinstance(rule, Acidity) for rule in rules):
        return Predicted(rules, slots, aside)
    gaps = _gaps(sorted(made.formula.ingredients), made)
    if gaps:
        return Predicted(
            rules, slots, aside, tuple(Remark(name, _told(name, why, made)) for name, why in gaps)
        )
    outside = _outside(made, dosed) or _soap(made)
    if outside:
        text = f"{outside}. So the pH is not predicted; the reading at the table decides."
        return Predicted(rules, slots, aside, (Remark("pH", text),))
    new = newcomers(slots, made)
    unknown = dict(_gaps(new, made))
    unknown |= {name: "with what is there it turns to soap" for name in new if _makes_soap(name, made)}
    more = tuple(_aside(name, why, made) for name, why in unknown.items())
    kept = tuple(slot for slot in slots if slot.ingredient not in unknown)
    acid = _acid_preservatives(kept, made)
    return Predicted(
        tuple(_predicted(rule, made, dosed, acid) if isinstance(rule, Acidity) else rule for rule in rules),
        kept,
        tuple(sorted((*aside, *more), key=lambda item: item.ingredient)),
    )


def newcomers(slots: Iterable[Slot], made: Draft) -> list[str]:
    """Ingredients that have a slot and that the base lacks, sorted."""
    return sorted({slot.ingredient for slot in slots} - made.formula.ingredients)


def without(found: Predicted, unknown: Mapping[str, str], what: str, made: Draft) -> Predicted:
    """Sets newcomers aside with which `what` could not be predicted; `unknown` says of each why."""
    more = (
        SetAside(
            name,
            f"no {what} could be predicted with it: {why}",
            made.ingredients[name].name,
            made.ingredients[name].place,
        )
        for name, why in unknown.items()
    )
    return replace(
        found,
        slots=tuple(slot for slot in found.slots if slot.ingredient not in unknown),
        aside=tuple(sorted((*found.aside, *more), key=lambda item: item.ingredient)),
    )


def _aside(name: str, why: str, made: Draft) -> SetAside:
    reason = f"its charge is not known, so no pH could be predicted: {why}"
    return SetAside(name, reason, made.ingredients[name].name, made.ingredients[name].place)


def _soap(made: Draft) -> str:
    """Fatty acid beside alkali turns to soap, which the charge balance does not hold."""
    return TURNS_TO_SOAP if turns_to_soap(made.amounts.present) else ""


def _makes_soap(name: str, made: Draft) -> bool:
    """A newcomer that would bring the other half of a soap."""
    return turns_to_soap((*made.amounts.present, made.ingredients[name]))


def _predicted(rule: Acidity, made: Draft, dosed: tuple[str, ...], preservatives: tuple[str, ...]) -> Acidity:
    """Where an acid preservative may count on the window, safety asks for it while one is there."""
    if rule.head.rank is not None:
        return replace(rule, predicted=True, adjusters=dosed)
    own = any(name in made.formula.ingredients for name in preservatives)
    head = replace(rule.head, basis="safety" if own else rule.head.basis)
    return replace(rule, head=head, predicted=True, adjusters=dosed, preservatives=preservatives)


def _acid_preservatives(slots: Iterable[Slot], made: Draft) -> tuple[str, ...]:
    """Acid preservatives of the base or among what may come, but for what a must leaves out."""
    gone = asked.gone(made)
    return tuple(
        name
        for name in sorted({slot.ingredient for slot in slots})
        if made.ingredients[name].kind == "preservative-acid" and not excluded(made.ingredients[name], gone)
    )


def _gaps(names: Iterable[str], made: Draft) -> list[tuple[str, str]]:
    constants = made.sources.constants
    profiles = [(name, profile_for(made.ingredients[name], constants)) for name in names]
    return [(name, profile.reason) for name, profile in profiles if isinstance(profile, Unknown)]


def _outside(made: Draft, dosed: tuple[str, ...]) -> str:
    """Why the base, with its dosed lines or without, lies outside what can be predicted; or nothing."""
    profiles = profiles_for(made.amounts.present, made.sources.constants)
    grams = {one.id: made.amounts.of(one.id) for one in made.amounts.present}
    bare = {name: share for name, share in grams.items() if name not in dosed}
    for pot in (grams, bare):
        found = solve_ph(pot, profiles)
        if found.ph is None or not found.valid:
            return first_upper("; ".join(found.why))
    return ""


def _told(name: str, why: str, made: Draft) -> str:
    return (
        f"{made.ingredients[name].name}: {why}. So the pH is not predicted; the reading at the table decides."
    )
