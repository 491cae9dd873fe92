"""One row of a table as a form: shown with every column, and what is typed, added or taken out begun."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from optimiser.errors import DataError
from optimiser.loading.csv_spans import Record
from optimiser.loading.described import OWNED, PROPERTIES, Described
from optimiser.loading.reference import load_vocabulary
from optimiser.page.addresses import screen_of
from optimiser.page.desk import Seen
from optimiser.page.edits import At, Edit, Edits, Written
from optimiser.page.show import Page, to, word
from optimiser.page.views.changes import files_shown
from optimiser.page.views.columns import COLUMNS, WORDS
from optimiser.page.views.facts import HEADINGS, Section, Teller
from optimiser.page.views.fields import fault_shown, fields, offers, with_more
from optimiser.page.views.table import uses
from optimiser.problems import Problem
from optimiser.workflows.table import Plan, TableFile, lies, not_here, open_table, table_of
from optimiser.workflows.table_rows import Rows, Whose, rows_of, whose

LONGEST_NAME = 200
NO_INGREDIENT = "No ingredient of the table is called so."
STEPPED = {
    "back": "Taken back: the files say again what they said before.",
    "again": "Written again.",
}
NO_ROW = "This ingredient has no such row of its own."
LATE = (
    "This form was opened too long ago to tell what you changed in it. What you typed stands in the fields; "
    "where the file says something else, that stands beneath. Nothing was written."
)
ROW_GONE = (
    "{what} is not in {file} any more. What you typed stands in the fields, and may be written as a new row. "
    "Nothing was written."
)
OWNER_GONE = (
    "No ingredient of the table is called {owner} any more, so nothing can be written of it here. What you "
    "typed stands in the fields, to be copied to where it belongs now. Nothing was written."
)


def at_asked(request: Request) -> At:
    """The row that the address speaks of. Raises HTTPException 404 where its table is none."""
    name, table = (request.path_params.get(part, "") for part in ("name", "table"))
    if not table:
        return At(row=name)
    if table not in OWNED:
        raise HTTPException(404, "There is no such table of an ingredient.")
    return At(OWNED[table], name, request.query_params.get("row", ""))


def at_of(page: Page, request: Request) -> At:
    """The row that the address speaks of. Raises HTTPException 404 where its table or ingredient is none."""
    at = at_asked(request)
    if not _owner_there(page, at):
        raise HTTPException(404, NO_INGREDIENT)
    return at


def _owner_there(page: Page, at: At) -> bool:
    """Whether the ingredient that the row is of stands in the table of ingredients."""
    return not at.owner or open_table(page.desk.folder).row(at.owner) is not None


def rows_at(page: Page, at: At, table: TableFile) -> Rows:
    """The rows of the table that hold for the ingredient."""
    return rows_of(table, _whose(open_table(page.desk.folder), at.owner))


def _whose(ingredients: TableFile, name: str) -> Whose:
    return whose(ingredients, name, load_vocabulary())


def row_at(page: Page, at: At, table: TableFile) -> Record:
    """The row itself. Raises HTTPException 404 for one that is not the ingredient's own."""
    row = _found(page, at, table)
    if row is None:
        raise _none(at)
    return row


def _found(page: Page, at: At, table: TableFile) -> Record | None:
    return table.row(at.row) if not at.owner else rows_at(page, at, table).own.get(at.row)


def _none(at: At) -> HTTPException:
    return HTTPException(404, NO_ROW if at.owner else NO_INGREDIENT)


def currency(page: Page) -> str:
    seen = page.desk.look()
    return seen.sources.worktable.settings.currency if seen.sources else ""


def last_shown(page: Page, history: Written, request: Request | None = None) -> dict[str, object]:
    """What was written last, ready to be taken back, and what was taken back last, ready to be written again;
    with what the address says of it, as long as the files bear it out.
    """
    steps = {"done": history.done[-1:], "undone": history.undone[-1:]}
    shown = {
        name: {"digest": plan.digest, "files": files_shown(plan.changes, past=True)}
        for name, plans in steps.items()
        for plan in plans
    }
    before = max(0, len(history.done) - 1)
    said = _stepped(page, history, request.query_params) if request else ""
    return {**shown, "before": before, "forgotten": history.forgotten, "said": said}


def _stepped(page: Page, history: Written, given: Mapping[str, str]) -> str:
    """That a write was taken back, or written again, where that came last and the files still are so."""
    for way, plans, after in (("back", history.undone, False), ("again", history.done, True)):
        last = plans[-1] if plans else None
        if last and given.get(way) == mark_of_step(last) and lies(page.desk.folder, last, after=after):
            return STEPPED[way]
    return ""


def mark_of_step(plan: Plan) -> str:
    """By what the address of the screen after a step names the plan."""
    return plan.digest[:12]


def kept_of(edits: Edits, request: Request) -> Edit | None:
    """The change that was set aside for what stands in the file, where the address names one."""
    name = request.query_params.get("kept", "")
    try:
        return edits.get(name) if name else None
    except HTTPException:
        return None


def blank(page: Page, edits: Edits, request: Request) -> Response:
    """A row to be added; one of a kind or group, or a word to begin with, lends it what it says."""
    at = at_of(page, request)
    table, texts = open_table(page.desk.folder, at.described), {}
    if lender := request.query_params.get("as", ""):
        row = rows_at(page, At(at.described, at.owner), table).lent.get(lender)
        texts = table.sheet.cells(row) if row else {}
        texts = {name: text for name, text in texts.items() if name not in ("source", "date")}
    elif begin := request.query_params.get("begin", "")[:LONGEST_NAME]:
        texts = _with_unit(at.described, dict.fromkeys(at.described.keys[1:], begin))
    return form_page(page, edits, At(at.described, at.owner), table, texts)


def one(page: Page, edits: Edits, request: Request) -> Response:
    """A row as it stands in the file, its faults at their fields."""
    at = at_of(page, request)
    table = open_table(page.desk.folder, at.described)
    row = row_at(page, at, table)
    problems = _problems_at(page, at.described, row)
    kept = kept_of(edits, request)
    cells = table.sheet.cells(row)
    return form_page(page, edits, at, table, cells, problems=problems, kept=kept, request=request)


def _problems_at(page: Page, described: Described, row: Record) -> list[Problem]:
    found = page.desk.look().problems
    return [one for one in found if one.file == described.file and one.line == row.line]


def form_page(
    page: Page,
    edits: Edits,
    at: At,
    table: TableFile,
    texts: Mapping[str, str],
    *,
    problems: Iterable[Problem] = (),
    elsewhere: Iterable[Problem] = (),
    status: int = 200,
    kept: Edit | None = None,
    told: str = "",
    request: Request | None = None,
) -> Response:
    """The row with every column labelled; `problems` stand at their fields, those `elsewhere` above, where
    `told` says why the form comes back.
    """
    name, vocabulary, row = at.described.name, load_vocabulary(), table.row(at.row)
    columns = {column.name for column in COLUMNS[name]}
    at_fields = [one for one in problems if one.cell in columns]
    rest = [*elsewhere, *(one for one in problems if one.cell not in columns)]
    stands = table.sheet.cells(row) if row else None
    about = _around_a_row(page, at, table) if at.owner else _around(page, table, at.row)
    return page.show(
        "row.html" if at.owner else "ingredient.html",
        status,
        step="have",
        at=at,
        title=texts.get("name", "") or at.row,
        line=row.line if row else None,
        fields=fields(name, texts, vocabulary, currency(page), at_fields, stands),
        offers=offers(name, vocabulary),
        faults=tuple(map(fault_shown, rest)),
        wrong=len(at_fields) + len(rest),
        seen=edits.shown(table.data),
        last=last_shown(page, edits.history, request),
        kept=kept,
        told=told,
        **about,
    )


def _around_a_row(page: Page, at: At, table: TableFile) -> dict[str, object]:
    """Of which ingredient the row is."""
    ingredients = open_table(page.desk.folder)
    row = ingredients.row(at.owner)
    called = ingredients.sheet.cell(row, "name") if row else ""
    return {
        "words": WORDS[at.described.name],
        "home": screen_of(at.owner),
        "called": called or at.owner,
        "there": row is not None,
        "new": table.data is None,
    }


def _around(page: Page, ingredients: TableFile, name: str) -> dict[str, object]:
    """What formulas and the other tables say of the ingredient."""
    if not name:
        return {"used": (), "sections": ()}
    seen = page.desk.look()
    worktable = seen.sources.worktable if seen.sources else None
    used = uses(worktable, name, page.figures) if worktable else ()
    teller = Teller(load_vocabulary(), page.figures, currency(page))
    owner = _whose(ingredients, name)
    sections = (_section(page, seen, teller, owner, one) for one in OWNED.values())
    return {"used": used, "sections": tuple(sections)}


def _section(page: Page, seen: Seen, teller: Teller, owner: Whose, described: Described) -> Section:
    own = seen.sources.worktable.ingredients.get(owner.id) if seen.sources else None
    if elsewhere := not_here(page.desk.folder, described):
        return teller.elsewhere(described, elsewhere, own)
    try:
        table = open_table(page.desk.folder, described)
    except DataError as fault:
        broken = tuple(one.sentence() for one in fault.problems if isinstance(one, Problem))
        return Section(described, WORDS[described.name], HEADINGS[described.name], broken=broken)
    return teller.section(table, rows_of(table, owner), seen.problems, own)


def typed(page: Page, edits: Edits, at: At, form: FormData) -> Response:
    """The row as typed, against the table as it was when its form was shown."""
    cells = _cells(at, form)
    data = edits.version(word(form, "seen"))
    shown = table_of(data, at.described) if data is not None else None
    table = shown or open_table(page.desk.folder, at.described)
    row = _found(page, at, table)
    if row is None:
        return _gone(page, edits, at, cells)
    if data is None:
        return form_page(page, edits, at, table, cells, status=409, told=LATE)
    was = plain_cells(table.sheet.cells(row))
    cells |= {"ingredient": was["ingredient"]} if at.owner else {}
    return begun(edits, Edit("", "edit", at, {at.file: data}, cells, was))


def _gone(page: Page, edits: Edits, at: At, cells: Mapping[str, str]) -> Response:
    """What was typed of a row that is not there any more, to become a new one where its ingredient still is.

    Raises HTTPException 404 where nothing was typed.
    """
    if not any(cells.values()):
        raise _none(at)
    table = open_table(page.desk.folder, at.described)
    if not _owner_there(page, at):
        return form_page(page, edits, at, table, cells, status=409, told=OWNER_GONE.format(owner=at.owner))
    told = ROW_GONE.format(what="This row" if at.owner else "This ingredient", file=at.file)
    return form_page(page, edits, At(at.described, at.owner), table, cells, status=409, told=told)


def added(page: Page, edits: Edits, at: At, form: FormData) -> Response:
    cells = _cells(at, form)
    if not _owner_there(page, at):
        return _gone(page, edits, at, cells)
    table = open_table(page.desk.folder, at.described)
    cells |= {"ingredient": at.owner} if at.owner else {}
    return begun(edits, Edit("", "add", At(at.described, at.owner), {at.file: table.data}, cells))


def removed(page: Page, edits: Edits, at: At, _form: FormData) -> Response:
    table = open_table(page.desk.folder, at.described)
    cells = table.sheet.cells(row_at(page, at, table))
    return begun(edits, Edit("", "remove", at, {at.file: table.data}, cells))


def begun(edits: Edits, edit: Edit) -> Response:
    """To the change as it is shown before it is written."""
    return to(f"/edit/{edits.start(edit).id}")


def _cells(at: At, form: FormData) -> dict[str, str]:
    names = [column.name for column in COLUMNS[at.described.name]]
    more = {name: [str(one) for one in form.getlist(f"{name}-also")] for name in names}
    cells = plain_cells({name: with_more(word(form, name), more[name]) for name in names})
    return _with_unit(at.described, cells)


def _with_unit(described: Described, cells: dict[str, str]) -> dict[str, str]:
    """A number whose unit is left open has that of its property."""
    meant = load_vocabulary().properties.get(cells.get("property", "")) if described is PROPERTIES else None
    return {**cells, "unit": meant.unit} if meant and not cells.get("unit") else cells


def plain_cells(cells: Mapping[str, str]) -> dict[str, str]:
    """Cells with line ends of one sort; a form cannot tell them apart."""
    return {name: text.replace("\r\n", "\n").replace("\r", "\n").strip() for name, text in cells.items()}
