"""How long a label may say that it keeps: by the maker's tests, never beyond the first lot to expire."""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from optimiser.domain.batches import Batch
from optimiser.domain.ingredient import Ingredient
from optimiser.domain.label import Keeps, LabelRules
from optimiser.domain.request import Remark
from optimiser.domain.worktable import Lot
from optimiser.search.stock import in_date

OWN_TEST = Remark(
    "keeps",
    "How long it keeps comes from your own stability and challenge tests; nothing here can tell it.",
    "common practice",
)


@dataclass(frozen=True, slots=True)
class Tested:
    """Months that the maker's tests bear out, unopened and after opening, and the day it was made."""

    keeps_months: int | None
    opened_months: int | None
    made: date | None


@dataclass(frozen=True, slots=True)
class Lots:
    """The lots that go into it, and what is to be said of them. `names` are those of the ingredients."""

    lots: tuple[Lot, ...]
    names: Mapping[str, str]
    said: tuple[Remark, ...] = ()

    @property
    def first(self) -> Lot | None:
        """The lot that expires first, of those with a date."""
        dated = [lot for lot in self.lots if lot.expires is not None]
        return min(dated, key=lambda lot: (lot.expires or date.max, lot.ingredient, lot.lot), default=None)

    def named(self, lot: Lot) -> str:
        return f"lot {lot.lot} of {self.names.get(lot.ingredient, lot.ingredient)}"


def lots_on_the_shelf(shelf: Iterable[Lot], present: Mapping[str, Ingredient], day: date) -> Lots:
    """What is on the shelf of the ingredients that are there, in date on that day."""
    names = {one: ingredient.name for one, ingredient in present.items()}
    own = [lot for lot in shelf if lot.ingredient in present]
    usable = in_date(own, day)
    gone = dict.fromkeys(lot.ingredient for lot in own if lot not in usable)
    left = {lot.ingredient for lot in usable}
    said = tuple(
        Remark(one, f"No lot of {names[one]} on the shelf was in date on {day}: which was used?", "shelf.csv")
        for one in gone
        if one not in left
    )
    return Lots(usable, names, said)


def lots_of_the_batch(batch: Batch, shelf: Iterable[Lot], known: Mapping[str, Ingredient]) -> Lots:
    """The lots that the batch was made with, as its file says; a date that nobody knows any more is told."""
    names = {one: ingredient.name for one, ingredient in known.items()}
    by_number = {(lot.ingredient, lot.lot): lot for lot in shelf}
    found, said = [], []
    for used in batch.lots:
        lot = by_number.get((used.ingredient, used.lot))
        if lot is not None:
            found.append(lot)
            continue
        name = names.get(used.ingredient, used.ingredient)
        which = (
            f"lot {used.lot} of {name} is not in shelf.csv"
            if used.lot
            else f"no lot of {name} is written down"
        )
        text = f"Batch {batch.id}: {which}: when it expires was not counted."
        said.append(Remark(used.ingredient, text, f"batches/{batch.id}.yaml"))
    return Lots(tuple(found), names, tuple(said))


def keeps_of(tested: Tested, rules: LabelRules, lots: Lots) -> tuple[Keeps, tuple[Remark, ...]]:
    """The date or the months after opening, and what is to be seen to.

    The months after opening stand instead of a date only where what is left at the end of all limits is
    longer than the place wants dated; a date never lies beyond the first lot to expire.
    """
    said = (OWN_TEST, *lots.said)
    beyond = (
        ""
        if lots.first is None
        else f"never beyond {lots.first.expires}, when {lots.named(lots.first)} expires"
    )
    if tested.keeps_months is None:
        text = "not stated: give the months your tests bear out"
        return Keeps("", f"{text}; {beyond}" if beyond else text), said
    if tested.made is None:
        return _without_a_day(tested, rules, beyond), said
    by_tests = months_later(tested.made, tested.keeps_months)
    ends, derived = by_tests, f"made {tested.made}, {tested.keeps_months} months by your tests"
    if lots.first is not None and lots.first.expires is not None and lots.first.expires < by_tests:
        ends = lots.first.expires
        derived = f"{lots.named(lots.first)} expires then; by your tests it would be {by_tests}"
    if rules.long_months is None or ends <= months_later(tested.made, rules.long_months):
        return Keeps(f"best before {ends}", derived, ends), said
    if tested.opened_months is None:
        return Keeps(f"best before {ends}", derived, ends), (*said, _opening(rules))
    return _after_opening(tested.opened_months, rules), said


def _without_a_day(tested: Tested, rules: LabelRules, beyond: str) -> Keeps:
    """Without the day it was made there is no date, and a lot with one may make the time too short."""
    long = rules.long_months is not None and (tested.keeps_months or 0) > rules.long_months
    if long and tested.opened_months is not None and not beyond:
        return _after_opening(tested.opened_months, rules)
    text = f"{tested.keeps_months} months from the day it is made"
    return Keeps("", f"{text}{f', and {beyond}' if beyond else ''}; give the day to have the date")


def _after_opening(months: int, rules: LabelRules) -> Keeps:
    derived = f"kept longer than {rules.long_months} months unopened, by your tests"
    return Keeps(f"{months} months after opening", derived, after_opening=months)


def _opening(rules: LabelRules) -> Remark:
    text = f"It keeps longer than {rules.long_months} months: the months after opening stand on the pack."
    return Remark("keeps", text, _source(rules))


def _source(rules: LabelRules) -> str:
    return next((one.source for one in rules.sources if "months after opening" in one.text), "")


def months_later(day: date, months: int) -> date:
    """The same day so many months on, or the last day of that month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
