"""Small worktable folders for tests, all of it invented demo data."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from optimiser.domain.worktable import Worktable
from optimiser.loading.worktable import load_worktable
from optimiser.problems import Problem

SOUND: Mapping[str, str] = {
    "worktable.yaml": """\
name: Test bench
currency: EUR
jurisdiction: EU
rules_date: 2026-11-01
decimal: point
batch: 250 g
""",
    "ingredients.csv": """\
id,name,aliases,inci,kind,roles,form,use_min,use_max,supplier,pack_size,pack_price,lead_days,like,notes
water,Water,distilled water,Aqua,water,solvent,liquid,1,99,Invented Stores,10 kg,9.00,2,,
glycerin,Glycerin,plant glycerin,Glycerin,polyol,humectant,syrup,1,30,Invented Stores,1 kg,6.50,2,,
kaolin,White kaolin,white clay; china clay,Kaolin,clay-plain,absorbent,powder,1,40,Invented,1 kg,4.00,2,,
rose-clay,Rose clay,pink clay,Kaolin,clay-plain,absorbent,powder,1,40,Invented Stores,500 g,5.00,2,kaolin,
xanthan,Xanthan gum,,Xanthan Gum,gum-anionic,,powder,0.1,1,Invented Stores,100 g,7.00,2,,
benzoate,Sodium benzoate,,Sodium Benzoate,preservative-acid,,powder,0.2,0.5,Invented Stores,250 g,5.50,2,,
citric-acid-20,Citric acid 20 %,,Citric Acid (and) Aqua,acid,,liquid,,5,Invented Stores,250 g,3.00,2,,
almond-oil,Almond oil,,Prunus Amygdalus Dulcis Oil,oil,emollient,liquid,1,50,Invented Stores,500 ml,8.00,2,,
""",
    "flags.csv": """\
ingredient,flag,state,source,date
group:clay,tree-nut,unknown,,
kind:clay-plain,tree-nut,free,by nature: mineral,2026-01-15
rose-clay,tree-nut,contains,invented demo data,2026-01-15
""",
    "properties.csv": """\
ingredient,property,value,low,high,unit,source
kaolin,solids,99,98,100,%,invented demo data
kaolin,water_uptake,,0.4,0.6,g/g,published: a table
rose-clay,water_uptake,0.5,,,g/g,assumed
group:clay,density,2.6,2.5,2.7,g/ml,memory: handbook
almond-oil,density,0.9,,,g/ml,common practice
xanthan,thickening,1,,,g/g,common practice
""",
}
MASK = """\
name: Mask
product: {use: rinse-off}
phases:
  - phase: A
    lines:
      - {glycerin: 5 %}
      - {xanthan: 0.4 %}
  - phase: B
    lines:
      - {water: to 100 %}
      - {kaolin: 20 %}
"""


def write(folder: Path, files: Mapping[str, str | bytes | None] | None = None) -> Path:
    """The sound folder with `files` over it; None leaves a file out."""
    for name, content in {**SOUND, **(files or {})}.items():
        if content is None:
            continue
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return folder


def loaded(folder: Path, files: Mapping[str, str | bytes | None] | None = None) -> Worktable:
    """The worktable of a folder without problems."""
    worktable, problems = load_worktable(write(folder, files))
    assert [one.sentence() for one in problems] == []
    assert worktable is not None
    return worktable


def problems_of(folder: Path, files: Mapping[str, str | bytes | None]) -> tuple[Problem, ...]:
    """The problems of a folder that has some."""
    worktable, problems = load_worktable(write(folder, files))
    assert worktable is None
    return problems


def only(problems: tuple[Problem, ...]) -> Problem:
    """The one problem there is."""
    assert len(problems) == 1, [one.sentence() for one in problems]
    return problems[0]


def row(name: str, text: str) -> dict[str, str]:
    """The sound file `name` with one row more."""
    return {name: SOUND[name] + text + "\n"}
