"""Names of substances: a slip of one letter would let a substance escape its limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from optimiser.domain.substance import Substance
from optimiser.loading.cells import Cells
from optimiser.loading.findings import Findings, shown
from optimiser.loading.names import plain
from optimiser.loading.reference import load_limits, load_substances
from optimiser.loading.tables import Columns, Table
from optimiser.units.numbers import DecimalMark

COLUMNS = Columns(
    ("substance", "source"), ("cas", "molar_mass", "pka1", "pka2", "pka3", "charge", "counter_ion")
)
SHORTEST = 6
CONSTANTS = ("pka1", "pka2", "pka3")
MOST_CHARGE, LEAST_PKA = 10, -10


def read_substances(table: Table, decimal: DecimalMark, findings: Findings) -> Mapping[str, Substance]:
    """The folder's own substances by name in lower case; they add to the reference or take its place."""
    found: dict[str, Substance] = {}
    for row in table.rows:
        if row.broken:
            continue
        cells = Cells(row, row["substance"] or "row", COLUMNS, findings, decimal)
        substance = _substance(cells)
        if substance is None:
            continue
        if substance.name.casefold() in found:
            cells.add("substance", "each substance once", f"{shown(substance.name)} again")
        found[substance.name.casefold()] = substance
    return found


def _substance(cells: Cells) -> Substance | None:
    before = len(cells.findings.problems)
    name, source = cells.text("substance", needed=True), cells.text("source", needed=True)
    mass, charge = cells.number("molar_mass"), cells.number("charge", low=-MOST_CHARGE, high=MOST_CHARGE)
    constants = [cells.number(column, low=LEAST_PKA) for column in CONSTANTS]
    known = tuple(value for value in constants if value is not None)
    if mass is not None and mass <= 0:
        cells.add("molar_mass", "a molar mass above nought", shown(cells.row["molar_mass"]))
    if charge is not None and charge.denominator != 1:
        cells.add("charge", "a whole number of charges", shown(cells.row["charge"]))
    if list(known) != sorted(known) or None in constants[: len(known)]:
        cells.add("pka1", "acid constants from the strongest on, none left out between", "another order")
    if len(cells.findings.problems) > before:
        return None
    ion = cells.text("counter_ion")
    return Substance(
        name, cells.text("cas"), "", mass, known, None if charge is None else int(charge), ion, source, "own"
    )


@dataclass(frozen=True, slots=True)
class Spelling:
    """Known names by their plain form, and by that form with any one letter left out."""

    known: Mapping[str, str]
    shorter: Mapping[str, str]

    @classmethod
    def of(cls, names: Iterable[str]) -> Spelling:
        known = {plain(name): name for name in sorted(names)}
        return cls(known, {less: name for word, name in known.items() for less in _without_one(word)})

    def knows(self, name: str) -> bool:
        """Whether the name is a known one, or nearly."""
        return plain(name) in self.known or bool(self.meant(name))

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


@dataclass(frozen=True, slots=True)
class Written:
    """A name of a substance, its line, and the entry it stands in."""

    name: str
    line: int
    entry: str


def alike(written: Iterable[Written], spelling: Spelling) -> Iterator[tuple[Written, Written]]:
    """(what to ask about, what it may be): names of which one has a letter more than the other.

    Asked about is the one used less, or else the later. Names that are known, or nearly known (see
    `check_spelling`), are not.
    """
    used: dict[str, list[Written]] = {}
    for one in written:
        if not spelling.knows(one.name):
            used.setdefault(plain(one.name), []).append(one)

    def rarest_last(name: str) -> tuple[int, int]:
        return -len(used[name]), used[name][0].line

    for longer in used:
        if len(longer) <= SHORTEST or any(mark.isdigit() for mark in longer):
            continue
        for shorter in dict.fromkeys(_without_one(longer)):
            if shorter in used:
                meant, odd = sorted((longer, shorter), key=rarest_last)
                yield from ((one, used[meant][0]) for one in used[odd])


def known_substances(own: Mapping[str, Substance]) -> frozenset[str]:
    """Names of the reference's substances and of the folder's own."""
    names = {substance.name for substance in own.values()}
    names |= {substance.name for substance in load_substances().values()}
    names |= {name for limit in load_limits() for name in (limit.substance, *limit.aliases)}
    return frozenset(name.strip() for name in names if name.strip())
