"""The published reference data that ships with the package; read once, never changed."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from datetime import date
from fractions import Fraction
from functools import cache, lru_cache
from importlib import resources
from types import MappingProxyType
from typing import TypeVar

from optimiser.domain.container import Container
from optimiser.domain.ingredient import Figure
from optimiser.domain.ingredient import Status as FigureStatus
from optimiser.domain.label import LabelRules
from optimiser.domain.request import Remark
from optimiser.domain.substance import Substance
from optimiser.domain.vocabulary import (
    Carried,
    CompositionNeed,
    Holds,
    Kind,
    PropertyMeaning,
    Stage,
    Summing,
    Vocabulary,
)
from optimiser.law.facts import EXCLUDES
from optimiser.law.limits import Basis, LimitRow, Status

BETWEEN = "; "
EXCEPT = f"{EXCLUDES}: "
CARRIED: Mapping[str, Carried] = {"line": "line", "share": "share", "level": "level", "none": "none"}
HOLDS: Mapping[str, Holds] = {"must": "must", "range": "range"}
COMPOSITION: Mapping[str, CompositionNeed] = {"single": "single", "required": "required"}
SUMMING: Mapping[str, Summing] = {"yes": "yes", "level": "level", "no": "no"}
BASES: Mapping[str, Basis] = {"law": "law", "advice": "advice", "label": "label"}
STATUSES: Mapping[str, Status] = {"seen": "seen", "memory": "memory"}
STATES_OF_PACKS: Mapping[str, FigureStatus] = {
    "by nature": "by nature",
    "published": "published",
    "assumed": "assumed",
}
Named = TypeVar("Named", Kind, Stage, PropertyMeaning)


@cache
def load_vocabulary() -> Vocabulary:
    """Kinds, roles, flags, stages and properties."""
    return Vocabulary(
        kinds=_by_name(_kind(row) for row in _rows("kinds.csv")),
        roles=MappingProxyType({row["role"]: row["meaning"] for row in _rows("roles.csv")}),
        flags=MappingProxyType({row["flag"]: row["meaning"] for row in _rows("flags.csv")}),
        stages=_by_name(_stage(row) for row in _rows("stages.csv")),
        properties=_by_name(_property(row) for row in _rows("properties.csv")),
    )


@cache
def load_substances() -> Mapping[str, Substance]:
    """Published constants by INCI name in lower case."""
    substances = [_substance(row) for row in _rows("substances.csv")]
    return MappingProxyType({substance.name.casefold(): substance for substance in substances})


@cache
def load_packs() -> Mapping[str, Container]:
    """What packs take of a preservative, by the name of the pack."""
    return MappingProxyType({row["pack"]: _container(row) for row in _rows("packs.csv")})


@cache
def load_limits() -> tuple[LimitRow, ...]:
    """Every published limit, one row a substance, in the order of the file."""
    return tuple(_limit(row) for row in _rows("limits.csv"))


@cache
def load_label_rules() -> Mapping[str, LabelRules]:
    """How each place wants its labels, by jurisdiction."""
    rows = _rows("label_rules.csv")
    places = dict.fromkeys(row["jurisdiction"] for row in rows)
    return MappingProxyType({place: _label_rules(place, rows) for place in places})


def _label_rules(place: str, rows: list[dict[str, str]]) -> LabelRules:
    own = [row for row in rows if row["jurisdiction"] == place]
    one = {row["rule"]: row["value"] for row in own}

    def told(*rules: str) -> tuple[Remark, ...]:
        return tuple(
            Remark(row["value"], row["sentence"], row["source"])
            for row in own
            if row["rule"] in rules and row["sentence"]
        )

    edge, _, tail = one["tail"].rpartition(" ")
    return LabelRules(
        jurisdiction=place,
        tail=Fraction(tail),
        tail_with=edge == "at most",
        scent=one["scent"],
        net_exempt=Fraction(one["net_exempt"]) if one.get("net_exempt") else None,
        long_months=int(one["long_months"]) if one.get("long_months") else None,
        names={name.removeprefix("name:"): value for name, value in one.items() if name.startswith("name:")},
        also=told("also"),
        before=told("before"),
        sources=told("tail", "colourants", "scent", "net_exempt", "long_months"),
    )


def _rows(name: str) -> list[dict[str, str]]:
    """Cells by column. A short or long row is a fault of the package and raises ValueError."""
    text = resources.files("optimiser").joinpath("reference", name).read_text(encoding="utf-8")
    header, *rows = csv.reader(text.splitlines())
    for number, row in enumerate(rows, start=2):
        if len(row) != len(header):
            raise ValueError(f"optimiser/reference/{name}:{number}: {len(row)} cells, expected {len(header)}")
    return [dict(zip(header, row, strict=True)) for row in rows]


def _by_name(items: Iterable[Named]) -> Mapping[str, Named]:
    return MappingProxyType({item.name: item for item in items})


def _kind(row: Mapping[str, str]) -> Kind:
    return Kind(
        row["kind"],
        row["group"],
        row["meaning"],
        CARRIED[row["carried"]],
        HOLDS[row["holds"]],
        COMPOSITION[row["composition"]],
        row["water_free"] == "yes",
    )


def _stage(row: Mapping[str, str]) -> Stage:
    return Stage(row["stage"], int(row["order"]), row["title"], row["meaning"])


def _property(row: Mapping[str, str]) -> PropertyMeaning:
    return PropertyMeaning(
        row["property"],
        row["title"],
        row["unit"],
        Fraction(row["low"]),
        Fraction(row["high"]),
        tuple(row["zero_for"].split()),
        SUMMING[row["sum"]],
        row["meaning"],
    )


def _substance(row: Mapping[str, str]) -> Substance:
    return Substance(
        name=row["substance"],
        cas=row["cas"],
        formula=row["formula"],
        molar_mass=Fraction(row["molar_mass"]) if row["molar_mass"] else None,
        pka=tuple(Fraction(row[name]) for name in ("pKa1", "pKa2", "pKa3") if row[name]),
        charge=int(row["charge"]) if row["charge"] else None,
        counter_ion=row["counter_ion"],
        source=row["source"],
        status=row["status"],
    )


def _container(row: Mapping[str, str]) -> Container:
    takes, low, high = (Fraction(row[name]) for name in ("takes", "low", "high"))
    word = row["source"].partition(":")[0]
    status = STATES_OF_PACKS[word]
    return Container(row["pack"], Figure(takes, low, high, "ml/100 g", row["source"], status))


def _limit(row: Mapping[str, str]) -> LimitRow:
    return LimitRow(
        limit=row["limit"],
        family=row["family"],
        substance=row["substance"],
        aliases=_several(row["aliases"]),
        counts_as=row["counts_as"],
        factor=_number(row["factor"]),
        jurisdiction=row["jurisdiction"],
        use=row["use"],
        area=_places(row["area"]),
        age=row["age"],
        form=_places(row["form"]),
        maximum=_number(row["max"]) if row["max"] else None,
        unit=row["unit"],
        starts=_day(row["from"]),
        ends=_day(row["until"]),
        basis=BASES[row["basis"]],
        machine=row["machine"] == "yes",
        condition=row["condition"],
        source=row["source"],
        status=STATUSES[row["status"]],
    )


@lru_cache(maxsize=512)
def _number(cell: str) -> Fraction:
    return Fraction(cell)


def _several(cell: str) -> tuple[str, ...]:
    return tuple(word for word in cell.split(BETWEEN) if word)


def _places(cell: str) -> tuple[str, ...]:
    """`any` is no restriction; `not: hair; scalp` becomes ("not", "hair", "scalp")."""
    if cell == "any":
        return ()
    if cell.startswith(EXCEPT):
        return (EXCLUDES, *_several(cell.removeprefix(EXCEPT)))
    return _several(cell)


def _day(cell: str) -> date | None:
    return date.fromisoformat(cell) if cell else None
