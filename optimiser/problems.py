"""Faults of the data, as values: all of them are found before anything is said."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

LONGEST_SHOWN = 80
LONGEST_SENTENCE = 2000
HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
READ_FIRST = ("worktable", "ingredients")
"""Files by their stems that the names in all others are looked up in."""


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
    """Sorted by file, line and text, each fault once; files that others are read by come first."""
    return tuple(
        sorted(
            set(problems),
            key=lambda p: (_rank(p.file), p.file, p.line or 0, p.cell, p.entry, p.expected, p.found),
        )
    )


def _rank(file: str) -> int:
    """Settings, the ingredients, other tables, what lies in folders: a fault may follow from one before."""
    if "/" in file:
        return len(READ_FIRST) + 1
    stem = file.partition(".")[0]
    return READ_FIRST.index(stem) if stem in READ_FIRST else len(READ_FIRST)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint such as `did you mean "kaolin"?`, or nothing when no name is near."""
    near = difflib.get_close_matches(word.lower(), sorted(known), n=1, cutoff=0.6)
    return f'did you mean "{near[0]}"?' if near else ""


def hidden_marks(text: str) -> str:
    """Control, direction and other invisible characters in the text, by code point; or nothing."""
    if text.isprintable():
        return ""
    found = {mark for mark in text if mark not in "\n\t\r" and unicodedata.category(mark) in HIDDEN}
    return ", ".join(f"U+{ord(mark):04X}" for mark in sorted(found))


def visible(text: str, longest: int = LONGEST_SENTENCE) -> str:
    """The text, cut to a length, with invisible characters and line breaks written out."""
    cut = text if len(text) <= longest else f"{text[:longest]}…"
    if cut.isprintable():
        return cut
    return "".join(f"\\u{ord(mark):04x}" if unicodedata.category(mark) in HIDDEN else mark for mark in cut)
