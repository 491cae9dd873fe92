"""YAML as nodes with lines: every scalar stays text, duplicate keys and endless aliases are refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from optimiser.loading.findings import Findings, shown
from optimiser.loading.text_files import read_text
from optimiser.problems import hidden_marks

DEEPEST = 30
MOST_NODES = 20_000
LONGEST_FILE = 1_000_000
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class Text:
    """A scalar as written."""

    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    items: tuple[Node, ...]
    line: int


@dataclass(frozen=True, slots=True)
class Keys:
    """A mapping in the order written, with the line of each key."""

    values: Mapping[str, Node]
    lines: Mapping[str, int]
    line: int


Node = Text | Items | Keys


class _RefusedError(Exception):
    def __init__(self, line: int, expected: str, found: str, fix: str = "") -> None:
        super().__init__(expected)
        self.line, self.expected, self.found, self.fix = line, expected, found, fix


def read_yaml(path: Path, findings: Findings) -> Keys | None:
    """The file's one mapping, or None with the reason noted."""
    text = read_text(path, findings)
    return None if text is None else parse_yaml(text, findings)


def parse_yaml(text: str, findings: Findings) -> Keys | None:
    if len(text) > LONGEST_FILE:
        findings.add(None, "file", f"at most {LONGEST_FILE // 1000} kB", "more", "split the file")
        return None
    try:
        node = _Builder(yaml.parse(text, Loader=_LOADER), findings).document()
    except _RefusedError as refused:
        findings.add(refused.line, "file", refused.expected, refused.found, refused.fix)
        return None
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        what = getattr(error, "problem", None) or getattr(error, "reason", None) or "a mistake in the layout"
        line = mark.line + 1 if mark else None
        findings.add(
            line,
            "file",
            "YAML",
            f"a slip: {what}",
            'check indents and colons; put text that holds ": " in quotes',
        )
        return None
    if isinstance(node, Keys):
        return node
    findings.add(1, "file", 'entries such as "name: …"', "nothing" if node is None else "something else")
    return None


@dataclass(slots=True)
class _Builder:
    """Nodes from parser events; the depth and the number of nodes (aliases counted in full) are capped."""

    events: Iterator[Any]
    findings: Findings
    anchors: dict[str, tuple[Node, int]] = field(default_factory=dict)
    count: int = 0

    def document(self) -> Node | None:
        node: Node | None = None
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent) and node is not None:
                raise _RefusedError(_line(event), "one document", "a second one", 'remove the line "---"')
            if isinstance(event, yaml.NodeEvent):
                node = self.node(event, 1)
        return node

    def node(self, event: Any, depth: int) -> Node:
        line = _line(event)
        if depth > DEEPEST:
            raise _RefusedError(line, f"at most {DEEPEST} levels", "more")
        if isinstance(event, yaml.AliasEvent):
            return self._alias(str(event.anchor), line)
        if event.tag is not None and not event.tag.startswith("tag:yaml.org,2002:str") and event.tag != "!":
            raise _RefusedError(line, "plain YAML", f"the tag {shown(event.tag)}", "remove the tag")
        before = self.count
        self._counted(1, line)
        node: Node
        if isinstance(event, yaml.ScalarEvent):
            node = Text(self._visible(event.value, line), line)
        elif isinstance(event, yaml.SequenceStartEvent):
            node = Items(tuple(self._items(depth)), line)
        else:
            node = self._keys(line, depth)
        if event.anchor:
            self.anchors[event.anchor] = (node, self.count - before)
        return node

    def _alias(self, anchor: str, line: int) -> Node:
        if anchor not in self.anchors:
            raise _RefusedError(line, "an alias of something above", shown(anchor))
        node, size = self.anchors[anchor]
        self._counted(size, line)
        return node

    def _counted(self, size: int, line: int) -> None:
        self.count += size
        if self.count > MOST_NODES:
            raise _RefusedError(line, f"at most {MOST_NODES} entries, aliases counted", "more")

    def _items(self, depth: int) -> Iterator[Node]:
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            yield self.node(event, depth + 1)

    def _keys(self, line: int, depth: int) -> Keys:
        values: dict[str, Node] = {}
        lines: dict[str, int] = {}
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            key = self.node(event, depth + 1)
            value = self.node(next(self.events), depth + 1)
            if not isinstance(key, Text):
                self.findings.add(key.line, "key", "a word before the colon", "a list or a mapping")
            elif key.text in values:
                self.findings.add(
                    key.line,
                    shown(key.text),
                    "each key once",
                    f"it a second time (first on line {lines[key.text]})",
                    "remove one",
                )
            else:
                values[key.text], lines[key.text] = value, key.line
        return Keys(values, lines, line)

    def _visible(self, text: str, line: int) -> str:
        hidden = hidden_marks(text)
        if hidden:
            self.findings.add(line, "text", "text without invisible characters", hidden, "type it again")
        return text.strip()


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


def as_written(node: Node) -> str | list[Any] | dict[str, Any]:
    """The node as text, lists and mappings, every scalar as it was written."""
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Items):
        return [as_written(one) for one in node.items]
    return {key: as_written(value) for key, value in node.values.items()}
