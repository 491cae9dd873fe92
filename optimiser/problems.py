"""Faults of the data, as values: all of them are found before anything is said."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault: where it stands, what was expected, what was found, and how to mend it.

    `line` counts from 1; `cell` names a column or a spreadsheet cell where there is one.
    """

    file: str
    line: int | None
    entry: str
    expected: str
    found: str
    fix: str = ""
    cell: str = ""

    @property
    def place(self) -> str:
        parts = [self.file]
        if self.line is not None:
            parts.append(str(self.line))
        if self.cell:
            parts.append(self.cell)
        return ":".join(parts)

    def sentence(self) -> str:
        """`file:line:cell: entry: expected …, found …; fix`."""
        text = f"{self.place}: {self.entry}: expected {self.expected}, found {self.found}"
        return f"{text}; {self.fix}" if self.fix else text


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sorted by file, line and text, each fault once."""
    return tuple(
        sorted(set(problems), key=lambda p: (p.file, p.line or 0, p.cell, p.entry, p.expected, p.found))
    )


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint such as `did you mean "kaolin"?`, or nothing when no name is near."""
    near = difflib.get_close_matches(word.lower(), sorted(known), n=1, cutoff=0.6)
    return f'did you mean "{near[0]}"?' if near else ""
