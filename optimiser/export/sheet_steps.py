"""The order of addition: the formula's own steps that are still true, and the new lines' own."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from optimiser.domain.formula import Formula, Phase, Step
from optimiser.domain.ingredient import Way
from optimiser.domain.selector import Pick, matches
from optimiser.export.plain import clean
from optimiser.export.sheet import SheetLine, SheetStep, StepKind
from optimiser.export.sheet_checks import HEAT_SENSITIVE_C, heat_limit
from optimiser.export.wording import Wording, joined, pick_from, sentence

STAGES = (
    "sanitise",
    "weigh",
    "slurry",
    "water",
    "powder",
    "oil",
    "combine",
    "cool-down",
    "adjust",
    "rest",
    "fill",
    "next-day",
)
DEGREES = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*°C")
OFF_THE_HEAT_C = Fraction(60)
UNDECIDED = "no known way of adding: decide before starting"


@dataclass(frozen=True, slots=True)
class Bench:
    """What the steps are written from: the lines as weighed, by phase, and which line fills up to 100 %.

    `first` is, by line number, how many grams of a dosed line surely stay short of its reading, where known.
    """

    formula: Formula
    lines: tuple[tuple[str, SheetLine], ...]
    filler: tuple[str, str]
    wording: Wording
    batch: str
    first: Mapping[int, Fraction] = field(default_factory=dict)

    def of_phase(self, name: str) -> tuple[SheetLine, ...]:
        return tuple(line for phase, line in self.lines if phase == name)

    @property
    def there(self) -> frozenset[str]:
        return frozenset(line.ingredient for _, line in self.lines)

    @property
    def gone(self) -> tuple[str, ...]:
        return tuple(sorted(self.formula.ingredients - self.there))

    def way(self, identifier: str) -> Way | None:
        ingredient = self.wording.ingredients.get(identifier)
        return ingredient.way if ingredient else None

    def amount(self, line: SheetLine) -> str:
        return self.wording.grams(line.grams, line.places)


@dataclass(frozen=True, slots=True)
class _Draft:
    """A step before it has its number. `stage` is its place in the usual order, where that is known."""

    text: str
    kind: StepKind
    stage: int | None
    about: tuple[str, ...] = ()
    check: str = ""
    ready: bool = True
    melted: bool = False


def steps_of(bench: Bench, phase: Phase, first: int) -> tuple[SheetStep, ...]:
    """The steps of one phase, numbered from `first`; none when nothing of the phase is left."""
    lines = bench.of_phase(phase.name)
    if not lines:
        return ()
    drafts = [draft for step in phase.steps if (draft := _kept(step, phase, bench)) is not None]
    told = {one for draft in drafts for one in draft.about}
    for line in lines:
        if line.ingredient not in told and (line.came or not phase.steps):
            _insert(drafts, _added(line, phase.name, bench))
    for line in lines:
        if line.dosed:
            _insert(drafts, _dosing(line, bench))
    drafts = _holding_back(phase.name, bench) + drafts
    return tuple(
        SheetStep(first + i, f"{draft.text}{_cool(draft, bench)}", draft.kind, draft.check, draft.ready)
        for i, draft in enumerate(drafts)
    )


def _cool(draft: _Draft, bench: Bench) -> str:
    """How cool it has to be for what goes in, where the step does not say so; of a dose at its dosing."""
    said = [Fraction(one.replace(",", ".")) for one in DEGREES.findall(draft.text)]
    limits: dict[Fraction, list[str]] = {}
    dosed = {line.ingredient for _, line in bench.lines if line.dosed} if draft.kind != "dose" else set()
    for name in (one for one in draft.about if one not in dosed):
        ingredient = bench.wording.ingredients.get(name)
        limit = heat_limit(ingredient) if ingredient is not None and ingredient.way is not None else None
        if limit is not None and limit <= HEAT_SENSITIVE_C and not any(one <= limit for one in said):
            limits.setdefault(limit, []).append(name)
    w = bench.wording
    return "".join(
        f" {w.names(names)} {'goes' if len(names) == 1 else 'go'} in at {w.number(limit)} °C or cooler."
        for limit, names in sorted(limits.items())
    )


def _kept(step: Step, phase: Phase, bench: Bench) -> _Draft | None:
    """The formula's step: gone with all it is about, marked when some of that is gone."""
    own = {line.ingredient for line in phase.lines}
    here = {line.ingredient for line in bench.of_phase(phase.name)}
    lost = [one for one in step.about if one not in here and (one in own or one not in bench.there)]
    if step.about and len(lost) == len(step.about):
        return None
    text = sentence(step.text)
    named = [one for one in bench.gone if one not in lost and _names(text, one, bench)]
    marks = []
    if away := [one for one in (*lost, *named) if one not in bench.there]:
        marks.append(f"{_is(bench.wording, away)} no longer in the formula")
    if moved := [one for one in lost if one in bench.there]:
        marks.append(f"{_is(bench.wording, moved)} no longer in this phase")
    check = f"Check this step: {joined(marks)}." if marks else ""
    present = tuple(one for one in step.about if one not in lost)
    known = [stage for one in present if (stage := _stage(bench.way(one))) is not None]
    return _Draft(text, "formula", max(known, default=None), present, check)


def _is(wording: Wording, identifiers: list[str]) -> str:
    return f"{wording.names(identifiers)} {'is' if len(identifiers) == 1 else 'are'}"


def _names(text: str, identifier: str, bench: Bench) -> bool:
    """Whether the text speaks of the ingredient by its name, an alias or its id."""
    ingredient = bench.wording.ingredients.get(identifier)
    words = {
        identifier,
        identifier.replace("-", " "),
        *((ingredient.name, *ingredient.aliases) if ingredient else ()),
    }
    folded = text.casefold()
    return any(
        re.search(rf"(?<!\w){re.escape(clean(word).casefold())}(?!\w)", folded)
        for word in words
        if len(clean(word)) > 2
    )


def _stage(way: Way | None) -> int | None:
    return STAGES.index(way.stage) if way is not None and way.stage in STAGES else None


def _insert(drafts: list[_Draft], new: _Draft) -> None:
    """After the steps about the same ingredient, else after the last step of its stage or an earlier one.

    What is `melted` with others goes in front of the first step of its stage: the pot is filled, then heated.
    """
    same = [i for i, draft in enumerate(drafts) if set(draft.about) & set(new.about)]
    if same:
        drafts.insert(same[-1] + 1, new)
        return
    if new.stage is None:
        drafts.insert(0, new)
        return
    staged = [(i, draft.stage) for i, draft in enumerate(drafts) if draft.stage is not None]
    before = [
        i
        for i, stage in staged
        if stage < new.stage or (stage == new.stage and (drafts[i].melted or not new.melted))
    ]
    drafts.insert(before[-1] + 1 if before else 0 if staged else len(drafts), new)


def _added(line: SheetLine, phase: str, bench: Bench) -> _Draft:
    """The step a line brings itself, from its known way of adding."""
    way = bench.way(line.ingredient)
    head = f"{line.name}, {'up to ' if line.dosed else ''}{bench.amount(line)}"
    if way is None or not clean(way.add_as):
        return _Draft(f"{head}: {UNDECIDED}.", "undecided", None, (line.ingredient,), ready=False)
    carrier, carried = _carrier(line, way, phase, bench)
    missing = [what for text in way.needs.split(";") if (what := _missing(clean(text), bench))]
    checks = [*([] if carried else [carrier]), *(f"It needs {what}, which no line is." for what in missing)]
    parts = [f"{head}: {sentence(way.add_as)}", carrier if carried else "", _heat(way, bench.wording)]
    if way.wait_min:
        parts.append(f"Leave for {bench.wording.number(way.wait_min)} min.")
    if way.wear:
        parts.append(f"Wear: {joined(map(clean, way.wear))}.")
    check = f"{' '.join(checks)} Decide before starting." if checks else ""
    melted = way.stage == "oil" and (way.add_to_c is None or way.add_to_c > OFF_THE_HEAT_C)
    text = " ".join(filter(None, parts))
    return _Draft(text, "new", _stage(way), (line.ingredient,), check, not checks, melted)


def _carrier(line: SheetLine, way: Way, phase: str, bench: Bench) -> tuple[str, bool]:
    """What the line is carried in by, in words, and whether the formula has enough of it."""
    if not way.carried_by:
        return "", True
    wanted, w = pick_from(way.carried_by), bench.wording
    need = None if way.carried_ratio is None else way.carried_ratio * line.grams
    ratio = "" if way.carried_ratio is None else f", {w.number(way.carried_ratio)} parts to 1"
    found = (
        []
        if wanted is None
        else [
            (name, one)
            for name, one in bench.lines
            if one.ingredient != line.ingredient and _is_a(wanted, one, bench)
        ]
    )
    if not found:
        return f"It wants a carrier ({_said(way.carried_by)}{ratio}), which no line is.", False
    here = [(name, one) for name, one in found if name == phase]
    if here and (need is None or _sum(here) >= need):
        found = here
    there = "" if found == here else f" (phase {joined(dict.fromkeys(clean(name) for name, _ in found))})"
    names = joined(dict.fromkeys(one.name for _, one in found))
    if need is None:
        return f"Carrier: {names}{there}.", True
    amount = w.grams(need, line.places)
    if _sum(found) < need:
        has = w.grams(_sum(found), line.places)
        return f"It wants {amount} of carrier ({names}{there}{ratio}) and the formula has {has}.", False
    return f"Carrier: {amount} of {names}{there}{ratio}.", True


def _sum(found: Iterable[tuple[str, SheetLine]]) -> Fraction:
    return sum((line.grams for _, line in found), Fraction(0))


def _is_a(wanted: Pick, line: SheetLine, bench: Bench) -> bool:
    ingredient = bench.wording.ingredients.get(line.ingredient)
    return ingredient is not None and matches(wanted, ingredient) is True


def _missing(text: str, bench: Bench) -> str:
    """The need in words when no line meets it; empty when one does or nothing is needed."""
    if not text:
        return ""
    wanted = pick_from(text)
    met = wanted is not None and any(_is_a(wanted, line, bench) for _, line in bench.lines)
    return "" if met else _said(text)


def _said(selector: str) -> str:
    field, _, name = clean(selector).partition(":")
    return f"{field} {name}".strip()


def _heat(way: Way, wording: Wording) -> str:
    low, high = way.add_from_c, way.add_to_c
    if low is not None and high is not None:
        return f"At {wording.number(low)} to {wording.number(high)} °C."
    if high is not None:
        return f"At {wording.number(high)} °C or cooler."
    return "" if low is None else f"At {wording.number(low)} °C or warmer."


def _dosing(line: SheetLine, bench: Bench) -> _Draft:
    """How a line is added to a reading: a first part, read, then drop by drop, never above the ceiling."""
    ceiling = bench.amount(line)
    rest = _spare(bench)
    end = f" Then bring the batch to {bench.batch} with {rest.name}." if rest else ""
    text = (
        f"{line.name}: weigh up to {ceiling}. {_first_part(line, bench)} then go on drop by drop to "
        f"{clean(line.dosed)}; stop at {ceiling} even if the reading is not there yet, and write down what "
        f"went in.{end}"
    )
    return _Draft(text, "dose", STAGES.index("adjust"), (line.ingredient,))


def _first_part(line: SheetLine, bench: Bench) -> str:
    """What surely stays short of the reading where that is predicted, else half."""
    first = bench.first.get(line.number)
    if first is None:
        step = Fraction(1, 10**line.places)
        half = math.floor(line.grams / 2 / step) * step
        return f"Add half ({bench.wording.grams(half, line.places)}), stir, read,"
    if not first:
        return "Read before any goes in,"
    return f"Add {bench.wording.grams(first, line.places)} (by the data too little), stir, read,"


def _spare(bench: Bench) -> SheetLine | None:
    """The line that makes up for a dose that stayed under its ceiling: a filler that is a water."""
    for phase, line in bench.lines:
        ingredient = bench.wording.ingredients.get(line.ingredient)
        if (
            (line.ingredient, phase) == bench.filler
            and ingredient is not None
            and ingredient.group == "water"
        ):
            return line
    return None


def _holding_back(phase: str, bench: Bench) -> list[_Draft]:
    dosed = [line for _, line in bench.lines if line.dosed]
    line = _spare(bench)
    if not dosed or line is None or phase != bench.filler[1]:
        return []
    most = sum((one.grams for one in dosed), Fraction(0))
    step = Fraction(1, 10**line.places)
    held = math.ceil(min(most, line.grams / 10) / step) * step
    names = joined(one.name for one in dosed)
    text = (
        f"Hold back {bench.wording.grams(held, line.places)} of {line.name} for rinsing in and for the last "
        f"correction; what {names} {'leaves' if len(dosed) == 1 else 'leave'} under the ceiling is made up "
        f"with {line.name} too."
    )
    return [_Draft(text, "hold back", STAGES.index("weigh"), ())]
