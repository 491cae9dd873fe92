"""Names of substances: a slip of one letter would let a substance escape its limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from optimiser.loading.findings import Findings, shown
from optimiser.loading.names import plain
from optimiser.loading.tables import Columns, Table

COLUMNS = Columns(
    ("substance", "source"), ("cas", "molar_mass", "pka1", "pka2", "pka3", "charge", "counter_ion")
)
SHORTEST = 6


@dataclass(frozen=True, slots=True)
class Spelling:
    """Known names by their plain form, and by that form with any one letter left out."""

    known: Mapping[str, str]
    shorter: Mapping[str, str]

    @classmethod
    def of(cls, names: Iterable[str]) -> Spelling:
        known = {plain(name): name for name in sorted(names)}
        return cls(known, {less: name for word, name in known.items() for less in _without_one(word)})

    def meant(self, name: str) -> str:
        """The known name that differs from an unknown one by one letter more or less, or nothing."""
        word = plain(name)
        if word in self.known or len(word) < SHORTEST or any(mark.isdigit() for mark in word):
            return ""
        longer = (self.known[less] for less in _without_one(word) if less in self.known)
        return self.shorter.get(word) or next(longer, "")


def _without_one(word: str) -> Iterator[str]:
    """The word with each of its letters left out in turn."""
    return (word[:at] + word[at + 1 :] for at in range(len(word)) if word[at].isalpha())


def check_spelling(table: Table, column: str, between: str, spelling: Spelling, findings: Findings) -> None:
    """Notes every name in `column` (several joined by `between`) that is nearly a known one."""
    for row in table.rows:
        for name in row[column][:1000].split(between):
            meant = spelling.meant(name)
            if meant and not row.broken:
                fix = f'did you mean "{meant}"? If not, list the name in substances.csv'
                entry = row["ingredient"] or row["id"]
                findings.add(row.line, entry, "a substance", shown(name.strip()), fix, row.cell(column))
