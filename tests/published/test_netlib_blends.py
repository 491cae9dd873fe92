"""Small models of the Netlib collection.

Netlib lp/data, D. M. Gay, "Electronic Mail Distribution of Linear Programming Test Problems", COAL
Newsletter 13 (1985); optima from its readme. AVGAS: the aviation gasoline example distributed with
HiGHS.
"""

from __future__ import annotations

import pytest

from optimiser.model.mps import read_mps
from optimiser.model.mps_text import write_mps
from tests.published.core import load, optimum


@pytest.mark.parametrize(
    ("name", "published", "tolerance"),
    [
        ("netlib_blend", -3.0812149846e01, 5e-9),
        ("netlib_recipe", -2.6661600000e02, 1e-9),
        ("netlib_afiro", -4.6475314286e02, 5e-9),
        ("avgas", -7.75, 0.0),
    ],
)
def test_the_published_optimum(name: str, published: float, tolerance: float) -> None:
    """Published to eleven digits; the tolerance is half a unit of the last one."""
    assert abs(float(optimum(load(name))) - published) <= tolerance


@pytest.mark.parametrize("name", ["netlib_blend", "netlib_recipe", "netlib_afiro", "avgas"])
def test_mps_text_keeps_every_digit(name: str) -> None:
    assert read_mps(write_mps(load(name))) == (load(name), ())
