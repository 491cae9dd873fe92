"""From worktable, formula and options to one closed request."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.brief import Brief, LeaveOut
from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.product import Product
from optimiser.domain.request import Remark, Request, SetAside, Slot
from optimiser.domain.rules import (
    Absent,
    Amount,
    Head,
    Level,
    Mean,
    Newcomers,
    Rule,
    Share,
    Stock,
)
from optimiser.domain.selector import Pick, Selector
from optimiser.domain.vocabulary import Vocabulary
from optimiser.domain.wanted import Wanted
from optimiser.domain.worktable import Lot, Worktable
from optimiser.law.limits import Limit, LimitRow
from optimiser.law.pick import Picked, pick
from optimiser.requests import carried, standing
from optimiser.requests.candidates import is_watery, needed_by, slots_for
from optimiser.requests.carried import Today
from optimiser.requests.options import Options
from optimiser.requests.sentences import first_upper, number
from optimiser.requests.wants import Base, rules_from

TRACE = Fraction(1, 100)


@dataclass(frozen=True, slots=True)
class Sources:
    """What every request draws on."""

    worktable: Worktable
    vocabulary: Vocabulary
    limits: tuple[LimitRow, ...]


@dataclass(frozen=True, slots=True)
class _Draft:
    """What is known half-way: the formula as it is, and the product as it will be."""

    sources: Sources
    formula: Formula
    product: Product
    amounts: Amounts
    base: Base
    window: tuple[Fraction, Fraction] | None
    watery: bool

    @property
    def ingredients(self) -> Mapping[str, Ingredient]:
        return self.sources.worktable.ingredients


def close(
    sources: Sources, formula: Formula, brief: Brief | None, options: Options, today: date | None = None
) -> Request:
    """The request, with each number settled against the base. `today` dates the lots of the shelf."""
    table = sources.worktable
    brief = brief or Brief("", "")
    wants = (*formula.targets, *brief.targets)
    draft = _draft(sources, formula, brief, wants)
    left_out = _left_out(brief, options)
    stated = _stated(formula, brief, draft)
    rules = [*stated, *_leaving_out(left_out, draft), *_instead(brief, options, draft)]
    gone = [item.of for item in left_out if item.rank is None]
    gone += [Pick("ingredient", out) for out, _ in _swaps(brief, options)]
    aim = options.aim or brief.aim or ("closest",)
    kept, let_go = _carried(formula, draft, stated, gone, cheapest="cheapest" in aim and not options.bare)
    rules += kept
    if options.only_from == "shelf" or brief.only_from == "shelf":
        rules.append(_only_shelf(table.shelf, draft, today or table.settings.rules_date))
    needed = needed_by([*rules], draft.product, water_free=not draft.watery)
    slots, aside = slots_for(formula, draft.ingredients, needed)
    slots, aside = _prohibited(slots, aside, draft)
    present = {slot.ingredient: draft.ingredients[slot.ingredient] for slot in slots}
    stands = _standing(draft, present, rules, brief)
    rules += stands.rules
    allowed = {name: i for name, i in present.items() if not standing.excluded(i, gone)}
    lines = formula.lines
    request = Request(
        name=_title(formula, brief, options),
        formula=formula,
        product=draft.product,
        ingredients=present,
        slots=slots,
        base=_base_amounts(formula),
        filler=next(Slot(line.ingredient, phase) for phase, line in lines if line.fills),
        fixed={Slot(line.ingredient, phase): line.percent for phase, line in lines if line.dosed},
        dosed={Slot(line.ingredient, phase): line.dosed for phase, line in lines if line.dosed},
        newcomers=_newcomers(present, formula, draft),
        rules=_distinct(rules),
        pulls=carried.pulls_of(Today(draft.amounts, allowed, sources.vocabulary), tuple(rules)),
        aim=aim,
        currency=table.settings.currency,
        batch_g=formula.batch_g,
        ph_window=draft.window,
        shelf_g=_on_shelf(table.shelf, today or table.settings.rules_date),
        set_aside=aside,
        dropped=let_go,
        remarks=stands.remarks,
        by_hand=standing.by_hand(_limits(draft, draft.product), draft.amounts),
        consequences=_consequences(draft),
    )
    return request


def _draft(sources: Sources, formula: Formula, brief: Brief, wants: Iterable[Wanted]) -> _Draft:
    product = replace(formula.product, **dict(brief.product))
    base = _base_amounts(formula)
    amounts = Amounts(tuple(sorted(base.items())), sources.worktable.ingredients)
    window = None
    for want in wants:
        if want.topic == "ph" and want.rank is None:
            window = (want.span.low or Fraction(0), want.span.high or Fraction(14))
    numbers = Base(amounts, sources.worktable.settings.currency, window[1] if window else None)
    watery = is_watery(formula, sources.worktable.ingredients)
    return _Draft(sources, formula, product, amounts, numbers, window, watery)


def _base_amounts(formula: Formula) -> dict[Slot, Fraction]:
    amounts: dict[Slot, Fraction] = {}
    for phase, line in formula.lines:
        slot = Slot(line.ingredient, phase)
        amounts[slot] = amounts.get(slot, Fraction(0)) + line.percent
    return amounts


def _left_out(brief: Brief, options: Options) -> tuple[LeaveOut, ...]:
    asked = tuple(LeaveOut(of, f"leave out {of}") for of in options.leave_out)
    return (*brief.leave_out, *asked)


def _swaps(brief: Brief, options: Options) -> tuple[tuple[str, str], ...]:
    return (*((item.out, item.use) for item in brief.instead_of), *options.instead_of)


def _stated(formula: Formula, brief: Brief, draft: _Draft) -> tuple[Rule, ...]:
    """The formula's and the brief's own targets. A brief's pH window takes the place of the formula's."""
    replaced = {want.topic for want in brief.targets if want.topic == "ph" and want.rank is None}
    rules: list[Rule] = []
    for want in formula.targets:
        if want.topic not in replaced:
            rules += rules_from(want, draft.base, origin=f"formulas/{formula.id}")
    for want in brief.targets:
        rules += rules_from(want, draft.base, origin=f"briefs/{brief.id}" if brief.id else "asked")
    return tuple(rules)


def _leaving_out(items: Iterable[LeaveOut], draft: _Draft) -> list[Rule]:
    rules: list[Rule] = []
    for item in items:
        origin = item.place.file or "asked"
        head = Head(
            f"{origin}#{item.label}",
            f"Nothing that is or may be {_said(item.of, draft)}.",
            item.source or origin,
            item.why,
            "wish" if item.rank is not None else "character",
            item.rank,
        )
        rules.append(Absent(head, item.of))
    return rules


def _said(of: Selector, draft: _Draft) -> str:
    if isinstance(of, Pick) and of.field == "ingredient" and of.name in draft.ingredients:
        return draft.ingredients[of.name].name
    return f"flagged {of.name}" if isinstance(of, Pick) and of.field == "flag" else str(of)


def _instead(brief: Brief, options: Options, draft: _Draft) -> list[Rule]:
    rules: list[Rule] = []
    for out, use in _swaps(brief, options):
        gone, new = draft.ingredients[out], draft.ingredients[use]
        least = new.use_min or TRACE
        head = Head(f"asked#without {out}", f"{gone.name} is left out.", "asked")
        rules.append(Absent(head, Pick("ingredient", out)))
        text = f"{new.name} is used instead of {gone.name}: at least {number(least)} %."
        rules.append(Amount(Head(f"asked#use {use}", text, "asked"), use, least, None))
    return rules


def _carried(
    formula: Formula, draft: _Draft, stated: tuple[Rule, ...], gone: list[Selector], *, cheapest: bool
) -> tuple[list[Rule], tuple[Remark, ...]]:
    """Default targets, hero lines, preservatives not thinned, few newcomers; less what the brief speaks of."""
    allowed = {name: i for name, i in draft.ingredients.items() if not standing.excluded(i, gone)}
    today = Today(draft.amounts, allowed, draft.sources.vocabulary)
    spoken = {
        carried.name_of(r) for r in stated if isinstance(r, Share | Level | Mean) and r.head.rank is None
    }
    rules: list[Rule] = []
    let_go: tuple[Remark, ...] = ()
    if not formula.targets or cheapest:
        more, let_go = carried.bands(today, floor_only=bool(formula.targets), stated=spoken)
        rules += more
    kept = {r.ingredient for r in stated if isinstance(r, Amount)}
    over = _over_the_limit(draft)
    rules += carried.floors(
        set(formula.hero) - kept, today, why="it is on the front label", origin="hero", loosened=over
    )
    preservatives = {i.id for i in draft.amounts.present if i.group == "preservative"}
    rules += carried.floors(
        preservatives - kept, today, why="preservation is not thinned", origin="preservative", loosened=over
    )
    dosed = {line.ingredient for _, line in formula.lines if line.dosed}
    rules += carried.floors(
        dosed - kept, today, why="its ceiling is what the reading may take", origin="dosed", loosened=over
    )
    if not any(isinstance(r, Newcomers) for r in stated):
        rules.append(carried.few_newcomers())
    return rules, let_go


def _over_the_limit(draft: _Draft) -> frozenset[str]:
    """Base lines that hold a substance whose limit the base breaks (the product now stays on, say)."""
    over: set[str] = set()
    for limit in _limits(draft, draft.product).limits:
        factors = {name.casefold(): factor for name, factor in limit.members}
        holders: dict[str, Fraction] = {}
        for ingredient in draft.amounts.present:
            for part in ingredient.composition or ():
                if part.substance.casefold() in factors:
                    counted = (
                        part.high / 100 * factors[part.substance.casefold()] * draft.amounts.of(ingredient.id)
                    )
                    holders[ingredient.id] = holders.get(ingredient.id, Fraction(0)) + counted
        if sum(holders.values()) > limit.maximum:
            over |= set(holders)
    return frozenset(over)


def _limits(draft: _Draft, product: Product) -> Picked:
    settings = draft.sources.worktable.settings
    return pick(
        draft.sources.limits,
        jurisdiction=settings.jurisdiction,
        on=settings.rules_date,
        use=product.use,
        area=product.area,
        age=product.age,
        form=product.form,
    )


def _only_shelf(shelf: Iterable[Lot], draft: _Draft, today: date) -> Stock:
    grams = _on_shelf(shelf, today)
    most = {name: min(Fraction(100), g / draft.formula.batch_g * 100) for name, g in grams.items()}
    text = f"Only what is on the shelf and in date, for a batch of {number(draft.formula.batch_g)} g."
    return Stock(Head("asked#only from the shelf", text, "shelf.csv"), most)


def _on_shelf(shelf: Iterable[Lot], today: date) -> dict[str, Fraction]:
    grams: dict[str, Fraction] = {}
    for lot in shelf:
        if lot.expires is None or lot.expires >= today:
            grams[lot.ingredient] = grams.get(lot.ingredient, Fraction(0)) + lot.grams
    return grams


def _prohibited(
    slots: tuple[Slot, ...], aside: tuple[SetAside, ...], draft: _Draft
) -> tuple[tuple[Slot, ...], tuple[SetAside, ...]]:
    """Newcomers that hold a prohibited substance (limit zero) are set aside; a base line stays and is judged."""
    zero: dict[str, Limit] = {}
    for limit in _limits(draft, draft.product).limits:
        if limit.maximum == 0:
            zero |= {name.casefold(): limit for name, _ in limit.members}
    keep, more = [], list(aside)
    for slot in slots:
        parts = draft.ingredients[slot.ingredient].composition or ()
        hit = next((p for p in parts if p.substance.casefold() in zero and p.low > 0), None)
        if hit is None or slot.ingredient in draft.formula.ingredients:
            keep.append(slot)
        else:
            more.append(SetAside(slot.ingredient, zero[hit.substance.casefold()].sentence))
    return tuple(keep), tuple(sorted(more, key=lambda s: s.ingredient))


def _standing(
    draft: _Draft, present: Mapping[str, Ingredient], rules: list[Rule], brief: Brief
) -> standing.Standing:
    candidates = [present[name] for name in sorted(present)]
    facts = standing.facts_of(draft.product, draft.window, watery=draft.watery)
    ph_top = draft.window[1] if draft.window else None
    return (
        standing.use_ranges(candidates, draft.amounts)
        + standing.legal(_limits(draft, draft.product), candidates)
        + standing.clashes(draft.sources.worktable.clashes, facts, brief.accept, draft.amounts)
        + standing.needs(candidates, watery=draft.watery)
        + standing.coverage(rules, ph_top, watery=draft.watery)
    )


def _newcomers(present: Mapping[str, Ingredient], formula: Formula, draft: _Draft) -> frozenset[str]:
    """Ingredients the base lacks, less other strengths of what it has (same INCI once water is set aside)."""

    def make_up(ingredient: Ingredient) -> frozenset[str]:
        parts = ingredient.composition or ()
        names = {p.substance.casefold() for p in parts} - {"aqua", "water"}
        return frozenset(names) if len(names) == 1 else frozenset()

    known = {make_up(i) for i in draft.amounts.present} - {frozenset()}
    return frozenset(
        name for name, i in present.items() if name not in formula.ingredients and make_up(i) not in known
    )


def _distinct(rules: Iterable[Rule]) -> tuple[Rule, ...]:
    """Rules sorted by id; the same id twice gets a number, so that every rule can be named."""
    seen: dict[str, int] = {}
    named = []
    for rule in rules:
        count = seen[rule.head.id] = seen.get(rule.head.id, 0) + 1
        named.append(
            rule if count == 1 else replace(rule, head=replace(rule.head, id=f"{rule.head.id} ({count})"))
        )
    return tuple(sorted(named, key=lambda r: r.head.id))


def _consequences(draft: _Draft) -> tuple[Remark, ...]:
    """What changes because the brief makes another product of it."""
    was, now = draft.formula.product, draft.product
    if was == now:
        return ()
    found = [
        Remark(
            "product",
            f"{first_upper(name)}: was {getattr(was, name) or 'not stated'}, is now {getattr(now, name)}.",
        )
        for name in ("use", "area", "age", "form")
        if getattr(was, name) != getattr(now, name)
    ]
    before = {limit.id: limit for limit in _limits(draft, was).limits}
    families = {limit.family: limit for limit in before.values()}
    for limit in _limits(draft, now).limits:
        if not any(
            name.casefold() == p.substance.casefold()
            for i in draft.amounts.present
            for p in i.composition or ()
            for name, _ in limit.members
        ):
            continue
        old = before.get(limit.id) or families.get(limit.family)
        if old is None or old.maximum != limit.maximum:
            was_text = f"{number(old.maximum)} %" if old else "no limit"
            found.append(Remark(limit.family, f"{limit.sentence} (was {was_text})", limit.source))
    return tuple(found)


def _title(formula: Formula, brief: Brief, options: Options) -> str:
    parts = [formula.name]
    if brief.name:
        parts.append(brief.name)
    parts += [f"without {of}" for of in options.leave_out]
    parts += [f"{use} instead of {out}" for out, use in options.instead_of]
    if options.only_from or brief.only_from:
        parts.append("only from the shelf")
    aim = options.aim or brief.aim
    if aim:
        parts.append(", ".join(aim))
    return " · ".join(parts)
