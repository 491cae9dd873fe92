"""What a person means by a word: one ingredient, or several at once by flag, kind, role or substance."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.selector import FIELDS, Field, Pick, Selector, matches
from optimiser.domain.vocabulary import Vocabulary
from optimiser.errors import UsageError
from optimiser.problems import did_you_mean
from optimiser.requests.sources import Sources
from optimiser.workflows.worktable import find, find_or_none, told_of

SEVERAL = "flag:, kind:, group:, role: or substance: and a name, such as flag:tree-nut"
MEANING: dict[str, str] = {
    "flag": "all that is flagged so",
    "kind": "all of that kind",
    "role": "all with that role",
}
MOST_NAMED = 4
LEAST_LETTERS = 3
ALIKE = 0.8


def ingredient(word: str, sources: Sources) -> Ingredient:
    """The one ingredient that a person names. Raises UsageError; of a word for several it names some."""
    known = sources.worktable.ingredients
    picks = () if ":" in word else named(word, sources.vocabulary)
    if find_or_none(word, known) is not None or not picks:
        return find(word, known, "ingredient")
    every = [one.id for one in known.values() if any(matches(pick, one) for pick in picks)]
    which = " or ".join(written(pick) for pick in picks)
    fix = f"name one here, of {told_of(every)}" if every else "name one here"
    raise UsageError(f'"{word}" is no single ingredient', f"{fix}; --leave-out {which} takes them all out")


def selector(word: str, sources: Sources) -> Selector:
    """`flag:strong-clay`, `role:abrasive`, or an ingredient by id, name or alias."""
    field, colon, name = word.partition(":")
    if not colon:
        return Pick("ingredient", _one_of(word, sources).id)
    if field not in FIELDS:
        hint = did_you_mean(field, FIELDS) or f"use {', '.join(FIELDS)}"
        raise UsageError(f'"{field}" is nothing to choose by', hint)
    known = _known(field, sources)
    if known is not None and name not in known:
        hint = _to_write(named_or_near(name, sources.vocabulary)) or did_you_mean(name, known)
        hint = hint or f"write {field}: and a name, such as {field}:{min(known)}"
        raise UsageError(f'no {field} is called "{name}"', hint)
    if field == "substance":
        return Pick(field, _substance(name, sources))
    return Pick(field, name)


def _substance(name: str, sources: Sources) -> str:
    """A substance of the table or of the limits; a misspelt one would leave out nothing and say nothing."""
    known = {row.substance for row in sources.limits}
    for ingredient in sources.worktable.ingredients.values():
        known |= {ingredient.inci, *(part.substance for part in ingredient.composition or ())}
    by_case = {word.casefold(): word for word in sorted(known - {""})}
    if name.casefold() not in by_case:
        hint = did_you_mean(name, by_case)
        raise UsageError(f'no substance is called "{name}"', hint or "give its name on the label (INCI)")
    return by_case[name.casefold()]


def _known(field: Field, sources: Sources) -> frozenset[str] | None:
    vocabulary = sources.vocabulary
    match field:
        case "kind":
            return frozenset(vocabulary.kinds) | set(vocabulary.groups)
        case "group":
            return frozenset(vocabulary.groups)
        case "role":
            return frozenset(vocabulary.roles)
        case "flag":
            return frozenset(vocabulary.flags)
        case "ingredient":
            return frozenset(sources.worktable.ingredients)
        case "substance":
            return None


def _one_of(word: str, sources: Sources) -> Ingredient:
    """The ingredient; the fault says first what is flagged, of a kind or has a role of that name."""
    known = sources.worktable.ingredients
    found = find_or_none(word, known)
    if found is not None:
        return found
    exact = named(word, sources.vocabulary)
    words = [name for one in known.values() for name in (one.id, one.name, *one.aliases)]
    near = "" if exact else did_you_mean(word, words)
    several = _to_write(exact or named_or_near(word, sources.vocabulary) or alike(word, sources.vocabulary))
    fix = f"{near} Or {several}" if near and several else near or several
    fix = fix or f"there are: {told_of(known)}; for several at once write {SEVERAL}"
    raise UsageError(f'no ingredient is called "{word}"', fix)


def written(pick: Pick) -> str:
    return f"{pick.field}:{pick.name}"


def _to_write(picks: Sequence[Pick]) -> str:
    """`write flag:palm or flag:shea (all that is flagged so) or kind:oil (all of that kind)`."""
    told = []
    for field, meaning in MEANING.items():
        names = [written(pick) for pick in picks if pick.field == field]
        told += [f"{' or '.join(names)} ({meaning})"] if names else []
    return f"write {' or '.join(told)}" if told else ""


def named(word: str, vocabulary: Vocabulary) -> tuple[Pick, ...]:
    """The flag, kind and role that the word names, in the singular or plural."""
    own = _forms(word)
    return tuple(pick for pick, _ in _picks(vocabulary) if own & _forms(pick.name))


def named_or_near(word: str, vocabulary: Vocabulary) -> tuple[Pick, ...]:
    """What the word names; else what has it as a part or at its end, and flags that are explained by it."""
    own = {form for form in _forms(word) if len(form) >= LEAST_LETTERS}
    every = _picks(vocabulary)
    holding = [pick for pick, _ in every if own & set(pick.name.split("-")) or pick.name.endswith((*own,))]
    told = [pick for pick, meaning in every if pick.field == "flag" and own & set(meaning.split())]
    return named(word, vocabulary) or tuple(dict.fromkeys((*holding, *told)))[:MOST_NAMED]


def alike(word: str, vocabulary: Vocabulary) -> tuple[Pick, ...]:
    """What is spelt almost so."""
    every = [pick for pick, _ in _picks(vocabulary)]
    near = get_close_matches(
        "-".join(word.casefold().split()), sorted({pick.name for pick in every}), 1, ALIKE
    )
    return tuple(pick for pick in every if pick.name in near)


def _picks(vocabulary: Vocabulary) -> list[tuple[Pick, str]]:
    """Flags, kinds with their groups, and roles; with each what it means, in plain words.

    A kind also stands for the group of that name, so a group is written as a kind.
    """
    kinds = {name: kind.meaning for name, kind in vocabulary.kinds.items()}
    groups = dict.fromkeys(vocabulary.groups, "")
    plain = str.maketrans(dict.fromkeys(",;:()", " "))
    return [
        *((Pick("flag", name), told.translate(plain).casefold()) for name, told in vocabulary.flags.items()),
        *((Pick("kind", name), told) for name, told in (groups | kinds).items()),
        *((Pick("role", name), told) for name, told in vocabulary.roles.items()),
    ]


def _forms(word: str) -> set[str]:
    """A word as names are spelt, with its singular and its plural."""
    one = "-".join(word.casefold().replace("_", " ").replace("-", " ").split())
    if not one:
        return set()
    tails = (("s", ""), ("es", ""), ("ies", "y"))
    return {one, f"{one}s", *(one.removesuffix(old) + new for old, new in tails if one.endswith(old))} - {""}
