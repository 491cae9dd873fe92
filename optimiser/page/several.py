"""Many flags told from one paper: one form, one source, one write."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from optimiser.loading.described import FLAGS
from optimiser.loading.reference import load_vocabulary
from optimiser.page.addresses import screen_of
from optimiser.page.edits import PAPER, At, Edit, Edits, mark_of
from optimiser.page.forming import NO_INGREDIENT, OWNER_GONE, begun, last_shown, plain_cells, rows_at
from optimiser.page.show import Page, word
from optimiser.page.views.fields import CHOICES, fault_shown, fields
from optimiser.problems import Problem
from optimiser.workflows.table import TableFile, open_table


@dataclass(frozen=True, slots=True)
class Open:
    """A flag to be told: what it means, what holds of it by kind or group, and what is chosen.

    `stands` is what its own row says, at the address `row`, where that came after it was chosen.
    """

    flag: str
    mark: str
    means: str
    lent: str
    chosen: str
    stands: str = ""
    row: str = ""


def blank_paper(page: Page, edits: Edits, request: Request) -> Response:
    return paper_page(page, edits, request.path_params["name"], {})


def paper_page(
    page: Page,
    edits: Edits,
    owner: str,
    typed: Mapping[str, str],
    *,
    problems: Iterable[Problem] = (),
    elsewhere: Iterable[Problem] = (),
    status: int = 200,
) -> Response:
    """Every flag of which the ingredient has no own row, or that was chosen before it had one; `problems` are
    those of the rows to be written.

    Of an ingredient that is gone or has another id by now, what was typed. Raises HTTPException 404 where
    nothing was.
    """
    ingredients, table = open_table(page.desk.folder), open_table(page.desk.folder, FLAGS)
    row = ingredients.row(owner)
    if row is None and not typed:
        raise HTTPException(404, NO_INGREDIENT)
    once = tuple(dict.fromkeys(replace(one, line=None, entry="") for one in problems))
    at_fields = [one for one in once if one.cell in PAPER]
    rest = [*(one for one in problems if one.cell not in PAPER), *elsewhere]
    vocabulary = load_vocabulary()
    return page.show(
        "several.html",
        409 if row is None else status,
        step="have",
        called=(ingredients.sheet.cell(row, "name") if row else "") or owner,
        told="" if row else OWNER_GONE.format(owner=owner),
        owner=owner,
        home=screen_of(owner),
        fields=[one for one in fields("flags", typed, vocabulary, "", at_fields) if one.column.name in PAPER],
        asked=_asked(page, owner, table, typed),
        states=CHOICES["state"](vocabulary),
        faults=tuple(map(fault_shown, rest)),
        wrong=len(at_fields) + len(rest),
        last=last_shown(page, edits.history),
    )


def _asked(page: Page, owner: str, table: TableFile, typed: Mapping[str, str]) -> tuple[Open, ...]:
    rows, sheet = rows_at(page, At(FLAGS, owner), table), table.sheet
    own = {sheet.cell(row, "flag"): (name, sheet.cell(row, "state")) for name, row in rows.own.items()}
    lent = {
        sheet.cell(row, "flag"): f"{sheet.cell(row, 'state')}, from {sheet.cell(row, 'ingredient')}"
        for row in rows.lent.values()
    }
    found = []
    for flag, means in load_vocabulary().flags.items():
        one = Open(flag, mark_of(flag), means, lent.get(flag, ""), typed.get(mark_of(flag), ""))
        if flag in own and one.chosen:
            name, state = own[flag]
            found.append(replace(one, stands=state, row=At(FLAGS, owner, name).address))
        elif flag not in own:
            found.append(one)
    return tuple(found)


def paper_told(page: Page, edits: Edits, at: At, form: FormData) -> Response:
    """What the paper says, of the flags that were chosen."""
    table = open_table(page.desk.folder, FLAGS)
    names = (*PAPER, *map(mark_of, load_vocabulary().flags))
    typed = plain_cells({name: word(form, name) for name in names if word(form, name)})
    if open_table(page.desk.folder).row(at.row) is None:
        return paper_page(page, edits, at.row, typed)
    return begun(edits, Edit("", "several", At(FLAGS, at.row), {FLAGS.file: table.data}, typed))
