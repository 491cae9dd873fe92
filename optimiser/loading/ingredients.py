"""ingredients.csv: what can be bought, joined with what the other tables say of it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from optimiser.domain.ingredient import Ingredient, Place
from optimiser.domain.vocabulary import Vocabulary
from optimiser.loading.cells import Cells
from optimiser.loading.findings import Findings, shown
from optimiser.loading.names import plain
from optimiser.loading.tables import Columns, Row, Table, several
from optimiser.units.numbers import DecimalMark

COLUMNS = Columns(
    ("id", "name", "inci", "kind"),
    (
        "aliases",
        "roles",
        "form",
        "use_min",
        "use_max",
        "supplier",
        "pack_size",
        "pack_price",
        "lead_days",
        "like",
        "notes",
    ),
    {"use_min": "%", "use_max": "%", "lead_days": "days"},
)
FORMS = ("liquid", "syrup", "gel", "paste", "powder", "granules", "flakes", "solid")
BLEND = " (and) "
_ALIKE = str.maketrans("01", "ol")
Named = tuple[str, str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Listed:
    """A row of ingredients.csv: the ingredient as far as this table goes, its pack still as written."""

    ingredient: Ingredient
    row: Row
    price: Fraction | None


def names_in(table: Table) -> tuple[Named, ...]:
    """(id, name, aliases) of every row, sound or not, so that other files may speak of it."""
    return tuple((row["id"], row["name"], several(row["aliases"])) for row in table.rows if row["id"])


def read_ingredients(
    table: Table, vocabulary: Vocabulary, findings: Findings, decimal: DecimalMark
) -> tuple[Listed, ...]:
    """The sound rows in the order written."""
    first: dict[str, tuple[str, int]] = {}
    words = {plain(row["id"]): (row["id"], row.line) for row in reversed(table.rows) if row["id"]}
    found = []
    if table.header and not table.rows:
        findings.add(1, "rows", "a row for each ingredient", "headings alone", "add a row below them")
    for row in table.rows:
        cells = Cells(row, row["id"] or "row", COLUMNS, findings, decimal)
        unique = _unique(cells, first)
        if row.broken:
            continue
        _refuse_shared_words(cells, words)
        listed = _listed(cells, vocabulary)
        if listed is not None and unique:
            found.append(listed)
    return tuple(found)


def _unique(cells: Cells, first: dict[str, tuple[str, int]]) -> bool:
    """Whether no id above is the same or looks like this one."""
    text = cells.row["id"]
    key = re.sub(r"[\W_]+", "", text.casefold()).translate(_ALIKE)
    if not key:
        cells.identifier("id")
        return False
    if key in first:
        other, line = first[key]
        if other == text:
            cells.add(
                "id", "each id once", f"{shown(text)} again (first on line {line})", "rename or remove one"
            )
        else:
            cells.add(
                "id",
                "ids that can be told apart",
                f"{shown(text)}, very like {shown(other)} on line {line}",
                "rename or remove one",
            )
        return False
    first[key] = (text, cells.row.line)
    return cells.identifier("id") is not None


def _refuse_shared_words(cells: Cells, words: dict[str, tuple[str, int]]) -> None:
    """An alias that names two ingredients names none."""
    identifier = cells.row["id"]
    for alias in several(cells.row["aliases"]):
        other, line = words.setdefault(plain(alias), (identifier, cells.row.line))
        if other != identifier:
            cells.add(
                "aliases",
                "an alias of one ingredient",
                f"{shown(alias)}, also of {other} on line {line}",
                "leave it out of one of them",
            )


def _listed(cells: Cells, vocabulary: Vocabulary) -> Listed | None:
    row, findings = cells.row, cells.findings
    before = len(findings.problems)
    name, inci = (cells.text(column, needed=True) for column in ("name", "inci"))
    kind, roles = _words(cells, vocabulary)
    least, most = cells.number("use_min", high=100), cells.number("use_max", high=100)
    if least is not None and most is not None and least > most:
        cells.add(
            "use_min", "use_min of at most use_max", f"{row['use_min']} above {row['use_max']}", "swap them"
        )
    price, lead = cells.number("pack_price"), cells.whole("lead_days")
    if price is not None and not row["pack_size"]:
        cells.add("pack_size", "a pack size beside the price", "an empty cell", "such as 500 g")
    if len(findings.problems) > before:
        return None
    sort = vocabulary.kinds[kind]
    ingredient = Ingredient(
        id=row["id"],
        name=name,
        inci=inci,
        kind=kind,
        group=sort.group,
        roles=roles,
        form=row["form"],
        aliases=several(row["aliases"]),
        use_min=least,
        use_max=most,
        supplier=row["supplier"],
        lead_days=lead,
        like=row["like"],
        notes=row["notes"],
        holds="must" if sort.holds == "must" else "range",
        place=Place(findings.file, row.line),
    )
    return Listed(ingredient, row, price)


def _words(cells: Cells, vocabulary: Vocabulary) -> tuple[str, tuple[str, ...]]:
    """Kind and roles, with each word that is not known noted."""
    row, findings = cells.row, cells.findings
    kind, roles, form = cells.text("kind", needed=True), several(row["roles"]), row["form"]
    if kind:
        findings.word(row.line, cells.entry, kind, vocabulary.kinds, "a kind", row.cell("kind"))
    for role in roles:
        findings.word(row.line, cells.entry, role, vocabulary.roles, "a role", row.cell("roles"))
    if form:
        findings.word(row.line, cells.entry, form, FORMS, "a form", row.cell("form"))
    return kind, roles
