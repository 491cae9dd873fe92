"""What the tables say of one ingredient, row by row: its own rows, and those it has from elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from optimiser.domain.ingredient import Figure, Ingredient, Part, Way
from optimiser.domain.vocabulary import Vocabulary, unit_words
from optimiser.loading.described import Described
from optimiser.page.views.columns import WORDS, Words
from optimiser.page.views.figures import DASH, Figures
from optimiser.problems import Problem
from optimiser.workflows.table import TableFile
from optimiser.workflows.table_rows import Rows

Cells = Mapping[str, str]
Heading = tuple[str, bool]
"""What a column is called, and whether it holds numbers."""
HEADINGS: Mapping[str, tuple[Heading, ...]] = {
    "flags": (("Flag", False), ("State", False), ("Source", False)),
    "properties": (
        ("Property", False),
        ("Value", True),
        ("Spread", True),
        ("Unit", False),
        ("Source", False),
    ),
    "composition": (("Substance", False), ("Share, %", True), ("Spread", True), ("Source", False)),
    "process": (("Stage", False), ("How", False), ("Warmth and time", False), ("Beside it", False)),
    "shelf": (("Lot", False), ("Amount", True), ("Price", True), ("Opened", False), ("Expires", False)),
}

SHORT = {"ph": "pH", "hlb": "HLB"}
"""Words that the trade does not write in small letters."""
OPEN = {"flags": "flag", "properties": "property"}
"""Columns of which each word may be said something."""


@dataclass(frozen=True, slots=True)
class FactShown:
    """A row: `says` under the headings. `row` finds it in its table, `lender` names the kind or group whose
    it is; a fact without a row holds by other ways, `offer` is what an own row would begin with.
    """

    says: tuple[str, ...]
    row: str = ""
    lender: str = ""
    faults: int = 0
    offer: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A table with the facts it has of the ingredient. `elsewhere` is the spreadsheet in which it lies,
    `broken` why it cannot be read; `new` says that the file is not there yet. `open` are the words of which
    nothing is known, each with what it is called.
    """

    described: Described
    words: Words
    headings: tuple[Heading, ...]
    facts: tuple[FactShown, ...] = ()
    others: tuple[FactShown, ...] = ()
    elsewhere: str = ""
    broken: tuple[str, ...] = ()
    new: bool = False
    open: tuple[tuple[str, str], ...] = ()

    @property
    def adds(self) -> bool:
        """Whether a row can be added: of the way it is added there is one alone."""
        return not self.elsewhere and not self.broken and (len(self.described.keys) > 1 or not self.owns)

    @property
    def owns(self) -> bool:
        return any(not one.lender for one in self.facts)


@dataclass(frozen=True, slots=True)
class Teller:
    """Puts rows into words."""

    vocabulary: Vocabulary
    figures: Figures
    currency: str

    def section(
        self, table: TableFile, rows: Rows, problems: Iterable[Problem], own: Ingredient | None
    ) -> Section:
        """The rows, and what holds of a sound ingredient without a row of this table saying so."""
        name, sheet = table.described.name, table.sheet
        wrong = [one.line for one in problems if one.file == table.described.file]
        told = {mark: self._whole(sheet.cells(row), own) for mark, row in {**rows.own, **rows.lent}.items()}
        facts = tuple(
            FactShown(
                self._says(name, told[mark]),
                mark,
                told[mark]["ingredient"] if mark in rows.lent else "",
                wrong.count(row.line),
            )
            for mark, row in {**rows.own, **rows.lent}.items()
        )
        others = tuple(self._others(name, told.values(), own)) if own else ()
        known = {cells.get(OPEN.get(name, ""), "") for cells in told.values()} | {one.offer for one in others}
        return Section(
            table.described,
            WORDS[name],
            HEADINGS[name],
            facts,
            others,
            new=table.data is None,
            open=tuple((word, self._called(word)) for word in self._words(name) if word not in known),
        )

    def _words(self, table: str) -> Iterable[str]:
        """The words of which each ingredient may say something."""
        vocabulary = self.vocabulary
        return (
            vocabulary.flags if table == "flags" else vocabulary.properties if table == "properties" else ()
        )

    def _whole(self, cells: Cells, own: Ingredient | None) -> Cells:
        """The cells, with the middle that stands where a row gives both ends alone."""
        figure = own.figures.get(cells.get("property", "")) if own else None
        if figure is None or cells.get("value") or figure.source != cells.get("source"):
            return cells
        return {**cells, "value": self.figures.short(figure.value)}

    def elsewhere(self, described: Described, file: str, own: Ingredient | None) -> Section:
        """What holds, of a table that lies in a spreadsheet."""
        name = described.name
        others = tuple(self._others(name, (), own)) if own else ()
        if own and name == "flags":
            others = tuple(FactShown((flag, state, DASH)) for flag, state in sorted(own.flags.items()))
        elif own and name == "composition":
            others = tuple(map(self._known_part, own.composition or ()))
        return Section(described, WORDS[name], HEADINGS[name], others=others, elsewhere=file)

    def _says(self, table: str, cells: Cells) -> tuple[str, ...]:
        says: Mapping[str, Callable[[Cells], tuple[str, ...]]] = {
            "flags": self._flag,
            "properties": self._property,
            "composition": self._part,
            "process": self._way,
            "shelf": self._lot,
        }
        return tuple(text or DASH for text in says[table](cells))

    def _flag(self, cells: Cells) -> tuple[str, ...]:
        about = ", ".join(filter(None, (cells.get("source", ""), cells.get("date", ""))))
        return cells["flag"], cells["state"], about

    def _property(self, cells: Cells) -> tuple[str, ...]:
        value, spread = _number(cells, "value")
        return self._called(cells["property"]), value, spread, unit_words(cells["unit"]), cells["source"]

    def _part(self, cells: Cells) -> tuple[str, ...]:
        return cells["substance"], *_number(cells, "share"), cells["source"]

    def _way(self, cells: Cells) -> tuple[str, ...]:
        stage = self.vocabulary.stages.get(cells["stage"])
        ratio = cells.get("carried_ratio", "")
        carrier = cells.get("carried_by", "")
        beside = (
            carrier and f"in {ratio + ' parts of ' if ratio else ''}{carrier}",
            cells.get("needs", "") and f"needs {cells['needs']}",
            cells.get("wear", "") and f"wear {cells['wear']}",
        )
        return (
            stage.title if stage else cells["stage"],
            cells["add_as"],
            _warmth(*(cells.get(name, "") for name in ("add_from_c", "add_to_c", "wait_min"))),
            "; ".join(filter(None, beside)),
        )

    def _lot(self, cells: Cells) -> tuple[str, ...]:
        price = cells.get("unit_price", "")
        dates = (cells.get("opened", ""), cells.get("expires", ""))
        return cells["lot"], cells["amount"], price and f"{price} {self.currency}", *dates

    def _others(self, table: str, told: Iterable[Cells], own: Ingredient) -> Iterable[FactShown]:
        """What holds besides: lent by another, true by nature, learned from trials, or reckoned."""
        rows = tuple(told)
        if table == "properties":
            sources = {cells["property"]: cells["source"] for cells in rows}
            for what, figure in own.figures.items():
                if sources.get(what) != figure.source:
                    yield FactShown(self._figure(what, figure), offer="" if what in sources else what)
        elif table == "process" and own.way and not rows:
            yield FactShown(self._lent_way(own.way, own.like))
        elif table == "composition" and own.composition and not rows:
            whole = self.figures.short(own.composition[0].value)
            yield FactShown((own.composition[0].substance, whole, DASH, "a single material"))

    def _known_part(self, part: Part) -> FactShown:
        middle, low, high = map(self.figures.short, (part.value, part.low, part.high))
        return FactShown((part.substance, middle, DASH if low == high else f"{low} to {high}", part.source))

    def _figure(self, what: str, figure: Figure) -> tuple[str, ...]:
        ends = tuple(map(self.figures.short, (figure.low, figure.high)))
        spread = "" if figure.low == figure.high else " to ".join(ends)
        return (
            self._called(what),
            self.figures.short(figure.value),
            spread or DASH,
            unit_words(figure.unit) or DASH,
            figure.source,
        )

    def _called(self, word: str) -> str:
        """A property by its title, a flag by its name."""
        meant = self.vocabulary.properties.get(word)
        return meant.title if meant else called(word)

    def _lent_way(self, way: Way, lender: str) -> tuple[str, ...]:
        stage = self.vocabulary.stages[way.stage].title
        numbers = (way.add_from_c, way.add_to_c, way.wait_min)
        warmth = _warmth(*("" if one is None else self.figures.short(one) for one in numbers))
        return stage, way.add_as, warmth or DASH, f"as {lender}" if lender else DASH


def called(name: str) -> str:
    """ "water uptake" of water_uptake."""
    return " ".join(SHORT.get(word, word) for word in name.split("_"))


def _number(cells: Cells, middle: str) -> tuple[str, str]:
    """The number as the file has it, and its spread."""
    low, high = cells.get("low", ""), cells.get("high", "")
    return cells.get(middle, ""), f"{low or '…'} to {high or '…'}" if low or high else ""


def _warmth(low: str, high: str, wait: str) -> str:
    between = (
        f"{low} to {high} °C" if low and high else f"from {low} °C" if low else high and f"up to {high} °C"
    )
    return ", ".join(filter(None, (between, wait and f"then wait {wait} min")))
