"""What a change sets off, and the few warnings that belong beside a line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.checks.free import FreeDoses, free_doses
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.request import PairRemark, Remark, Request, Slot
from optimiser.domain.rules import Covers
from optimiser.domain.selector import contains_substance, matches
from optimiser.requests.sentences import number
from optimiser.search.crystals import may_not_dissolve, will_not_dissolve
from optimiser.search.foretold import broken_claims
from optimiser.search.labelling import allergen_line
from optimiser.search.telling import totals

MOST_WARNINGS = 5
WORN = "what is worn"
LOW_RISK = "low risk"
ZERO = Fraction(0)


def sets_off(request: Request, shares: Mapping[Slot, Fraction]) -> tuple[Remark, ...]:
    """Label, name, assessment, tests, pack, stock: each only when the difference touches it."""
    before, after = totals(request.base), {n: s for n, s in totals(shares).items() if s}
    came, went = sorted(set(after) - set(before)), sorted(set(before) - set(after))
    found = list(request.consequences)
    if came or went or _order(before) != _order(after):
        found.append(Remark("label", "The ingredient list changes: print a new label."))
    base, now = _amounts(request, request.base), _amounts(request, shares)
    ingredients = request.ingredients
    found += still_there([ingredients[name] for name in went], [ingredients[name] for name in sorted(after)])
    found += allergen_line(request, base, now)
    found += _front_label(request, before, after)
    found += broken_claims(request, base, now)
    found += _papers(before, after)
    found += _tests(request, before, after)
    found += _money(request, before, after, went)
    return tuple(found)


def _papers(before: Mapping[str, Fraction], after: Mapping[str, Fraction]) -> list[Remark]:
    found = []
    if before != after:
        found.append(
            Remark(
                "safety assessment",
                "Another formula than the assessed one: where it is sold, a qualified "
                "assessor has to look at it again under local law.",
            )
        )
    if set(before) != set(after):
        found.append(
            Remark("notification", "Where products are notified, the entry names the old ingredients.")
        )
    return found


def _tests(request: Request, before: Mapping[str, Fraction], after: Mapping[str, Fraction]) -> list[Remark]:
    found = []
    if set(before) != set(after):
        found.append(
            Remark(
                "stability", "Watch it again for 12 weeks: warm, cold and light, in the pack it is sold in."
            )
        )
    if _preservation_moved(request, before, after):
        found.append(
            Remark(
                "challenge test",
                "Preservation or what binds it changed: only a new challenge test shows whether it holds.",
            )
        )
    came = set(after) - set(before)
    if any(request.ingredients[n].group in ("scent", "acid", "alkali", "salt") for n in came):
        found.append(
            Remark(
                "pack", "Scents attack soft plastics, acids and salts attack bare metal: try the pack again."
            )
        )
    return found


def _money(
    request: Request, before: Mapping[str, Fraction], after: Mapping[str, Fraction], went: Iterable[str]
) -> list[Remark]:
    found = []
    price = [
        sum((v / 100 * (request.ingredients[n].price_per_kg or ZERO) for n, v in part.items()), ZERO)
        for part in (before, after)
    ]
    if price[0] and abs(price[1] - price[0]) / price[0] > Fraction(1, 50):
        part = round((price[1] - price[0]) / price[0] * 100)
        sign = "+" if part > 0 else "\N{MINUS SIGN}"
        found.append(Remark("price", f"Material cost moves by {sign}{abs(part)} %."))
    stock = [request.ingredients[n].name for n in went if request.shelf_g and request.shelf_g.get(n)]
    if stock:
        found.append(
            Remark("old stock", f"Left on the shelf without this formula's use: {', '.join(stock)}.")
        )
    return found


def _amounts(request: Request, shares: Mapping[Slot, Fraction]) -> Amounts:
    return Amounts(tuple(sorted((s, v) for s, v in shares.items() if v)), request.ingredients)


def _order(amounts: Mapping[str, Fraction]) -> list[str]:
    return sorted(amounts, key=lambda name: (-amounts[name], name))


def _front_label(
    request: Request, before: Mapping[str, Fraction], after: Mapping[str, Fraction]
) -> list[Remark]:
    found = []
    for name in request.formula.hero:
        was, now = before.get(name, ZERO), after.get(name, ZERO)
        if now < was:
            what = "is gone" if not now else f"falls from {float(was):g} % to {float(now):g} %"
            found.append(
                Remark(
                    "name and claims",
                    f"{request.ingredients[name].name} {what}: name and front label would no longer be true.",
                )
            )
    return found


def _preservation_moved(
    request: Request, before: Mapping[str, Fraction], after: Mapping[str, Fraction]
) -> bool:
    binders = (
        "preservative",
        "clay",
        "charcoal",
        "oil",
        "surfactant",
        "emulsifier",
        "gum",
        "cellulose-ether",
        "flour",
    )
    return any(
        before.get(n, ZERO) != after.get(n, ZERO) and request.ingredients[n].group in binders
        for n in {*before, *after}
    )


def warnings(request: Request, shares: Mapping[Slot, Fraction]) -> tuple[Remark, ...]:
    """Worst first, each beside its line; five at most, and none that guards people is left out."""
    present = [request.ingredients[n] for n, s in sorted(totals(shares).items()) if s]
    found: list[Remark] = []
    corrosive = [i for i in present if i.group in ("acid", "alkali") and _wears(i, "goggles")]
    others = [i for i in present if i not in corrosive and _wears(i, "goggles")]
    dusty = [i for i in present if _wears(i, "dust mask")]
    for wearing, text in (
        (corrosive, "goggles and gloves; into water, never water onto it."),
        (dusty, "fitted dust mask; sieve slowly, wet early, no draught."),
        (others, "goggles and gloves while it is undiluted."),
    ):
        if wearing:
            about = wearing[0].id if len(wearing) == 1 else WORN
            found.append(Remark(about, f"{_names(wearing)}: {text}", "common practice"))
    now = _amounts(request, shares)
    people = list(found)
    found = [*_held_back(request, now), *found]
    found += will_not_dissolve(request, now)
    scents = [i for i in present if i.group == "scent"]
    if scents:
        found.append(
            Remark(
                scents[0].id,
                f"{_names(scents)}: not near eyes, not for small children, ask a midwife or "
                "doctor in pregnancy.",
                "common practice",
            )
        )
        people.append(found[-1])
    found += [pair.remark for pair in request.pairs if _together(pair, present)]
    found += [
        remark
        for remark in request.remarks
        if remark.about == LOW_RISK or any(i.id == remark.about for i in present)
    ]
    found += may_not_dissolve(request, now)
    return _told(tuple(dict.fromkeys(found)), people)


def _told(found: tuple[Remark, ...], people: list[Remark]) -> tuple[Remark, ...]:
    """Of what guards the formula, only as many as there is room for beside what guards people."""
    room = MOST_WARNINGS - sum(one in people for one in found)
    others = [one for one in found if one not in people][: max(room, 0)]
    return tuple(one for one in found if one in people or one in others)


def _held_back(request: Request, now: Amounts) -> list[Remark]:
    """Where less than one least free dose of the best preservative reaches the water, by middle values.

    One remark a preservative, whatever the groups.
    """
    short: dict[str, list[tuple[str, FreeDoses]]] = {}
    for group in sorted({rule.group for rule in request.rules if isinstance(rule, Covers)}):
        doses = free_doses(group, now, request)
        if doses is not None and doses.value < 1:
            short.setdefault(doses.name, []).append((group, doses))
    return [_short(name, of) for name, of in short.items()]


def _short(name: str, of: list[tuple[str, FreeDoses]]) -> Remark:
    told = ", ".join(
        f"{number(round(doses.value, 2))} against {group} "
        f"({number(round(doses.low, 2))} to {number(round(doses.high, 2))})"
        for group, doses in of
    )
    text = (
        f"{name}: on paper only part of a least free dose reaches the water, {told}, by mostly assumed "
        "figures; the rest stays in powders, cleansers, oil or the pack. A challenge test decides."
    )
    return Remark(of[0][1].ingredient.id, text, "a screen on paper")


def still_there(gone: Iterable[Ingredient], kept: Sequence[Ingredient]) -> list[Remark]:
    """Of ingredients that are gone those whose one substance another that is kept still brings."""
    found = []
    for inci in dict.fromkeys(one.inci for one in gone):
        holders = [one.name for one in kept if contains_substance(one, inci)]
        if holders:
            text = f"{inci} is still in {', '.join(holders)}. To be without it, leave out substance:{inci}."
            found.append(Remark("label", text))
    return found


def _wears(ingredient: Ingredient, what: str) -> bool:
    return ingredient.way is not None and what in ingredient.way.wear


def _together(pair: PairRemark, present: list[Ingredient]) -> bool:
    first = [i.id for i in present if matches(pair.a, i)]
    second = [i.id for i in present if matches(pair.b, i)]
    return any(i != j for i in first for j in second)


def _names(ingredients: list[Ingredient]) -> str:
    """All of them: a line that guards people names every ingredient it is about."""
    return "; ".join(one.name for one in ingredients)
