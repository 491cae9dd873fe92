"""Rules as formulas and briefs write them, one entry of `targets:` or `keep:` each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from optimiser.domain.ingredient import Place
from optimiser.domain.rules import FORECASTS, MICROBES
from optimiser.domain.wanted import Span, Topic, Wanted
from optimiser.loading.entries import Entries, describe
from optimiser.loading.findings import shown
from optimiser.loading.made import made_of
from optimiser.loading.names import Reader
from optimiser.loading.spans import LIMITS, LIMITS_OF, SIDES, Scale, read_span
from optimiser.loading.yaml_nodes import Items, Keys, Node, Text
from optimiser.units.numbers import read_number, show_number
from optimiser.units.quantities import read_price, read_with_unit

TOPICS: tuple[Topic, ...] = (
    "share",
    "level",
    "mean",
    "ratio",
    "ph",
    "covers",
    "reaches_water",
    "thickness",
    "free_liquid",
    *FORECASTS,
    "response",
    "cost",
    "newcomers",
    "lines",
)
COMMON = ("name", "why", "source", "wish", "surely", "in")
INSIDE: dict[str, tuple[str, ...]] = {
    "thickness": (*LIMITS, "at"),
    "free_liquid": ("at_least", "at_most", "between"),
    **dict.fromkeys(FORECASTS, ("at_least", "at_most", "between")),
    "buffer": ("at_least",),
    "hlb": ("within",),
    "undissolved": ("at_most",),
    "allergens": ("at_most",),
    "response": SIDES,
}
"""Topics whose limits stand inside their own braces, with the words allowed there."""
HIGHEST = {"share": 100, "keep": 100, "ph": 14}


FORETOLD: dict[Topic, Scale] = {
    "water_activity": Scale("water_activity", "-", 1),
    "frost_proof": Scale("frost_proof", "°C", 60),
    "powder_volume": Scale("powder_volume", "%", 100),
    "buffer": Scale("buffer", "mmol/kg"),
    "undissolved": Scale("undissolved", "%", 100),
    "density": Scale("density", "g/ml", 10),
}


def read_targets(nodes: Iterable[Node], reader: Reader, phases: tuple[str, ...] | None) -> tuple[Wanted, ...]:
    """Every entry of `targets:`; `phases` are the formula's own, None where any may stand after `in:`."""
    found = [wanted for node in nodes if (wanted := _target(node, reader, phases)) is not None]
    _refuse_twins(found, reader)
    return tuple(found)


def _refuse_twins(found: list[Wanted], reader: Reader) -> None:
    seen: dict[str, Wanted] = {}
    for wanted in found:
        if wanted.label in seen:
            first = seen[wanted.label].place.line
            reader.findings.add(
                wanted.place.line,
                wanted.label,
                "each rule name once",
                f"it again (first on line {first})",
                "give one of them another name:",
            )
        seen.setdefault(wanted.label, wanted)


def _target(node: Node, reader: Reader, phases: tuple[str, ...] | None) -> Wanted | None:
    if not isinstance(node, Keys):
        reader.findings.add(
            node.line, "targets", "a rule such as {share: {kind: clay}, at_least: 18 %}", describe(node)
        )
        return None
    topics = [topic for topic in TOPICS if topic in node.values]
    if len(topics) != 1:
        known = "one of " + ", ".join(f"{topic}:" for topic in TOPICS)
        entries = Entries.of(node, "rule", TOPICS + LIMITS + COMMON, reader.findings)
        if entries is not None and all(name in TOPICS + LIMITS + COMMON for name in node.values):
            reader.findings.add(node.line, "rule", known, ", ".join(topics) or "none")
        return None
    topic = topics[0]
    entries = Entries.of(
        node,
        f"rule {topic}",
        (topic, *(() if topic in INSIDE else LIMITS_OF.get(topic, LIMITS)), *COMMON),
        reader.findings,
    )
    if entries is None:
        return None
    wanted = _subject(topic, entries, reader)
    if wanted is None:
        return None
    return _with_head(wanted, entries, reader, phases)


def _with_head(wanted: Wanted, entries: Entries, reader: Reader, phases: tuple[str, ...] | None) -> Wanted:
    rank = read_rank(entries, reader)
    phase = entries.text("in") or None
    if phase is not None and wanted.topic not in ("share", "level", "ratio"):
        reader.findings.add(
            entries.line("in"), entries.entry, "in: beside share, level or ratio only", shown(phase)
        )
    elif phase is not None and phases is not None:
        reader.findings.word(entries.line("in"), entries.entry, phase, phases, "a phase of this formula")
    label = entries.text("name") or wanted.label + (f" in phase {phase}" if phase else "")
    return replace(
        wanted,
        label=label,
        phase=phase,
        rank=rank,
        surely=entries.yes("surely"),
        why=entries.text("why"),
        source=entries.text("source"),
        place=Place(reader.findings.file, entries.node.line),
    )


def read_rank(entries: Entries, reader: Reader) -> int | None:
    """The rank after `wish:`, None for a must."""
    text = entries.text("wish")
    if not text:
        return None
    if text.isascii() and text.isdigit() and 1 <= int(text[:4]) <= 99:
        return int(text[:4])
    reader.findings.add(entries.line("wish"), entries.entry, "a rank from 1 to 99 after wish:", shown(text))
    return None


def _subject(topic: Topic, entries: Entries, reader: Reader) -> Wanted | None:
    """The measure a rule speaks of with its limits, its label made from both."""
    node = entries.node.values[topic]
    match topic:
        case "share":
            of = reader.selector(node, entries.entry)
            span = read_span(entries, reader, Scale(topic, "%", 100))
            return Wanted(topic, f"share of {of}", span, of=of) if of and span else None
        case "level" | "mean":
            return _property(topic, node, entries, reader)
        case "ratio":
            return _ratio(node, entries, reader)
        case "covers" | "reaches_water":
            return _covers(topic, entries, reader)
        case "ph":
            nested = _nested(topic, node, entries, reader)
            span = read_span(nested, reader, Scale(topic, "pH", 14)) if nested else None
            return Wanted(topic, "pH", span) if span else None
        case "free_liquid":
            nested = _nested(topic, node, entries, reader)
            span = read_span(nested, reader, Scale(topic, "%", 100)) if nested else None
            return Wanted(topic, "free liquid", span) if span else None
        case "hlb":
            nested = _nested(topic, node, entries, reader)
            return _hlb(nested, reader) if nested else None
        case "water_activity" | "frost_proof" | "powder_volume" | "buffer" | "undissolved" | "density":
            nested = _nested(topic, node, entries, reader)
            span = read_span(nested, reader, FORETOLD[topic]) if nested else None
            return Wanted(topic, topic.replace("_", " "), span) if span else None
        case "thickness":
            return _thickness(node, entries, reader)
        case "response":
            return _response(node, entries, reader)
        case _:
            return _counted(topic, node, entries, reader)


def _response(node: Node, entries: Entries, reader: Reader) -> Wanted | None:
    """`{softness: {at_least: 7}}`: one response of the worktable and its limits."""
    if not isinstance(node, Keys) or len(node.values) != 1:
        reader.findings.add(
            node.line, entries.entry, "one response such as {softness: {at_least: 7}}", describe(node)
        )
        return None
    ((name, limits),) = node.values.items()
    known = reader.names.responses
    if not reader.findings.word(
        node.lines[name], entries.entry, name, known, "a response of responses/, written by `trial fit`"
    ):
        return None
    nested = Entries.of(limits, entries.entry, (*SIDES, "made"), reader.findings)
    if nested is None:
        return None
    made = made_of(nested, reader, name)
    span = read_span(nested, reader, Scale("response", known[name] or "-"))
    if span is None or made is None:
        return None
    how = "".join(f", {setting} {show_number(value, 4)}" for setting, value in made)
    return Wanted("response", f"response {name}{how}", span, name=name, made=made)


def _hlb(nested: Entries, reader: Reader) -> Wanted | None:
    """How far the emulsifiers may be from what the oils ask for."""
    text = nested.text("within", needed=True)
    if not text:
        return None
    read = reader.findings.number(
        nested.line("within"), nested.entry, read_number(text, decimal=reader.names.decimal)
    )
    if read is not None and read < 0:
        reader.findings.add(nested.line("within"), nested.entry, "a distance of zero or more", shown(text))
        return None
    return None if read is None else Wanted("hlb", "HLB", Span(high=read))


def _property(topic: Topic, node: Node, entries: Entries, reader: Reader) -> Wanted | None:
    known = reader.names.levels if topic == "level" else reader.names.means
    if not isinstance(node, Text):
        reader.findings.add(node.line, entries.entry, "the name of a property", describe(node))
        return None
    what = "a level" if topic == "level" else "a property that can be summed"
    if not reader.findings.word(node.line, entries.entry, node.text, known, what):
        return None
    span = read_span(entries, reader, Scale(topic, "%" if topic == "level" else known[node.text]))
    return Wanted(topic, f"{topic} {node.text}", span, name=node.text) if span else None


def _ratio(node: Node, entries: Entries, reader: Reader) -> Wanted | None:
    if not isinstance(node, Items) or len(node.items) != 2:
        reader.findings.add(node.line, entries.entry, "two selectors, top and bottom", describe(node))
        return None
    top, bottom = (reader.selector(item, entries.entry) for item in node.items)
    span = read_span(entries, reader, Scale("ratio", "-"))
    if top is None or bottom is None or span is None:
        return None
    return Wanted("ratio", f"ratio of {top} to {bottom}", span, of=top, over=bottom)


def _covers(topic: Topic, entries: Entries, reader: Reader) -> Wanted | None:
    groups = [
        text
        for text, line in entries.texts(topic)
        if reader.findings.word(line, entries.entry, text, MICROBES, "a group of microbes")
    ]
    ordered = [group for group in MICROBES if group in groups]
    label = (
        f"{topic.replace('_', ' ')}: {', '.join(ordered)}"
        if topic != "covers"
        else f"covers {', '.join(ordered)}"
    )
    return Wanted(topic, label, name=" ".join(ordered)) if ordered else None


def _thickness(node: Node, entries: Entries, reader: Reader) -> Wanted | None:
    """Limits in Pa.s or against the base, and the shear they are meant at (1/s unless said)."""
    nested = _nested("thickness", node, entries, reader)
    if nested is None:
        return None
    shear = _shear(nested, reader)
    span = read_span(nested, reader, Scale("thickness", "Pa.s"))
    if span is None or shear is None:
        return None
    if span.within_points is not None:
        fix = 'write "30 % of base", or two limits in Pa.s'
        reader.findings.add(nested.line("within"), nested.entry, "a part of the base", "points", fix)
        return None
    label = "thickness" if shear == 1 else f"thickness at {shear}/s"
    return Wanted("thickness", label, span, shear=shear)


def _shear(nested: Entries, reader: Reader) -> Fraction | None:
    """Per second; 1 where nothing is said."""
    text = nested.text("at")
    if not text:
        return Fraction(1)
    read = read_with_unit(text, reader.names.decimal, "/s")
    value = reader.findings.number(nested.line("at"), nested.entry, read)
    if value is not None and not value:
        reader.findings.add(nested.line("at"), nested.entry, "a shear above 0, such as 1/s", shown(text))
        return None
    return value


def _nested(topic: Topic, node: Node, entries: Entries, reader: Reader) -> Entries | None:
    return Entries.of(node, entries.entry, INSIDE.get(topic) or LIMITS_OF[topic], reader.findings)


def _counted(topic: Topic, node: Node, entries: Entries, reader: Reader) -> Wanted | None:
    """cost, newcomers, lines: an upper limit."""
    nested = _nested(topic, node, entries, reader)
    if nested is None:
        return None
    text = nested.text("at_most", needed=True)
    if not text:
        return None
    decimal = reader.names.decimal
    price = topic == "cost"
    read = read_price(text, decimal, reader.names.currency) if price else read_number(text, decimal=decimal)
    high = reader.findings.number(nested.line("at_most"), entries.entry, read)
    if high is None:
        return None
    if not price and (high.denominator != 1 or high < 0):
        reader.findings.add(nested.line("at_most"), entries.entry, "a whole number", shown(text))
        return None
    return Wanted(topic, topic, Span(high=high))


def read_keep(nodes: Iterable[Node], reader: Reader) -> tuple[Wanted, ...]:
    """Every entry of `keep:`, an ingredient with limits; without limits at least what the base has."""
    found = []
    for node in nodes:
        entries = Entries.of(
            node, "keep", ("ingredient", *LIMITS, "name", "why", "source", "wish", "surely"), reader.findings
        )
        if entries is None:
            continue
        word = entries.text("ingredient", needed=True)
        name = reader.ingredient(word, entries.line("ingredient"), "keep") if word else None
        bare = not any(limit in entries for limit in LIMITS)
        span = Span(low_part=Fraction(1)) if bare else read_span(entries, reader, Scale("keep", "%", 100))
        if name is None or span is None:
            continue
        found.append(_with_head(Wanted("keep", f"keep {name}", span, name=name), entries, reader, None))
    return tuple(found)


def measure_of(wanted: Wanted) -> tuple[object, ...]:
    """What a rule measures: a brief's rule replaces its parent's on the same measure."""
    return (wanted.topic, wanted.of, wanted.over, wanted.name, wanted.phase, wanted.shear)
