"""costs.yaml: packaging, labour, waste, offers."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from optimiser.domain.costs import ZERO, Costs, Jar, Labour, Offer, PackPart
from optimiser.loading.entries import Entries
from optimiser.loading.findings import shown
from optimiser.loading.names import Reader
from optimiser.loading.yaml_nodes import Keys, Node
from optimiser.units.numbers import NumberFault, read_number
from optimiser.units.quantities import read_amount, read_minutes, read_money, read_percent

KEYS = ("jar", "labour", "waste", "post", "offers")


def read_costs(node: Keys, reader: Reader) -> Costs:
    """The costs; what could not be read is noted and left out."""
    entries = Entries.of(node, "costs", KEYS, reader.findings)
    if entries is None:
        return Costs()
    return Costs(
        jar=_jar(entries, reader),
        labour=_labour(entries, reader),
        waste=_part(entries, "waste", reader),
        post=_money(entries, "post", reader) or ZERO,
        offers=tuple(one for item in entries.items("offers") if (one := _offer(item, reader))),
    )


def _jar(entries: Entries, reader: Reader) -> Jar | None:
    node = entries.get("jar")
    if node is None:
        return None
    jar = Entries.of(node, "jar", ("holds", "extra", "parts", "price"), reader.findings)
    if jar is None:
        return None
    holds = _grams(jar, "holds", reader, needed=True)
    parts = tuple(one for item in jar.items("parts") if (one := _pack_part(item, reader)))
    extra, price = _grams(jar, "extra", reader) or ZERO, _money(jar, "price", reader)
    return None if not holds else Jar(holds, extra, parts, price)


def _pack_part(node: Node, reader: Reader) -> PackPart | None:
    part = Entries.of(node, "part of the jar", ("what", "price"), reader.findings)
    if part is None:
        return None
    what, price = part.text("what", needed=True), _money(part, "price", reader, needed=True)
    return PackPart(what, price) if what and price is not None else None


def _labour(entries: Entries, reader: Reader) -> Labour | None:
    node = entries.get("labour")
    if node is None:
        return None
    work = Entries.of(node, "labour", ("per_hour", "per_batch", "per_jar"), reader.findings)
    if work is None:
        return None
    per_hour = _money(work, "per_hour", reader, needed=True)
    batch, jar = (_minutes(work, name, reader) for name in ("per_batch", "per_jar"))
    return None if per_hour is None else Labour(per_hour, batch, jar)


def _offer(node: Node, reader: Reader) -> Offer | None:
    keys = ("ingredient", "pack", "price", "from", "supplier")
    offer = Entries.of(node, "offer", keys, reader.findings)
    if offer is None:
        return None
    word = offer.text("ingredient", needed=True)
    name = reader.ingredient(word, offer.line("ingredient"), "offer") if word else None
    grams, price = _grams(offer, "pack", reader, needed=True), _money(offer, "price", reader, needed=True)
    least = _count(offer, "from", reader)
    if name is None or not grams or price is None:
        return None
    return Offer(name, grams, price, least, offer.text("supplier"))


def _money(entries: Entries, name: str, reader: Reader, *, needed: bool = False) -> Fraction | None:
    names = reader.names
    return _read(entries, name, reader, lambda text: read_money(text, names.decimal, names.currency), needed)


def _grams(entries: Entries, name: str, reader: Reader, *, needed: bool = False) -> Fraction | None:
    return _read(entries, name, reader, lambda text: read_amount(text, reader.names.decimal), needed)


def _minutes(entries: Entries, name: str, reader: Reader) -> Fraction:
    found = _read(entries, name, reader, lambda text: read_minutes(text, reader.names.decimal), needed=False)
    return found or ZERO


def _part(entries: Entries, name: str, reader: Reader) -> Fraction:
    """A part of the whole from "4 %"; less than all of it."""
    percent = _read(
        entries, name, reader, lambda text: read_percent(text, reader.names.decimal), needed=False
    )
    if percent is not None and percent >= 100:
        reader.findings.add(entries.line(name), name, "less than 100 %", shown(entries.text(name)))
        return ZERO
    return (percent or ZERO) / 100


def _count(entries: Entries, name: str, reader: Reader) -> int:
    found = _read(entries, name, reader, lambda text: read_number(text, decimal=reader.names.decimal), False)
    if found is not None and (found.denominator != 1 or found < 1):
        reader.findings.add(
            entries.line(name), name, "a whole number of packs from 1", shown(entries.text(name))
        )
        return 1
    return int(found or 1)


def _read(
    entries: Entries,
    name: str,
    reader: Reader,
    how: Callable[[str], Fraction | NumberFault],
    needed: bool,
) -> Fraction | None:
    text = entries.text(name, needed=needed)
    return reader.findings.number(entries.line(name), name, how(text)) if text else None
