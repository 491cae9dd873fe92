"""Typed access to the keys of a YAML mapping; unknown keys are problems with the near key offered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.loading.findings import Findings, shown
from optimiser.loading.yaml_nodes import Items, Keys, Node, Text

YES = ("yes", "true")
NO = ("no", "false")


def describe(node: Node) -> str:
    """What a node is, for a message."""
    match node:
        case Text():
            return shown(node.text)
        case Items():
            return "a list"
        case Keys():
            return "a mapping"


@dataclass(frozen=True, slots=True)
class Entries:
    """The keys of `node`. `entry` names the thing for messages."""

    node: Keys
    entry: str
    findings: Findings

    @classmethod
    def of(cls, node: Node, entry: str, allowed: tuple[str, ...], findings: Findings) -> Entries | None:
        """The entries, with keys outside `allowed` noted; None when the node is no mapping."""
        if not isinstance(node, Keys):
            findings.add(node.line, entry, f"entries such as {allowed[0]}: …", describe(node))
            return None
        missing = [name for name in allowed if name not in node.values]
        for name, line in node.lines.items():
            if name not in allowed:
                fix = findings.hint(name, missing) or f"the keys are {', '.join(allowed)}"
                findings.add(line, entry, "a known key", shown(name), fix)
        return cls(node, entry, findings)

    def __contains__(self, name: str) -> bool:
        return name in self.node.values

    def line(self, name: str) -> int:
        return self.node.lines.get(name, self.node.line)

    def get(self, name: str) -> Node | None:
        return self.node.values.get(name)

    def text(self, name: str, default: str = "", *, needed: bool = False) -> str:
        """The scalar after `name`, or `default`."""
        node = self.get(name)
        if node is None or (isinstance(node, Text) and not node.text):
            if needed:
                self.findings.add(self.node.line, self.entry, f"{name}: with a value", "none")
            return default
        if isinstance(node, Text):
            return node.text
        self.findings.add(node.line, self.entry, f"one value after {name}:", describe(node))
        return default

    def choice(self, name: str, known: tuple[str, ...], default: str = "") -> str:
        """The scalar after `name` when it is one of `known`."""
        found = self.text(name, default)
        if (
            found
            and found != default
            and not self.findings.word(
                self.line(name), f"{self.entry}, {name}", found, known, "one of the known words"
            )
        ):
            return default
        return found

    def yes(self, name: str) -> bool:
        found = self.text(name, "no").casefold()
        if found not in YES + NO:
            self.findings.add(self.line(name), self.entry, f"yes or no after {name}:", shown(found))
        return found in YES

    def items(self, name: str) -> tuple[Node, ...]:
        """The members of the list after `name`; nothing when it is not there."""
        node = self.get(name)
        if node is None or (isinstance(node, Text) and not node.text):
            return ()
        if isinstance(node, Items):
            return node.items
        self.findings.add(
            node.line, self.entry, f"a list after {name}:", describe(node), f"write {name}: [ … ]"
        )
        return ()

    def texts(self, name: str) -> tuple[tuple[str, int], ...]:
        """(text, line) of the scalars in the list after `name`; one scalar alone will do."""
        node = self.get(name)
        if isinstance(node, Text):
            return ((node.text, node.line),) if node.text else ()
        found: list[tuple[str, int]] = []
        for item in self.items(name):
            if isinstance(item, Text) and item.text:
                found.append((item.text, item.line))
            else:
                self.findings.add(item.line, self.entry, f"words in the list {name}:", describe(item))
        return tuple(found)

    def lines(self) -> Mapping[str, int]:
        return self.node.lines
