"""Every field of a trial's form that cannot be read, each with what is wrong of it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date

from starlette.datastructures import FormData

from optimiser.domain.readings import READABLE, SETTABLE
from optimiser.domain.trials import Trial
from optimiser.errors import OptimiserError
from optimiser.page.faults import fault_of
from optimiser.page.questions import Fault
from optimiser.page.show import word
from optimiser.requests.sources import Sources
from optimiser.workflows.recording import WITH_SHEAR, entries_of

BARE = re.compile(r"[0-9]+([.,][0-9]+)?", re.ASCII)
OPTION = re.compile(r"--[a-z_]+[ =]?")
PAIR = re.compile(r'"[^"=]*=([^"]*)"')
TWICE = re.compile(r'("([^"]*)"): \2 is not')
HINTS = {
    "give one of --accept and --drop": "press one of the two",
    "a score is written with --felt": "a score goes into the field for scores",
}
SHEAR_FIELD = "Write it again with its shear, such as 10, under “More about this reading”,"
AS_READ = re.compile(r"write it with --read$")
NUMBERS = ("spread", "at_c", "rate", "rpm", "stored")
SOME_DAY = date(2026, 1, 1)
Said = Mapping[str, object]


def plainly(text: str) -> str:
    """Words for the page where the workflow speaks of options of the command line."""
    text = text.replace(WITH_SHEAR, SHEAR_FIELD)
    text = re.sub(r"take (this|one) back with --correct (\d+)", r"take entry \2 back", text)
    return OPTION.sub("", AS_READ.sub("write it as a reading", HINTS.get(text, text)))


def in_plain_words(fault: OptimiserError) -> Fault:
    told = fault_of(fault)
    return replace(told, what=plainly(told.what), fix=plainly(told.fix))


def in_unit(text: str, unit: str) -> str:
    """A bare number stands for the unit that is printed beside its field."""
    return f"{text} {unit}" if unit and BARE.fullmatch(text) else text


def pair_of(form: FormData, name: str, value: str) -> list[str]:
    """`softness=7`; half a pair is told by the one who reads it."""
    what, much = word(form, name), word(form, value)
    known = (SETTABLE if name == "setting" else READABLE).get(what)
    unit = known.unit if known else ""
    return [f"{what}={in_unit(much, unit)}"] if much else []


def wrong_fields(sources: Sources, trial: Trial, form: FormData) -> dict[str, Fault]:
    """By the name of the field, in the order of the form; empty where each can be read by itself."""
    found = {}
    try:
        date.fromisoformat(word(form, "day"))
    except ValueError:
        found["day"] = Fault(f'"{word(form, "day")}" is no day', "write it as 2026-11-25")
    for field, said in _alone(trial, form):
        fault = _fault(sources, said)
        if fault is not None and not (field == "set_to" and "setting" in found):
            found[field] = fault
    cycles = word(form, "cycles")
    if cycles and not (cycles.isascii() and cycles.isdigit() and int(cycles)):
        found["cycles"] = Fault(f'"{cycles}" is no count of times frozen and thawed', "write a whole number")
    return found


def _alone(trial: Trial, form: FormData) -> Iterator[tuple[str, Said]]:
    """Each field with what would be written if nothing else stood in the form."""
    for name in dict.fromkeys(line.ingredient for line in trial.lines):
        if amount := word(form, f"weighed-{name}"):
            yield f"weighed-{name}", {"weighed": (f"{name}={in_unit(amount, 'g')}",)}
    setting, much = word(form, "setting"), pair_of(form, "setting", "set_to")
    if much and setting not in SETTABLE:
        yield "setting", {"made": (f"{setting or '-'}=1 bar",)}
    if much and setting:
        yield "set_to", {"made": tuple(much)}
    yield "value", {"reads": tuple(pair_of(form, "measure", "value"))}
    if score := word(form, "score"):
        yield "felt", {"felt": (f"{word(form, 'felt') or '-'}=5",)}
        yield "score", {"felt": (f"softness={score}",)}
    for name in NUMBERS:
        if word(form, name):
            yield name, {name: word(form, name), "looked": "as before"}


def _fault(sources: Sources, said: Said) -> Fault | None:
    if not any(said.values()):
        return None
    try:
        entries_of(sources, SOME_DAY, said)
    except OptimiserError as fault:
        told = in_plain_words(fault)
        return replace(told, what=TWICE.sub(r"\1 is not", PAIR.sub(r'"\1"', told.what)))
    return None
