"""What must change, as it stands in a draft: sentences to take back, things to choose, limits to move."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from optimiser.domain.moved import LINE, Moved
from optimiser.domain.outcome import Verdict
from optimiser.domain.request import Request
from optimiser.domain.rules import Amount, Rule, UseRange
from optimiser.explain.names import called, names_of
from optimiser.export.answer_rules import rule_dict
from optimiser.page.drafts import Asking
from optimiser.page.views.figures import Figures
from optimiser.page.views.rules import asked_of
from optimiser.requests.sources import Sources
from optimiser.workflows.moving import limits_of, movable

RANGE = "range#"
AIM_WORDS = {
    "closest": "as close to the formula as can be",
    "cheapest": "as cheap as can be",
    "fewest-changes": "as few lines changed as can be",
    "fewest-ingredients": "as few ingredients as can be",
    "shelf-first": "what is on the shelf first",
}
WHOLE = 100


@dataclass(frozen=True, slots=True)
class Said:
    """One thing asked, as a clause; `what` and `name` take it back."""

    text: str
    what: str
    name: str


@dataclass(frozen=True, slots=True)
class Choice:
    value: str
    text: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class LimitRow:
    """A rule whose limits may be moved; fields are empty where a side is open; `exact` are fractions.

    `wrong`: what stands in the fields was typed and cannot be.
    """

    rule: str
    label: str
    sentence: str
    low: str
    high: str
    unit: str
    has: str
    least: bool
    moved: bool
    exact: tuple[str, str]
    wrong: bool = False


@dataclass(frozen=True, slots=True)
class Hold:
    """The fields of a limit on an ingredient that no rule speaks of."""

    name: str = ""
    low: str = ""
    high: str = ""
    wrong: bool = False


@dataclass(frozen=True, slots=True)
class Asks:
    """Everything the section about the change shows."""

    said: tuple[Said, ...]
    briefs: tuple[Choice, ...]
    own: tuple[Choice, ...]
    flags: tuple[Choice, ...]
    roles: tuple[Choice, ...]
    others: tuple[Choice, ...]
    aims: tuple[Choice, ...]
    limits: tuple[LimitRow, ...]
    ranges: tuple[LimitRow, ...]
    only_shelf: bool
    alternatives: int
    hold: Hold = Hold()
    refused: str = ""
    """What a limit that cannot be is called."""


def marked(asks: Asks, rule: str, name: str, low: str, high: str) -> Asks:
    """With a limit that cannot be, as it was typed: of the rule, or of the ingredient `name`."""
    if name:
        text = next((one.text for one in asks.others if one.value == name), name)
        return replace(asks, hold=Hold(name, low, high, wrong=True), refused=text)

    def mark(rows: tuple[LimitRow, ...]) -> tuple[LimitRow, ...]:
        return tuple(replace(r, low=low, high=high, wrong=True) if r.rule == rule else r for r in rows)

    limits, ranges = mark(asks.limits), mark(asks.ranges)
    text = next((row.label for row in (*limits, *ranges) if row.wrong), "This limit")
    return replace(asks, limits=limits, ranges=ranges, refused=text)


def asks_of(
    asking: Asking, request: Request, base: tuple[Verdict, ...], sources: Sources, figures: Figures
) -> Asks:
    table = sources.worktable
    own = sorted(request.formula.ingredients, key=lambda i: table.ingredients[i].name)
    here = [table.ingredients[i] for i in own]
    flags = sorted({f for i in here for f, state in i.flags.items() if state == "contains"})
    every = sorted(table.ingredients.values(), key=lambda i: i.name.casefold())
    rows = limits_rows(asking, request, base, figures)
    return Asks(
        said_of(asking, sources, figures),
        tuple(
            Choice(b.id, b.name, b.id in asking.briefs)
            for b in sorted(table.briefs.values(), key=lambda brief: (brief.name.casefold(), brief.id))
        ),
        tuple(Choice(i.id, i.name) for i in here),
        tuple(Choice(f"flag:{f}", f.replace("-", " ")) for f in flags),
        tuple(Choice(f"role:{r}", r.replace("-", " ")) for r in sorted({r for i in here for r in i.roles})),
        tuple(Choice(i.id, i.name) for i in every),
        tuple(Choice(aim, words, asking.aim == aim) for aim, words in AIM_WORDS.items()),
        tuple(row for row in rows if not row.rule.startswith(RANGE)),
        tuple(row for row in rows if row.rule.startswith(RANGE)),
        asking.only_shelf,
        asking.alternatives,
    )


def said_of(asking: Asking, sources: Sources, figures: Figures) -> tuple[Said, ...]:
    """Each thing asked as a clause that can be taken back, in the order of the form."""
    table = sources.worktable

    def name(word: str) -> str:
        return table.ingredients[word].name if word in table.ingredients else word

    found = [
        Said(f"brief: {table.briefs[b].name if b in table.briefs else b}", "brief", b) for b in asking.briefs
    ]
    for word in asking.leave_out:
        field, colon, value = word.partition(":")
        text = f"without {field} {value.replace('-', ' ')}" if colon else f"without {name(word)}"
        found.append(Said(text, "leave-out", word))
    found += [Said(f"{name(use)} instead of {name(out)}", "swap", out) for out, use in asking.swaps]
    if asking.only_shelf:
        found.append(Said("only from the shelf", "shelf", "no"))
    if asking.aim:
        found.append(Said(AIM_WORDS.get(asking.aim, asking.aim), "aim", ""))
    found += [Said(_moved_text(one, name, figures), "limit", one.rule) for one in asking.moved]
    return tuple(found)


def _moved_text(one: Moved, name: Callable[[str], str], figures: Figures) -> str:
    what = called(one.rule.removeprefix(LINE), name)
    if one.gone:
        return f"given up: {what}"
    if one.but_for:
        return f"{what}: but {' and '.join(name(back) for back in one.but_for)} may be used"
    unit = "%" if one.rule.startswith(LINE) else ""
    now = "now " if "/" in one.rule else ""
    return f"{what}: {now}{asked_of(one.low, one.high, unit, figures)}"


def limits_rows(
    asking: Asking, request: Request, base: tuple[Verdict, ...], figures: Figures
) -> tuple[LimitRow, ...]:
    """Limits that speak of this formula; a supplier's range only where its ingredient is in the base."""
    values = {one.rule.head.id: one.value for one in base}
    moved = {one.rule for one in asking.moved}
    shown = [
        rule
        for rule in request.rules
        if movable(rule) and _speaks(rule, request) and limits_of(rule) != (None, None)
    ]
    names = names_of(shown)
    return tuple(
        _limit_row(rule, names[rule.head.id], values, moved, request.currency, figures) for rule in shown
    )


def _speaks(rule: Rule, request: Request) -> bool:
    if isinstance(rule, UseRange):
        return rule.ingredient in request.formula.ingredients
    if rule.head.id.startswith(("carrier#", "needs#")):
        return rule.head.id.partition("#")[2] in request.formula.ingredients
    return not (isinstance(rule, Amount) and rule.head.id.startswith(f"asked#{LINE}"))


def _limit_row(
    rule: Rule,
    name: str,
    values: Mapping[str, Fraction | None],
    moved: set[str],
    currency: str,
    figures: Figures,
) -> LimitRow:
    low, high = limits_of(rule)
    told = rule_dict(rule, currency)
    unit = next((q["unit"] for key in ("low", "high") if (q := told[key])), "")
    if unit == "%" and high is not None and high > WHOLE and rule.head.id not in moved:
        high = None  # reckoned from the base, and no limit
    value = values.get(rule.head.id)
    has = f"{figures.short(value)}\u00a0{unit}" if value is not None else ""
    return LimitRow(
        rule.head.id,
        name,
        rule.head.sentence,
        figures.field(low),
        figures.field(high),
        unit,
        has,
        hasattr(rule, "low"),
        rule.head.id in moved,
        (_exact(low), _exact(high)),
    )


def _exact(limit: Fraction | None) -> str:
    return "" if limit is None else str(limit)
