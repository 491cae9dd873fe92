"""A trial: looked at, written down, corrected."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from functools import partial
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.domain.readings import READABLE, SETTABLE
from optimiser.domain.trials import Entry, Trial
from optimiser.domain.vocabulary import unit_words
from optimiser.errors import OptimiserError, UsageError
from optimiser.loading.trials import trial_files
from optimiser.page.notices import GONE, Beside, looks
from optimiser.page.questions import Fault
from optimiser.page.show import Page, day_of, to, whole, word
from optimiser.page.views.trial import trial_of
from optimiser.page.wrong_fields import in_plain_words, in_unit, pair_of, plainly, wrong_fields
from optimiser.requests.sources import Sources
from optimiser.workflows.recording import entries_of, far_off, without_shear
from optimiser.workflows.trials import get_trial, record

MEASURES = tuple((name, one.words, unit_words(one.unit)) for name, one in READABLE.items())
TEXTS = ("spread", "at_c", "instrument", "spindle", "rate", "rpm", "stored", "light", "who")
_writing = threading.Lock()


def routes(page: Page) -> list[Route]:
    async def trial(request: Request) -> Response:
        name = request.path_params["name"]
        count = whole(request.query_params.get("kept", ""))
        return await run_in_threadpool(_trial, page, name, count)

    async def write(request: Request) -> Response:
        form = await page.form(request)
        return await run_in_threadpool(_written, page, request.path_params["name"], form)

    beside = Beside(partial(_there, page), gone="The file of this trial was taken away.")
    return [
        Route("/trial/{name}", trial),
        *looks(page, "/trial/{name}", lambda name, _then: known_trial(page, name), beside),
        Route("/trial/{name}/record", write, methods=["POST"]),
    ]


def known_trial(page: Page, name: str) -> Trial:
    """Only names that the folder lists: nothing typed becomes a path."""
    if _there(page, name):
        raise HTTPException(404, "No trial of this folder is called so.")
    return get_trial(page.desk.folder, name)


def _there(page: Page, name: str) -> str:
    """Nothing for a name that the folder lists, else GONE; entries are counted by the form itself."""
    return "" if name in {path.stem for path in trial_files(page.desk.folder)} else GONE


def _trial(
    page: Page,
    name: str,
    kept: int = 0,
    typed: Mapping[str, str] | None = None,
    fault: Fault | None = None,
    wrong: Mapping[str, Fault] | None = None,
) -> Response:
    """The trial; with a fault what was typed stands in its fields again, and nothing was written.

    Fields that are `wrong` say so beside them.
    """
    found = known_trial(page, name)
    seen = page.desk.look()
    table = seen.needed().worktable
    stem = found.proposal.removesuffix(".yaml")
    formula = table.formulas.get(found.formula)
    return page.show(
        "trial.html",
        409 if fault else 200,
        shown=trial_of(found, table.ingredients, page.figures),
        of=seen.stamp,
        formula=formula,
        proposal=stem if stem in page.desk.proposals() else "",
        measures=MEASURES,
        settings=[(name, one.words, unit_words(one.unit)) for name, one in SETTABLE.items()],
        typed=typed or {},
        fault=fault,
        wrong=wrong or {},
        kept=min(kept, len(found.entries)),
        far=[plainly(text) for text in (*far_off(found, kept), *without_shear(found, kept))] if kept else [],
    )


def _written(page: Page, name: str, form: FormData) -> Response:
    trial = known_trial(page, name)
    typed = {key: value for key, value in form.multi_items() if isinstance(value, str)}
    try:
        entries = _entries(page.desk.sources(), trial, form)
        with _writing:
            if len(get_trial(page.desk.folder, name).entries) != whole(word(form, "seen"), -1):
                fix = "look at what stands below now, then write yours again: the fields still hold it"
                raise UsageError("something was written down for this trial meanwhile", fix)
            record(page.desk.folder, name, entries)
    except OptimiserError as fault:
        wrong = wrong_fields(page.desk.sources(), trial, form)
        return _trial(page, name, 0, typed, in_plain_words(fault), wrong)
    return to(f"/trial/{quote(name)}?kept={len(entries)}")


def _entries(sources: Sources, trial: Trial, form: FormData) -> tuple[Entry, ...]:
    """Everything of the form as entries: taken back, weighed line by line, read and seen, decided."""
    day, who = day_of(word(form, "day")), word(form, "who")
    found: list[Entry] = []
    if word(form, "correct"):
        found += entries_of(sources, day, {"correct": whole(word(form, "correct")), "who": who})
    for name in dict.fromkeys(line.ingredient for line in trial.lines):
        amount = word(form, f"weighed-{name}")
        if amount:
            of_line = {"weighed": (f"{name}={in_unit(amount, 'g')}",), "lot": word(form, f"lot-{name}")}
            found += entries_of(sources, day, {**of_line, "who": who})
    said = _seen(form)
    if any(said[key] for key in ("stored", "light", "cycles")) and not _looked(said):
        raise UsageError("nothing was seen of the kept jar", "add what was read, felt or seen of it")
    rest = ("made", "challenge", "photo", "remark", "accept", "drop")
    if _looked(said) or any(said[key] for key in rest):
        found += entries_of(sources, day, said)
    if not found:
        raise UsageError("nothing to write down", "fill in what was weighed, read or seen")
    return tuple(found)


def _looked(said: Mapping[str, object]) -> bool:
    return bool(said["reads"] or said["felt"] or said["looked"])


def _seen(form: FormData) -> dict[str, object]:
    """Keys as the workflow reads them."""
    reads = pair_of(form, "measure", "value")
    for name, _, _ in MEASURES:
        if word(form, f"read-{name}"):
            reads.append(f"{name}={in_unit(word(form, f'read-{name}'), READABLE[name].unit)}")
    said: dict[str, object] = {key: word(form, key) for key in TEXTS}
    cycles = word(form, "cycles")
    if cycles and not whole(cycles):
        raise UsageError(f'"{cycles}" is no count of times frozen and thawed', "write a whole number")
    decided = word(form, "decide")
    return {
        **said,
        "cycles": whole(cycles) or None,
        "reads": tuple(reads),
        "felt": tuple(pair_of(form, "felt", "score")),
        "made": tuple(pair_of(form, "setting", "set_to")),
        **{key: word(form, key) for key in ("looked", "challenge", "photo", "remark")},
        "accept": decided == "accept",
        "drop": decided == "drop",
    }
