"""What rules are called where several stand together: each by a name of its own, without its limits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence

from optimiser.domain.rules import Acidity, LineCount, Newcomers, Rule

WHOSE: Mapping[str, str] = {
    "formulas": "by the formula",
    "asked": "asked here",
    "carried": "as in the base",
    "hero": "for the front label",
    "preservative": "preservation is not thinned",
    "dosed": "for the reading",
    "range": "the supplier's range",
    "trials": "where the trials know it",
    "carrier": "common practice",
    "house": "common practice",
}
"""Whose rule it is, by how its id begins."""
SAME_WORK = ("kind-", "role-")
CARRIED: Mapping[str, str] = {
    "share-": "share of {}",
    "kind-": "share of {} (for the same work)",
    "role-": "share of what is there for {}",
    "level-": "level of {}",
    "mean-": "mean {}",
}


def label(rule: Rule) -> str:
    """What a rule is called in a sentence: what its own sentence begins with, without its limits."""
    if isinstance(rule, Newcomers):
        return "New ingredients"
    if isinstance(rule, LineCount):
        return "Ingredients in all"
    if isinstance(rule, Acidity):
        return "pH, set at the table by reading"
    return rule.head.sentence.partition(": ")[0].rstrip(".")


def names_of(rules: Iterable[Rule]) -> dict[str, str]:
    """The name of each rule by its id; where two would be called the same, with whose rule it is."""
    every = tuple(rules)
    names = told_apart([label(rule) for rule in every], every)
    return {rule.head.id: name for rule, name in zip(every, names, strict=True)}


def told_apart(texts: Sequence[str], rules: Sequence[Rule]) -> list[str]:
    """Texts about these rules; those that stand more than once say whose rule it is, or how it is called."""
    ways: tuple[Callable[[str], str], ...] = (whose, lambda rule_id: rule_id.partition("#")[2])
    found = list(texts)
    for way in ways:
        count = Counter(found)
        found = [
            text if count[text] == 1 else f"{text} ({way(rule.head.id)})"
            for text, rule in zip(found, rules, strict=True)
        ]
    return found


def whose(rule_id: str) -> str:
    """ "by the formula", "by the brief more clay", "as in the base"."""
    file, _, name = rule_id.partition("#")
    place, _, brief = file.partition("/")
    if place == "briefs":
        briefs = brief.replace("-", " ").split("+")
        return f"by the brief{'' if len(briefs) == 1 else 's'} {' and '.join(briefs)}"
    if place == "carried" and name.startswith(SAME_WORK):
        return "for the same work"
    return WHOSE.get(place, place)


def called(rule_id: str, named: Callable[[str], str]) -> str:
    """What a rule is called where only its id is known; `named` gives the name of an ingredient by its id."""
    file, _, name = rule_id.partition("#")
    if "/" in file or not name:
        return name or named(file)
    if file != "carried":
        known = named(name)
        return known.replace("-", " ") if known == name else f"{known} ({whose(rule_id)})"
    if name == "newcomers":
        return "new ingredients"
    if name.startswith("line-"):
        return f"{named(name.removeprefix('line-'))} ({whose(rule_id)})"
    for begin, words in CARRIED.items():
        if name.startswith(begin):
            return words.format(name.removeprefix(begin).replace("-", " "))
    return name.replace("-", " ")
