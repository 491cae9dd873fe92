"""The pack of a worktable or a formula: a known one by its name, or one's own with what it takes."""

from __future__ import annotations

from fractions import Fraction

from optimiser.domain.container import Container
from optimiser.domain.ingredient import Figure
from optimiser.loading.entries import Entries
from optimiser.loading.reference import load_packs
from optimiser.loading.yaml_nodes import Keys
from optimiser.units.numbers import DecimalMark, read_number

KEYS = ("name", "takes", "low", "high", "source")
UNIT = "ml/100 g"


def read_pack(entries: Entries, decimal: DecimalMark) -> Container | None:
    """What stands after `pack:`; None where nothing does or it cannot be read."""
    node = entries.get("pack")
    if isinstance(node, Keys):
        own = Entries.of(node, "pack", KEYS, entries.findings)
        return None if own is None else _own(own, decimal)
    packs, word = load_packs(), entries.text("pack")
    if not word:
        return None
    known = entries.findings.word(entries.line("pack"), "pack", word, packs, "a known pack")
    return packs[word] if known else None


def _own(entries: Entries, decimal: DecimalMark) -> Container | None:
    takes = _ml(entries, "takes", decimal, needed=True)
    if takes is None:
        return None
    low, high = _ml(entries, "low", decimal), _ml(entries, "high", decimal)
    low, high = takes if low is None else low, takes if high is None else high
    if not low <= takes <= high:
        entries.findings.add(entries.line("takes"), "pack", "low, takes and high in rising order", "another")
        return None
    source = entries.text("source", needed=True)
    status = "measured" if source.startswith(("measured", "trial")) else "assumed"
    figure = Figure(takes, low, high, UNIT, source, "measured" if status == "measured" else "assumed")
    return Container(entries.text("name", "own pack"), figure)


def _ml(entries: Entries, name: str, decimal: DecimalMark, *, needed: bool = False) -> Fraction | None:
    text = entries.text(name, needed=needed)
    if not text:
        return None
    found = entries.findings.number(
        entries.line(name), f"pack, {name}", read_number(text.removesuffix(UNIT).strip(), decimal=decimal)
    )
    if found is not None and found < 0:
        entries.findings.add(entries.line(name), f"pack, {name}", "0 or more", text)
        return None
    return found
