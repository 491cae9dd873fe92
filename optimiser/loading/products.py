"""`product:` of a formula or a brief."""

from __future__ import annotations

from dataclasses import fields

from optimiser.domain.product import USES, Product
from optimiser.loading.entries import Entries
from optimiser.loading.findings import Findings
from optimiser.loading.yaml_nodes import Node

FACTS = tuple(field.name for field in fields(Product))


def read_facts(node: Node | None, entry: str, findings: Findings) -> dict[str, str]:
    """The stated facts by name; `use` must be one the law knows."""
    if node is None:
        return {}
    entries = Entries.of(node, f"{entry}, product", FACTS, findings)
    if entries is None:
        return {}
    facts = {name: entries.text(name) for name in FACTS if name in entries}
    if "use" in facts and not findings.word(entries.line("use"), entry, facts["use"], USES, "a use"):
        facts.pop("use")
    return {name: value for name, value in facts.items() if value}
