"""All names that the files of a worktable may speak of, and how a written word finds its name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from optimiser.domain.ingredient import Ingredient
from optimiser.domain.response import Setting
from optimiser.domain.selector import FIELDS, AnyOf, Field, Pick, Selector
from optimiser.loading.findings import Findings, shown
from optimiser.loading.yaml_nodes import Items, Keys, Node, Text
from optimiser.problems import did_you_mean
from optimiser.units.numbers import DecimalMark


@dataclass(frozen=True, slots=True)
class NotFound:
    """A word that names no ingredient, or several; `hint` is ready to print."""

    word: str
    hint: str
    near: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Names:
    """Names known while the files are read. `words` maps an id, name or alias (any case) to its ids,
    `substances` the plain form of a name to the name.

    With `any_ingredient` the table of ingredients could not be read: every name passes, of a substance too.
    """

    groups_of: Mapping[str, str]
    roles: frozenset[str]
    flags: frozenset[str]
    levels: Mapping[str, str]
    means: Mapping[str, str]
    ingredients: frozenset[str] = frozenset()
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    substances: Mapping[str, str] = field(default_factory=dict)
    densities: Mapping[str, Fraction] = field(default_factory=dict)
    decimal: DecimalMark = "point"
    currency: str = "EUR"
    any_ingredient: bool = False
    responses: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, tuple[Setting, ...]] = field(default_factory=dict)

    @property
    def groups(self) -> frozenset[str]:
        return frozenset(self.groups_of.values())

    def known(self, field: Field) -> frozenset[str]:
        match field:
            case "kind":
                return frozenset(self.groups_of) | self.groups
            case "group":
                return self.groups
            case "role":
                return self.roles
            case "flag":
                return self.flags
            case "ingredient":
                return self.ingredients
            case "substance":
                return frozenset(self.substances.values())


Hint = Callable[[str, Iterable[str]], str]


def find(words: Mapping[str, tuple[str, ...]], word: str, hinting: Hint = did_you_mean) -> str | NotFound:
    """The id that `word` names: an id, a name or an alias in any case."""
    found = words.get(plain(word), ())
    if len(found) == 1:
        return found[0]
    if found:
        return NotFound(word, f"it may be {' or '.join(found)}: write the id", found)
    hint = hinting(plain(word), words)
    near = words.get(hint.removeprefix('did you mean "').removesuffix('"?'), ()) if hint else ()
    also = f" ({', '.join(near)})" if near and f'"{near[0]}"' not in hint else ""
    return NotFound(word, hint + also, near)


@lru_cache(maxsize=4096)
def plain(word: str) -> str:
    """A word for comparison: any case, single blanks."""
    return " ".join(word.casefold().split())


def by_plain_form(names: Iterable[str]) -> Mapping[str, str]:
    """Names by their plain form; of two alike the later in the alphabet."""
    return MappingProxyType({plain(name): name for name in sorted(names)})


def words_of(named: Iterable[tuple[str, str, tuple[str, ...]]]) -> Mapping[str, tuple[str, ...]]:
    """Words from (id, name, aliases); an id outranks a name or alias of another ingredient."""
    called: dict[str, set[str]] = {}
    entries = list(named)
    for identifier, name, aliases in entries:
        for word in {plain(name), *map(plain, aliases)} - {""}:
            called.setdefault(word, set()).add(identifier)
    words = {word: tuple(sorted(ids)) for word, ids in called.items()}
    words.update({plain(identifier): (identifier,) for identifier, _, _ in entries})
    return MappingProxyType(words)


def find_ingredient(ingredients: Mapping[str, Ingredient], word: str) -> str | NotFound:
    """The id of the ingredient that a person names by id, name or alias."""
    return find(words_of((one.id, one.name, one.aliases) for one in ingredients.values()), word)


@dataclass(frozen=True, slots=True)
class Reader:
    """What every reader of a file needs: the names, and where problems go."""

    names: Names
    findings: Findings

    def ingredient(self, word: str, line: int, entry: str, cell: str = "") -> str | None:
        """The id, or None with the problem noted."""
        found = find(self.names.words, word, self.findings.hint)
        if isinstance(found, str):
            return found
        if self.names.any_ingredient:
            return word
        self.findings.add(line, entry, "an ingredient of ingredients.csv", shown(word), found.hint, cell)
        return None

    def pick(self, field: str, name: str, line: int, entry: str, cell: str = "") -> Pick | None:
        if field not in FIELDS:
            self.findings.word(line, entry, field, FIELDS, "a selector", cell)
            return None
        kind: Field = field
        if kind == "ingredient":
            found = self.ingredient(name, line, entry, cell)
            return Pick(kind, found) if found else None
        if kind == "substance":
            return self._substance(name, line, entry, cell)
        known = self.names.known(kind)
        what = {"kind": "a kind or group", "group": "a group", "role": "a role", "flag": "a flag"}[kind]
        return Pick(kind, name) if self.findings.word(line, entry, name, known, what, cell) else None

    def _substance(self, name: str, line: int, entry: str, cell: str) -> Pick | None:
        known = self.names.substances
        if plain(name) in known:
            return Pick("substance", known[plain(name)])
        if self.names.any_ingredient:
            return Pick("substance", name)
        near = self.findings.hint(plain(name), known)
        expected = "a substance that the tables or the reference name"
        self.findings.add(line, entry, expected, shown(name), near, cell)
        return None

    def selector_text(self, text: str, line: int, entry: str, cell: str = "") -> Pick | None:
        """`kind:clay`, `substance:Citric Acid`."""
        field, colon, name = text.partition(":")
        if not colon or not name.strip():
            fields = ", ".join(f"{one}:" for one in FIELDS)
            self.findings.add(line, entry, f"a selector ({fields})", shown(text), "such as kind:clay", cell)
            return None
        return self.pick(field.strip(), name.strip(), line, entry, cell)

    def selector(self, node: Node, entry: str) -> Selector | None:
        """`{kind: clay}` or `{any: [{…}, {…}]}`."""
        if isinstance(node, Text) and ":" in node.text:
            return self.selector_text(node.text, node.line, entry)
        if not isinstance(node, Keys) or len(node.values) != 1:
            self.findings.add(node.line, entry, "one selector such as {kind: clay}", "something else")
            return None
        ((field, value),) = node.values.items()
        if field == "any":
            return self._any(value, entry)
        if not isinstance(value, Text):
            self.findings.add(
                node.line,
                entry,
                f"one name after {field}:",
                "a list or a mapping",
                "use any: [{…}, {…}] for several",
            )
            return None
        return self.pick(field, value.text, node.lines[field], entry)

    def _any(self, value: Node, entry: str) -> Selector | None:
        if not isinstance(value, Items) or not value.items:
            self.findings.add(value.line, entry, "a list of selectors after any:", "something else")
            return None
        members = [self.selector(item, entry) for item in value.items]
        picks: list[Pick] = []
        for member in members:
            if member is None:
                return None
            picks.extend(member.picks if isinstance(member, AnyOf) else (member,))
        return AnyOf(tuple(picks))
