"""What is said beside a formula of its predictions: how far they may be off, and what is not there."""

from __future__ import annotations

from fractions import Fraction

from optimiser.checks.amounts import Amounts
from optimiser.domain.request import Slot
from optimiser.requests.close import close
from optimiser.requests.options import Options
from optimiser.search.by_models import foretold_of
from optimiser.search.foretold import on_paper
from tests.workflows.desk import demo


def told(formula: str, without: str = "") -> list[str]:
    """The remarks on a demo formula, one line left out of it."""
    sources = demo()
    request = close(sources, sources.worktable.formulas[formula], None, Options())
    kept = {slot: share for slot, share in request.base.items() if slot.ingredient != without}
    now = Amounts(tuple(sorted(kept.items())), request.ingredients)
    return [one.text for one in on_paper(request, now, foretold_of(request, now))]


def test_the_error_of_the_ph_is_small_where_something_buffers_and_told_where_nothing_does() -> None:
    (held,) = [text for text in told("oat-rose-mask") if "sums may be off" in text]
    (loose,) = [text for text in told("almond-body-lotion") if "sums may be off" in text]
    assert "the pH by about 0.1;" in held
    assert "for nothing buffers" in loose
    assert "what reaches the water by −50 to +30 %" in held


def test_a_product_without_water_has_no_ph_and_no_preservative_to_be_off() -> None:
    assert not [text for text in told("sunflower-balm") if "sums may be off" in text]


def test_a_chelator_that_is_not_there_is_missed_beside_clay_and_plants_only() -> None:
    assert not [text for text in told("oat-rose-mask") if "No chelator" in text]
    (missed,) = [text for text in told("aloe-gel-mask", "sodium-phytate") if "No chelator" in text]
    assert "Cucumber extract" in missed
    assert not [text for text in told("cooling-leg-gel") if "No chelator" in text]


def buffered(citrate: str) -> list[str]:
    """The serum with so much sodium citrate in place of water, in per cent."""
    sources = demo()
    request = close(sources, sources.worktable.formulas["rose-serum"], None, Options())
    shares = dict(request.base)
    shares[request.filler] -= Fraction(citrate)
    shares[Slot("sodium-citrate", request.filler.phase)] = Fraction(citrate)
    amounts = Amounts(tuple(sorted(shares.items())), sources.worktable.ingredients)
    return [one.text for one in on_paper(request, amounts, foretold_of(request, amounts))]


def test_sodium_that_citrate_holds_is_told_where_there_is_enough_to_matter() -> None:
    (told_of_two,) = [text for text in buffered("2") if "holds sodium" in text]
    assert "lower than predicted" in told_of_two
    lower = float(told_of_two.split("about ")[1].split()[0])
    assert 0.02 <= lower <= 0.15
    assert not [text for text in told("oat-rose-mask") if "holds sodium" in text]
