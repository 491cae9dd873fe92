"""Briefs from YAML, and how a brief takes over the briefs it builds on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TypeVar, get_args

from optimiser.domain.brief import AIMS, Aim, Brief, Instead, LeaveOut
from optimiser.domain.ingredient import Place
from optimiser.domain.selector import FIELDS
from optimiser.domain.wanted import Wanted
from optimiser.loading.entries import Entries
from optimiser.loading.findings import shown
from optimiser.loading.firm import read_firm
from optimiser.loading.names import Reader
from optimiser.loading.products import read_facts
from optimiser.loading.rules import measure_of, read_keep, read_rank, read_targets
from optimiser.loading.yaml_nodes import Keys, Node
from optimiser.problems import Problem

KEYS = (
    "name", "also", "product", "leave_out", "instead_of", "only_from", "keep", "targets", "accept", "aim",
    "firm",
)  # fmt: skip
SELECTORS = (*FIELDS, "any")

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Known:
    """Ids of the briefs and the clashes that a brief may name."""

    briefs: frozenset[str]
    clashes: frozenset[str]


def read_brief(identifier: str, node: Keys, reader: Reader, known: Known) -> Brief | None:
    """The brief, or None with its problems noted."""
    before = len(reader.findings.problems)
    entries = Entries.of(node, "brief", KEYS, reader.findings)
    if entries is None:
        return None
    brief = Brief(
        id=identifier,
        name=entries.text("name", needed=True),
        also=_parents(entries, known.briefs),
        product=MappingProxyType(read_facts(entries.get("product"), "brief", reader.findings)),
        leave_out=_some(_leave_out(item, reader) for item in entries.items("leave_out")),
        instead_of=_some(_instead(item, reader) for item in entries.items("instead_of")),
        only_from="shelf" if entries.choice("only_from", ("shelf",)) else "",
        targets=read_targets(entries.items("targets"), reader, None)
        + read_keep(entries.items("keep"), reader),
        accept=MappingProxyType(
            dict(_some(_accept(item, reader, known.clashes) for item in entries.items("accept")))
        ),
        aim=_aims(entries),
        place=Place(reader.findings.file, node.line),
        firm=read_firm(entries.get("firm"), "brief", reader.findings, reader.names.decimal),
    )
    return None if len(reader.findings.problems) > before else brief


def _some(found: Iterable[T | None]) -> tuple[T, ...]:
    return tuple(one for one in found if one is not None)


def _leave_out(node: Node, reader: Reader) -> LeaveOut | None:
    entries = Entries.of(node, "leave_out", (*SELECTORS, "name", "why", "source", "wish"), reader.findings)
    if entries is None:
        return None
    chosen = {field: value for field, value in entries.node.values.items() if field in SELECTORS}
    if not chosen and any(
        name not in (*SELECTORS, "name", "why", "source", "wish") for name in entries.node.values
    ):
        return None
    lines = {field: entries.line(field) for field in chosen}
    of = reader.selector(Keys(MappingProxyType(chosen), MappingProxyType(lines), node.line), "leave_out")
    if of is None:
        return None
    return LeaveOut(
        of,
        entries.text("name") or f"no {of}",
        entries.text("why"),
        entries.text("source"),
        read_rank(entries, reader),
        Place(reader.findings.file, node.line),
    )


def _instead(node: Node, reader: Reader) -> Instead | None:
    entries = Entries.of(node, "instead_of", ("out", "use"), reader.findings)
    if entries is None:
        return None
    ids = []
    for key in ("out", "use"):
        word = entries.text(key, needed=True)
        ids.append(reader.ingredient(word, entries.line(key), f"instead_of, {key}") if word else None)
    out, use = ids
    if out is None or use is None:
        return None
    if out == use:
        reader.findings.add(node.line, "instead_of", "two different ingredients", shown(out))
        return None
    return Instead(out, use, Place(reader.findings.file, node.line))


def _accept(node: Node, reader: Reader, clashes: frozenset[str]) -> tuple[str, str] | None:
    entries = Entries.of(node, "accept", ("clash", "why"), reader.findings)
    if entries is None:
        return None
    clash, why = entries.text("clash", needed=True), entries.text("why", needed=True)
    if clash and not reader.findings.word(
        entries.line("clash"), "accept", clash, clashes, "a clash of clashes.csv"
    ):
        return None
    return (clash, why) if clash and why else None


def _aims(entries: Entries) -> tuple[Aim, ...]:
    aims: list[Aim] = []
    for word, line in entries.texts("aim"):
        if entries.findings.word(line, "aim", word, AIMS, "an aim"):
            aims.extend(aim for aim in get_args(Aim) if aim == word and aim not in aims)
    return tuple(aims)


def _parents(entries: Entries, known: frozenset[str]) -> tuple[str, ...]:
    """The briefs named after `also:`, each of them known."""
    words = entries.texts("also")
    return tuple(
        word for word, line in words if entries.findings.word(line, "also", word, known, "a brief of briefs/")
    )


def circles(briefs: Mapping[str, Brief]) -> tuple[Problem, ...]:
    """One problem for each brief that builds on itself."""
    return tuple(
        Problem(
            brief.place.file,
            brief.place.line,
            "also",
            "briefs that do not build on this one",
            f"a circle through {', '.join(brief.also)}",
            "take one of them out of also:",
        )
        for brief in briefs.values()
        if brief.id in _ancestors(briefs, brief.id)
    )


def _ancestors(briefs: Mapping[str, Brief], start: str) -> set[str]:
    found: set[str] = set()
    waiting = list(briefs[start].also)
    while waiting:
        parent = waiting.pop()
        if parent in briefs and parent not in found:
            found.add(parent)
            waiting.extend(briefs[parent].also)
    return found


def resolve_brief(briefs: Mapping[str, Brief], identifier: str) -> Brief:
    """The brief with all it builds on taken over, parents first and each brief once.

    The child's product facts, aim and firmness win; lists are joined; a target on the same measure
    replaces the parent's. Raises KeyError for an unknown brief, ValueError for a circle.
    """
    child = briefs[identifier]
    chain = _lineage(briefs, identifier)
    product: dict[str, str] = {}
    accept: dict[str, str] = {}
    targets: tuple[Wanted, ...] = ()
    for brief in chain:
        product.update(brief.product)
        accept.update(brief.accept)
        renewed = {measure_of(wanted) for wanted in brief.targets}
        targets = tuple(one for one in targets if measure_of(one) not in renewed) + brief.targets
    return replace(
        child,
        product=MappingProxyType(product),
        leave_out=tuple(dict.fromkeys(one for brief in chain for one in brief.leave_out)),
        instead_of=tuple(dict.fromkeys(one for brief in chain for one in brief.instead_of)),
        only_from="shelf" if any(brief.only_from for brief in chain) else "",
        targets=targets,
        accept=MappingProxyType(accept),
        aim=next((brief.aim for brief in reversed(chain) if brief.aim), ()),
        firm=next((brief.firm for brief in reversed(chain) if brief.firm), None),
    )


def _lineage(briefs: Mapping[str, Brief], start: str) -> list[Brief]:
    """The brief and all it builds on, each once, parents before children."""
    order: list[str] = []
    open_ones: set[str] = set()
    waiting = [(start, False)]
    while waiting:
        name, parents_done = waiting.pop()
        if parents_done:
            order.append(name)
            open_ones.discard(name)
        elif name in open_ones:
            raise ValueError(f"the brief {name} builds on itself")
        elif name not in order:
            open_ones.add(name)
            waiting.append((name, True))
            waiting.extend((parent, False) for parent in reversed(briefs[name].also))
    return [briefs[name] for name in order]
