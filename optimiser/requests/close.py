"""From worktable, formula and options to one closed request."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from optimiser.domain.brief import Brief
from optimiser.domain.formula import Dosed, Formula
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import Remark, Request, SetAside, Slot
from optimiser.domain.rules import Rule
from optimiser.law.allergens import label_limits
from optimiser.law.limits import Limit
from optimiser.requests import asked, carried, standing
from optimiser.requests.candidates import needed_by, slots_for
from optimiser.requests.carried import Today
from optimiser.requests.draft import Draft, base_amounts, draft
from optimiser.requests.keeping import kept
from optimiser.requests.options import Options
from optimiser.requests.predicting import predict_ph
from optimiser.requests.predicting_body import predict_free_liquid, predict_thickness
from optimiser.requests.predicting_forecasts import predict_forecasts
from optimiser.requests.predicting_responses import predict_responses
from optimiser.requests.sentences import first_upper, number
from optimiser.requests.sources import Sources

ADJUSTING = ("acid", "alkali")


def close(
    sources: Sources, formula: Formula, brief: Brief | None, options: Options, day: date | None = None
) -> Request:
    """The request, with each number settled against the base. `day` dates the lots of the shelf."""
    made = draft(sources, formula, brief or Brief("", ""), options, day)
    aim = options.aim or made.brief.aim or ("closest",)
    stated = asked.stated(made)
    allowed = _allowed(made, made.ingredients)
    keeps, let_go = kept(made, stated, allowed, aim)
    rules = [*stated, *asked.leaving_out(made), *asked.swapped(made), *keeps, *asked.only_shelf(made)]
    needed = needed_by(rules, made.product, water_free=not made.watery, has_adjuster=_adjusts(made, allowed))
    slots, aside = _lawful(*slots_for(formula, made.ingredients, needed), made)
    dosed = _dosed(made, slots, allowed)
    predicted = predict_ph(rules, slots, aside, made, sorted({slot.ingredient for slot in dosed}))
    predicted = predict_free_liquid(predict_thickness(predicted, made), made)
    predicted = predict_responses(predict_forecasts(predicted, made), made)
    rules, slots, aside = list(predicted.rules), predicted.slots, predicted.aside
    present = {slot.ingredient: made.ingredients[slot.ingredient] for slot in slots}
    stands = _standing(made, present, rules) + standing.carriers(slots, present, formula.ingredients)
    rules += stands.rules
    return replace(
        _unruled(made, present, slots),
        dosed={slot: how for slot, how in dosed.items() if slot in slots},
        rules=_distinct(rules),
        pulls=carried.pulls_of(
            Today(made.amounts, _allowed(made, present), sources.vocabulary), tuple(rules)
        ),
        aim=aim,
        set_aside=aside,
        dropped=let_go,
        remarks=stands.remarks,
        pairs=stands.pairs,
        by_hand=(*predicted.remarks, *standing.by_hand(made.limits(), made.amounts)),
    )


def _unruled(made: Draft, present: Mapping[str, Ingredient], slots: tuple[Slot, ...]) -> Request:
    """The request before any rule: what the draft alone says of the base, its lines and its product."""
    formula, settings = made.formula, made.sources.worktable.settings
    return Request(
        name=_title(made),
        formula=formula,
        product=made.product,
        ingredients=present,
        slots=slots,
        base=base_amounts(formula),
        filler=next(Slot(line.ingredient, phase) for phase, line in formula.lines if line.fills),
        fixed={Slot(line.ingredient, phase): line.percent for phase, line in formula.lines if line.dosed},
        dosed={},
        newcomers=_newcomers(present, made),
        rules=(),
        pulls=(),
        aim=(),
        currency=settings.currency,
        batch_g=formula.batch_g,
        ph_window=made.window,
        shelf_g=made.on_shelf(),
        substances=made.sources.constants,
        consequences=_consequences(made),
        lenders=_lenders(made.ingredients),
        container=formula.pack or settings.pack,
        labels=label_limits(made.limits()),
        labels_before=label_limits(made.limits(made.formula.product)),
    )


def _dosed(made: Draft, slots: Iterable[Slot], allowed: Mapping[str, Ingredient]) -> dict[Slot, Dosed]:
    """Lines dosed to a reading; where the base's own must go, any acid or alkali may take their place so."""
    own = {Slot(line.ingredient, phase): line.dosed for phase, line in made.formula.lines if line.dosed}
    if not own or _adjusts(made, allowed):
        return own
    how = next(iter(own.values()))
    new = [
        s
        for s in slots
        if s not in own and s.ingredient in allowed and allowed[s.ingredient].group in ADJUSTING
    ]
    return {**own, **dict.fromkeys(new, how)}


def _lenders(ingredients: Mapping[str, Ingredient]) -> dict[str, Ingredient]:
    """Ingredients with a least free dose: it holds for their substance wherever that stands."""
    return {
        name: one
        for name, one in ingredients.items()
        if any(figure.startswith("free_dose_") for figure in one.figures)
    }


def _adjusts(made: Draft, allowed: Mapping[str, Ingredient]) -> bool:
    """Whether a line dosed to a reading stays."""
    return any(line.dosed and line.ingredient in allowed for _, line in made.formula.lines)


def _allowed(made: Draft, ingredients: Mapping[str, Ingredient]) -> dict[str, Ingredient]:
    """Ingredients that no must leaves out and, where only the shelf counts, that are there."""
    gone, shelf = asked.gone(made), made.on_shelf()
    return {
        name: ingredient
        for name, ingredient in ingredients.items()
        if not standing.excluded(ingredient, gone) and (not made.only_shelf or shelf.get(name))
    }


def _lawful(
    slots: tuple[Slot, ...], aside: tuple[SetAside, ...], made: Draft
) -> tuple[tuple[Slot, ...], tuple[SetAside, ...]]:
    """Sets newcomers aside that hold a prohibited substance (limit zero); a base line stays, judged."""
    zero: dict[str, Limit] = {}
    for limit in made.limits().limits:
        if limit.maximum == 0:
            zero |= {name.casefold(): limit for name, _ in limit.members}
    keep, more = [], list(aside)
    for slot in slots:
        parts = made.ingredients[slot.ingredient].composition or ()
        hit = next((p for p in parts if p.substance.casefold() in zero and p.low > 0), None)
        if hit is None or slot.ingredient in made.formula.ingredients:
            keep.append(slot)
        else:
            name, sentence = made.ingredients[slot.ingredient].name, zero[hit.substance.casefold()].sentence
            more.append(SetAside(slot.ingredient, sentence, name))
    return tuple(keep), tuple(sorted(more, key=lambda s: s.ingredient))


def _standing(made: Draft, present: Mapping[str, Ingredient], rules: Iterable[Rule]) -> standing.Standing:
    candidates = [present[name] for name in sorted(present)]
    facts = standing.facts_of(made.product, made.window, watery=made.watery)
    return (
        standing.use_ranges(candidates, made.amounts)
        + standing.legal(made.limits(), candidates)
        + standing.clashes(made.sources.worktable.clashes, facts, made.brief.accept, made.amounts)
        + standing.needs(candidates, watery=made.watery)
        + standing.unfit(made.amounts, made.product)
        + standing.coverage(rules, made.window, made.amounts, watery=made.watery)
    )


def _newcomers(present: Mapping[str, Ingredient], made: Draft) -> frozenset[str]:
    """Ingredients the base lacks, less other strengths of what it has (one substance beside water)."""

    def make_up(ingredient: Ingredient) -> frozenset[str]:
        names = {part.substance.casefold() for part in ingredient.composition or ()} - {"aqua", "water"}
        return frozenset(names) if len(names) == 1 else frozenset()

    known = {make_up(ingredient) for ingredient in made.amounts.present} - {frozenset()}
    own = made.formula.ingredients
    return frozenset(name for name, i in present.items() if name not in own and make_up(i) not in known)


def _distinct(rules: Iterable[Rule]) -> tuple[Rule, ...]:
    """Rules sorted by id; the same id twice gets a number, so that every rule can be named."""
    seen: dict[str, int] = {}
    named = []
    for rule in rules:
        count = seen[rule.head.id] = seen.get(rule.head.id, 0) + 1
        head = rule.head if count == 1 else replace(rule.head, id=f"{rule.head.id} ({count})")
        named.append(replace(rule, head=head))
    return tuple(sorted(named, key=lambda r: r.head.id))


def _consequences(made: Draft) -> tuple[Remark, ...]:
    """What changes because the brief makes another product of it: the facts, then every limit that moves."""
    was, now = made.formula.product, made.product
    if was == now:
        return ()
    found = []
    for name in ("use", "area", "age", "form"):
        before, after = getattr(was, name), getattr(now, name)
        if before != after:
            text = f"{first_upper(name)}: was {before or 'not stated'}, is now {after}."
            found.append(Remark("product", text))
    return (*found, *_moved_limits(made))


def _moved_limits(made: Draft) -> list[Remark]:
    before = {limit.family: limit for limit in made.limits(made.formula.product).limits}
    held = {part.substance.casefold() for i in made.amounts.present for part in i.composition or ()}
    found = []
    for limit in made.limits().limits:
        old = before.get(limit.family)
        touched = any(name.casefold() in held for name, _ in limit.members)
        if touched and (old is None or old.maximum != limit.maximum):
            was = f"{number(old.maximum)} %" if old else "no limit"
            found.append(Remark("limit", f"{limit.sentence} It was {was}.", limit.source))
    return found


def _title(made: Draft) -> str:
    parts = [made.formula.name]
    if made.brief.name:
        parts.append(made.brief.name)
    parts += [f"without {of}" for of in made.options.leave_out]
    parts += [f"{use} instead of {out}" for out, use in made.options.instead_of]
    if made.options.only_from:
        parts.append("only from the shelf")
    if made.options.moved:
        count = len(made.options.moved)
        parts.append(f"{count} limit{'' if count == 1 else 's'} moved")
    if made.options.aim:
        parts.append(", ".join(made.options.aim))
    return " · ".join(parts)
