"""worktable.yaml: what counts for the whole folder."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction

from optimiser.domain.worktable import Balance, Settings
from optimiser.loading.cells import read_day
from optimiser.loading.entries import Entries
from optimiser.loading.findings import Findings, shown
from optimiser.loading.packs import read_pack
from optimiser.loading.yaml_nodes import Keys, Node
from optimiser.units.numbers import DecimalMark
from optimiser.units.quantities import read_amount

KEYS = ("name", "currency", "jurisdiction", "rules_date", "decimal", "batch", "balances", "pack")


def read_settings(node: Keys, jurisdictions: tuple[str, ...], findings: Findings) -> Settings:
    """The settings; what could not be read is noted and stands at its default."""
    entries = Entries.of(node, "settings", KEYS, findings)
    if entries is None:
        return default_settings()
    decimal: DecimalMark = (
        "comma" if entries.choice("decimal", ("point", "comma"), "point") == "comma" else "point"
    )
    currency = entries.text("currency", "EUR", needed=True)
    if not re.fullmatch(r"[A-Z]{3}", currency):
        findings.add(entries.line("currency"), "currency", "three capitals such as EUR", shown(currency))
    needed = entries.text("jurisdiction", "EU", needed=True)
    findings.word(
        entries.line("jurisdiction"), "jurisdiction", needed, jurisdictions, "a jurisdiction with limits"
    )
    return Settings(
        name=entries.text("name", needed=True),
        currency=currency,
        jurisdiction=needed,
        rules_date=_rules_date(entries),
        decimal=decimal,
        batch_g=_grams(entries, "batch", decimal) or default_settings().batch_g,
        balances=_balances(entries, decimal),
        pack=read_pack(entries, decimal),
    )


def default_settings() -> Settings:
    """What stands in while the rest of a folder without readable settings is checked."""
    return Settings("", "EUR", "EU", date(2026, 1, 1))


def _rules_date(entries: Entries) -> date:
    text = entries.text("rules_date", needed=True)
    day = read_day(text)
    if text and day is None:
        entries.findings.add(
            entries.line("rules_date"),
            "rules_date",
            "a date such as 2026-11-01",
            shown(text),
            "write year-month-day",
        )
    return day or default_settings().rules_date


def _grams(entries: Entries, name: str, decimal: DecimalMark, *, needed: bool = False) -> Fraction | None:
    text = entries.text(name, needed=needed)
    if not text:
        return None
    grams = entries.findings.number(entries.line(name), name, read_amount(text, decimal))
    if grams == 0:
        entries.findings.add(entries.line(name), name, "more than 0 g", shown(text))
        return None
    return grams


def _balances(entries: Entries, decimal: DecimalMark) -> tuple[Balance, ...]:
    found = [_balance(item, decimal, entries.findings) for item in entries.items("balances")]
    known = tuple(sorted((one for one in found if one), key=lambda one: (one.reads_g, one.up_to_g)))
    return known or default_settings().balances


def _balance(node: Node, decimal: DecimalMark, findings: Findings) -> Balance | None:
    entries = Entries.of(node, "balance", ("reads", "up_to"), findings)
    if entries is None:
        return None
    reads = _grams(entries, "reads", decimal, needed=True)
    up_to = _grams(entries, "up_to", decimal, needed=True)
    if reads is None or up_to is None:
        return None
    if reads > up_to:
        findings.add(node.line, "balance", "a balance that carries more than it reads", "up_to below reads")
        return None
    return Balance(reads, up_to)
