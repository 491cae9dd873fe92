"""The shipped reference data: complete, exact, each value with its source."""

from __future__ import annotations

import csv
from collections import defaultdict
from fractions import Fraction
from importlib import resources

import pytest

from optimiser.domain.vocabulary import unit_words
from optimiser.law.limits import JURISDICTIONS, SOURCE_MARK, LimitRow
from optimiser.law.pick import pick
from optimiser.loading.reference import load_limits, load_substances, load_vocabulary

MAY_BE_EMPTY = {
    "limits.csv": {"aliases", "counts_as", "max", "from", "until", "condition"},
    "substances.csv": {"cas", "formula", "molar_mass", "pKa1", "pKa2", "pKa3", "counter_ion"},
    "properties.csv": {"zero_for"},
    "kinds.csv": set(), "roles.csv": set(), "flags.csv": set(), "stages.csv": set(),
}  # fmt: skip
UNITS = {"%", "pH", "ppm", "mg/kg", "mmol/L", "kDa"}
AREAS = {
    "face",
    "body",
    "hand",
    "foot",
    "hair",
    "scalp",
    "eye",
    "lip",
    "mouth",
    "nail",
    "underarm",
    "nappy",
    "not",
}
AGES = {"any", "under-3", "under-6", "not:under-3", "not:under-6"}


def cells(name: str) -> list[dict[str, str]]:
    text = resources.files("optimiser").joinpath("reference", name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def by_limit() -> dict[str, list[LimitRow]]:
    groups: dict[str, list[LimitRow]] = defaultdict(list)
    for row in load_limits():
        groups[row.limit].append(row)
    return groups


@pytest.mark.parametrize("name", sorted(MAY_BE_EMPTY))
def test_no_cell_is_empty_where_a_value_is_needed(name: str) -> None:
    for line, row in enumerate(cells(name), start=2):
        empty = {column for column, cell in row.items() if not (cell or "").strip()}
        assert empty <= MAY_BE_EMPTY[name], f"{name}:{line}"
        assert None not in row, f"{name}:{line}"
        assert all(cell == cell.strip() for cell in row.values()), f"{name}:{line}"


def test_every_limit_row_uses_known_words() -> None:
    for row in load_limits():
        assert row.jurisdiction in JURISDICTIONS
        assert row.use in ("any", "leave-on", "rinse-off")
        assert set(row.area) <= AREAS, row.limit
        assert row.age in AGES, row.limit
        assert row.unit in UNITS, row.limit
        assert row.limit.startswith(f"{row.jurisdiction.lower()}-")
        assert row.starts is None or row.ends is None or row.starts <= row.ends


def test_every_limit_row_names_where_it_was_read_or_says_memory() -> None:
    for row in load_limits():
        assert row.instrument, row.limit
        assert (SOURCE_MARK in row.source) or row.status == "memory", row.limit
        assert "/work" not in row.source
        assert "github" not in row.source.casefold()


def test_what_a_machine_reads_is_a_share_with_a_maximum() -> None:
    for row in load_limits():
        if row.machine:
            assert row.unit == "%", row.limit
            assert row.maximum is not None, row.limit
            assert 0 <= row.maximum <= 100, row.limit
        else:
            assert row.condition, row.limit


def test_a_factor_is_a_share_of_the_substance() -> None:
    for row in load_limits():
        assert 0 < row.factor < Fraction(13, 10), row.limit
        assert row.factor == 1 or row.counts_as, row.limit


def test_rows_of_one_limit_say_the_same() -> None:
    for name, rows in by_limit().items():
        said = {
            (r.family, r.counts_as, r.jurisdiction, r.use, r.area, r.age, r.form, r.maximum, r.unit, r.starts,
             r.ends, r.basis, r.machine, r.instrument)
            for r in rows
        }  # fmt: skip
        assert len(said) == 1, name


def test_a_substance_stands_once_in_a_limit() -> None:
    for name, rows in by_limit().items():
        names = [word.casefold() for row in rows for word in (row.substance, *row.aliases)]
        assert len(names) == len(set(names)), name


def test_substances_are_exact_and_named_once() -> None:
    rows = cells("substances.csv")
    assert len(load_substances()) == len(rows)
    for row in rows:
        substance = load_substances()[row["substance"].casefold()]
        assert substance.source
        assert substance.status in ("seen", "computed", "memory")
        assert substance.molar_mass is None or substance.molar_mass == Fraction(row["molar_mass"])
        assert list(substance.pka) == sorted(substance.pka)


def test_what_is_recalled_is_marked_so() -> None:
    for substance in load_substances().values():
        assert "memory" not in substance.source or substance.status == "memory", substance.name


@pytest.mark.parametrize("place", ["EU", "UK"])
@pytest.mark.parametrize("use", ["leave-on", "rinse-off"])
@pytest.mark.parametrize("area", ["face", "body", "hand", "foot", "hair", "scalp", "nail", "underarm"])
def test_a_restricted_substance_is_bounded_or_named_for_every_product(
    place: str, use: str, area: str
) -> None:
    """Silence about a product type is said aloud; from the last starting day of the table on."""
    rows = [
        row for row in load_limits() if row.jurisdiction == place and row.basis == "law" and row.ends is None
    ]
    on = max(row.starts for row in rows if row.starts is not None)
    found = pick(rows, jurisdiction=place, on=on, use=use, area=area, age="adult", form="")
    told = {name for bound in found.limits for name, _ in bound.members} | {
        row.substance for row in found.by_hand
    }
    assert {row.substance for row in rows if row.age == "any"} <= told


def test_the_vocabulary_hangs_together() -> None:
    words = load_vocabulary()
    assert len(words.roles) == 37
    assert len(words.flags) == 42
    assert [stage.order for stage in words.stages.values()] == list(range(1, len(words.stages) + 1))
    owners = {f"kind:{name}" for name in words.kinds} | {f"group:{name}" for name in words.groups}
    for meaning in words.properties.values():
        assert set(meaning.zero_for) <= owners, meaning.name
        assert meaning.low < meaning.high


def test_the_data_are_read_once() -> None:
    assert load_limits() is load_limits()
    assert load_substances() is load_substances()
    assert load_vocabulary() is load_vocabulary()


def test_each_property_has_a_title_of_its_own_in_words() -> None:
    titles = [one.title for one in load_vocabulary().properties.values()]
    assert len(set(titles)) == len(titles)
    assert [title for title in titles if "_" in title or title != title.strip()] == []


def test_a_pure_number_has_no_unit_to_read() -> None:
    assert [unit_words(unit) for unit in ("-", "C", "g/g")] == ["", "°C", "g/g"]
