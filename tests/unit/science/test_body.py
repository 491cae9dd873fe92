"""How much salt there is in the water of a pot, as the thickeners that salt weakens count it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from optimiser.domain.ingredient import Ingredient
from optimiser.science.body import salt_in
from tests.acids import SUBSTANCES, TABLE, made_of
from tests.small import fr

GEL = made_of("gel", "gum", Lactic_Acid="100")
"""A chain of acid stands here as the acid itself."""
KNOWN = {**TABLE, "gel": GEL}


def salt(
    grams: Mapping[str, str],
    window: tuple[str, str] | None = None,
    known: Mapping[str, Ingredient] = KNOWN,
) -> float:
    """% in the water."""
    ends = None if window is None else (fr(window[0]), fr(window[1]))
    amounts = {name: fr(amount) for name, amount in grams.items()}
    return float(salt_in(amounts, {name: known[name] for name in grams}, SUBSTANCES, ends))


@pytest.mark.parametrize("grams", ["0.5", "1", "3"])
def test_table_salt_is_itself_and_the_rest_of_the_pot_is_not_its_water(grams: str) -> None:
    assert salt({"water": "50", "salt": grams, "kaolin": "20"}) == pytest.approx(
        2 * float(fr(grams)), rel=1e-3
    )


def test_without_salts_or_without_water_there_is_none() -> None:
    assert salt({"water": "100"}) == 0
    assert salt({"kaolin": "100"}) == 0
    assert salt({"water": "100", "salt": "0"}) == 0


def test_what_only_balances_a_neutralised_thickener_does_not_count() -> None:
    """0.4 g of lye on 1 g of lactic acid: 10 mmol of sodium with as many charges of the chain."""
    acid = {**KNOWN, "gel": replace(GEL, group="acid")}
    pot = {"water": "96", "gel": "1", "lye": "4"}
    assert salt(pot, known=acid) == pytest.approx(5.8443 * 10 / 99.6, rel=0.01)
    assert salt(pot) == pytest.approx(0, abs=0.02)
    assert salt({**pot, "salt": "1"}) == pytest.approx(100 / 99.6, abs=0.03)


@pytest.mark.parametrize(
    ("window", "base", "dosed", "doses"),
    [
        (("4", "5"), {"water": "95", "benzoate": "1"}, "citric", ("5", "10", "40")),
        (("4", "7"), {"water": "95", "lactic": "1"}, "lye", ("5", "10", "20")),
    ],
)
def test_an_alkali_or_an_acid_counts_as_far_as_the_edge_of_the_window(
    window: tuple[str, str], base: dict[str, str], dosed: str, doses: tuple[str, ...]
) -> None:
    held = [salt({**base, dosed: dose}, window) for dose in doses]
    assert held == pytest.approx([held[0]] * len(doses), rel=1e-3)
    whole = [salt({**base, dosed: dose}) for dose in doses]
    assert all(abs(one / held[0] - 1) > 0.03 for one in whole)
    assert [salt({**base, dosed: dose}, ("0", "14")) for dose in doses] == whole
