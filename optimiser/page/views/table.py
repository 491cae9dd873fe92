"""The table of ingredients as screens show it: a list to look through, a row with every column labelled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from optimiser.domain.ingredient import Figure, Ingredient
from optimiser.domain.vocabulary import Vocabulary
from optimiser.domain.worktable import Worktable
from optimiser.loading.cells import ID
from optimiser.loading.ingredients import FORMS
from optimiser.loading.tables import several
from optimiser.page.views.figures import DASH, Figures
from optimiser.problems import Problem
from optimiser.workflows.table import FILE, TableFile

A_PAGE = 50
How = Literal["text", "number", "choice", "long"]
NUM: How = "number"


@dataclass(frozen=True, slots=True)
class Column:
    """A column in a maker's words; `source` says where its value is found."""

    name: str
    label: str
    means: str
    source: str
    how: How = "text"
    unit: str = ""
    needed: bool = False


COLUMNS = (
    Column("id", "Id", "What the other files call it: a-z, 0-9 and hyphens", "your own word", needed=True),
    Column("name", "Name", "As you call it", "your own word", needed=True),
    Column("aliases", "Other names", "Separated by semicolons", "supplier's papers, or your own words"),
    Column(
        "inci",
        "Name on the label (INCI)",
        "The names of a blend are joined by “ (and) ”",
        "supplier's data sheet",
        needed=True,
    ),
    Column("kind", "Kind", "What it is; standing rules hang on it", "data sheet", "choice", needed=True),
    Column("roles", "There for", "What it does, the main thing first, separated by semicolons", "data sheet"),
    Column("form", "Form", "As it comes", "data sheet", "choice"),
    Column("use_min", "Use from", "Least share of a formula, when it is used at all", "data sheet", NUM, "%"),
    Column("use_max", "Use to", "Largest share of a formula", "data sheet", NUM, "%"),
    Column("supplier", "Supplier", "Who sells it", "offer or invoice"),
    Column(
        "pack_size", "Pack", "What is bought at once, with its unit: 500 g, 1 kg, 250 ml", "offer or invoice"
    ),
    Column("pack_price", "Price of the pack", "What that costs", "offer or invoice", NUM, "money"),
    Column("lead_days", "On the way", "From order to door", "supplier, or your own count", NUM, "days"),
    Column(
        "like", "Like", "Id of an ingredient that lends missing numbers, marked borrowed", "your judgement"
    ),
    Column("notes", "Notes", "Anything", "your own words", "long"),
)
NAMES = tuple(column.name for column in COLUMNS)
LABELS = {column.name: column.label for column in COLUMNS}


@dataclass(frozen=True, slots=True)
class FaultShown:
    """A problem at its place."""

    place: str
    entry: str
    expected: str
    found: str
    fix: str


@dataclass(frozen=True, slots=True)
class FieldShown:
    """A column with the text in its field, what may be chosen, and what is wrong with it.

    `stands` is what the file says where that is something else.
    """

    column: Column
    unit: str
    text: str
    choices: tuple[tuple[str, str], ...] = ()
    faults: tuple[FaultShown, ...] = ()
    stands: str | None = None


@dataclass(frozen=True, slots=True)
class RowListed:
    id: str
    name: str
    kind: str
    roles: str
    use: str
    pack: str
    faults: int
    opens: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """What the list is narrowed to, and the page of it from 1."""

    text: str = ""
    role: str = ""
    flag: str = ""
    page: int = 1

    @property
    def narrowed(self) -> bool:
        return bool(self.text or self.role or self.flag)


@dataclass(frozen=True, slots=True)
class Listed:
    """One page of the list. `found` of `all` rows fit what is asked."""

    rows: tuple[RowListed, ...]
    found: int
    all: int
    page: int
    pages: int
    roles: tuple[str, ...]
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """What other files say of an ingredient."""

    uses: tuple[tuple[str, str, str], ...]
    flags: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, str, str, str, str], ...]
    parts: tuple[tuple[str, str, str], ...] | None


def fault_shown(problem: Problem) -> FaultShown:
    return FaultShown(problem.place, problem.entry, problem.expected, problem.found, problem.fix)


def listed(
    table: TableFile, worktable: Worktable | None, problems: Iterable[Problem], asked: Asked, currency: str
) -> Listed:
    """The rows that fit, in the order of the file."""
    sheet = table.sheet
    faults: dict[int, int] = {}
    for one in problems:
        if one.file == FILE and one.line is not None:
            faults[one.line] = faults.get(one.line, 0) + 1
    known = worktable.ingredients if worktable else {}
    rows = [(record.line, sheet.cells(record)) for record in sheet.rows]
    fitting = [(line, cells) for line, cells in rows if _fits(cells, asked, known)]
    pages = max(1, -(-len(fitting) // A_PAGE))
    page = min(max(1, asked.page), pages)
    part = fitting[(page - 1) * A_PAGE : page * A_PAGE]
    return Listed(
        tuple(_row(cells, faults.get(line, 0), currency) for line, cells in part),
        len(fitting),
        len(rows),
        page,
        pages,
        tuple(sorted({role for _, cells in rows for role in several(cells.get("roles", ""))})),
        tuple(
            sorted(
                {name for one in known.values() for name, state in one.flags.items() if state == "contains"}
            )
        ),
    )


def _fits(cells: Mapping[str, str], asked: Asked, known: Mapping[str, Ingredient]) -> bool:
    if asked.role and asked.role not in several(cells.get("roles", "")):
        return False
    if asked.flag:
        own = known.get(cells.get("id", ""))
        if own is None or own.flag(asked.flag) != "contains":
            return False
    text = " ".join(cells.values()).casefold()
    return all(word in text for word in asked.text.casefold().split())


def _row(cells: Mapping[str, str], faults: int, currency: str) -> RowListed:
    least, most = cells.get("use_min", ""), cells.get("use_max", "")
    use = f"{least or '0'} to {most or '100'} %" if least or most else DASH
    name, price = cells.get("id", ""), cells.get("pack_price", "")
    return RowListed(
        name,
        cells.get("name", "") or name or "a row without a name",
        cells.get("kind", ""),
        ", ".join(several(cells.get("roles", ""))),
        use,
        ", ".join(filter(None, (cells.get("pack_size", ""), price and f"{price} {currency}"))) or DASH,
        faults,
        bool(ID.fullmatch(name)),
    )


def fields(
    texts: Mapping[str, str],
    vocabulary: Vocabulary,
    currency: str,
    problems: Iterable[Problem] = (),
    stands: Mapping[str, str] | None = None,
) -> tuple[FieldShown, ...]:
    """Every column with its text; `problems` are those of the row, `stands` what the file says."""
    told: dict[str, list[FaultShown]] = {}
    for one in problems:
        told.setdefault(one.cell, []).append(fault_shown(one))
    return tuple(
        FieldShown(
            column,
            currency if column.unit == "money" else column.unit,
            texts.get(column.name, ""),
            _choices(column.name, texts.get(column.name, ""), vocabulary),
            tuple(told.get(column.name, ())),
            _other(stands, column.name, texts.get(column.name, "")),
        )
        for column in COLUMNS
    )


def _other(stands: Mapping[str, str] | None, column: str, text: str) -> str | None:
    """What the file says where that is something else than the text."""
    there = None if stands is None else stands.get(column, "")
    return None if there == text else there


def _choices(column: str, text: str, vocabulary: Vocabulary) -> tuple[tuple[str, str], ...]:
    """(value, words) of a column with few words; what stands there is among them, known or not."""
    if column == "kind":
        known = [(name, f"{name}: {kind.meaning}") for name, kind in vocabulary.kinds.items()]
    elif column == "form":
        known = [(name, name) for name in FORMS]
    else:
        return ()
    odd = [(text, f"{text} (not a known word)")] if text and text not in dict(known) else []
    return (*odd, *known)


def told_of(worktable: Worktable, name: str, figures: Figures) -> Told | None:
    """What formulas and the other tables say of the ingredient; None where it is not among the sound ones."""
    own = worktable.ingredients.get(name)
    if own is None:
        return None
    return Told(
        uses(worktable, name, figures),
        tuple((flag, state) for flag, state in sorted(own.flags.items())),
        tuple(_figure(what, figure, figures) for what, figure in own.figures.items()),
        None
        if own.composition is None
        else tuple(
            (part.substance, _spread(part.value, part.low, part.high, figures), part.source)
            for part in own.composition
        ),
    )


def uses(worktable: Worktable, name: str, figures: Figures) -> tuple[tuple[str, str, str], ...]:
    """(id, name, how much in which phase) of every formula that has it."""
    found = []
    for formula in sorted(worktable.formulas.values(), key=lambda one: one.name.casefold()):
        shares = [
            f"{figures.short(line.percent)} % in phase {phase}"
            for phase, line in formula.lines
            if line.ingredient == name
        ]
        if shares:
            found.append((formula.id, formula.name, ", ".join(shares)))
    return tuple(found)


def _figure(what: str, figure: Figure, figures: Figures) -> tuple[str, str, str, str, str]:
    spread = (
        "" if figure.low == figure.high else f"{figures.short(figure.low)} to {figures.short(figure.high)}"
    )
    called = " ".join("pH" if word == "ph" else word for word in what.split("_"))
    return called, figures.short(figure.value), spread, figure.unit, figure.source


def _spread(value: object, low: object, high: object, figures: Figures) -> str:
    middle, least, most = (figures.short(one) for one in (value, low, high))  # type: ignore[arg-type]
    return middle if least == most else f"{middle} ({least} to {most})"
