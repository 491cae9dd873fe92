"""Problems of one file, gathered while it is read."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from optimiser.problems import LONGEST_SHOWN, Problem, did_you_mean, visible
from optimiser.units.numbers import NumberFault

MOST_HINTS = 200


def shown(text: str) -> str:
    """The text in quotes, shortened, with invisible characters written out."""
    return f'"{visible(text, LONGEST_SHOWN)}"'


def squeezed(text: str) -> str:
    """The text with single blanks, cut to a length that patterns read quickly."""
    return " ".join(text[:1000].split())


@dataclass(slots=True)
class Findings:
    """Collects the problems of `file` (a path relative to the folder)."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    hints: int = 0

    def hint(self, word: str, known: Iterable[str]) -> str:
        """A near name for an unknown word; after many such words in one file there is none any more."""
        self.hints += 1
        return did_you_mean(word[:LONGEST_SHOWN], known) if self.hints <= MOST_HINTS else ""

    def add(
        self, line: int | None, entry: str, expected: str, found: str, fix: str = "", cell: str = ""
    ) -> None:
        texts = (visible(entry, LONGEST_SHOWN), visible(expected), visible(found), visible(fix))
        self.problems.append(Problem(self.file, line, *texts, cell))

    def fault(self, line: int | None, entry: str, fault: NumberFault, cell: str = "") -> None:
        self.add(line, entry, fault.expected, shown(fault.text), fault.fix, cell)

    def number(
        self, line: int | None, entry: str, read: Fraction | NumberFault, cell: str = ""
    ) -> Fraction | None:
        """The number, or None with the fault noted."""
        if isinstance(read, NumberFault):
            self.fault(line, entry, read, cell)
            return None
        return read

    def word(
        self, line: int | None, entry: str, word: str, known: Collection[str], what: str, cell: str = ""
    ) -> bool:
        """Whether `word` is one of `known`; a near name is offered where it is not."""
        if word in known:
            return True
        names = sorted(known)
        few = f"{what} ({', '.join(names)})" if len(names) <= 8 else what
        self.add(line, entry, few, shown(word), self.hint(word, names), cell)
        return False
