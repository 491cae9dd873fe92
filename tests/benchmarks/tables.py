"""Invented worktables of any size, the same for the same size and seed.

Every family has its own prices, ranges and numbers, drawn anew for each row. The base is a clay mask of
fifteen lines; two briefs ask for what a maker asks: other things in place of three lines, and a cheaper jar.
"""

from __future__ import annotations

import csv
import random
import shutil
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import optimiser

DEMO = Path(optimiser.__file__).resolve().parent.parent / "ingredient_data_demo"
WAYS, CLASHES = "process.csv", "clashes.csv"
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Family:
    """Ingredients of one kind: how common they are, price per kg, range of use, and numbers from … to."""

    kind: str
    weight: int
    price: Span
    least: Span
    most: Span
    role: str
    numbers: dict[str, Span] = field(default_factory=dict)
    flagged: bool = False


DRY, WET = {"solids": (90.0, 99.0)}, {"solids": (0.0, 2.0)}
FAT = {"solids": (99.0, 100.0)}
FAMILIES = (
    Family("polyol", 8, (3, 16), (0.5, 2), (8, 20), "humectant", WET),
    Family("clay-plain", 18, (2, 12), (1, 3), (15, 45), "absorbent", DRY),
    Family(
        "clay-swelling", 6, (3, 14), (0.5, 2), (5, 12), "absorbent", {**DRY, "thickening": (0.02, 0.08)}, True
    ),
    Family("starch", 8, (2, 9), (0.5, 2), (5, 15), "absorbent", DRY),
    Family(
        "gum-anionic", 6, (12, 60), (0.05, 0.2), (0.5, 2), "gel-forming", {**DRY, "thickening": (0.5, 1.5)}
    ),
    Family(
        "gum-nonionic", 6, (12, 60), (0.05, 0.2), (0.5, 2), "gel-forming", {**DRY, "thickening": (0.4, 3)}
    ),
    Family("oil", 18, (5, 40), (0.2, 1), (5, 60), "emollient", FAT),
    Family("butter", 5, (7, 30), (0.2, 1), (5, 40), "emollient", FAT),
    Family("ester", 5, (8, 35), (0.2, 1), (5, 30), "emollient", FAT),
    Family("emulsifier-nonionic", 6, (9, 40), (0.2, 1), (4, 9), "emulsifying", FAT),
    Family("extract", 9, (15, 120), (0.1, 0.5), (2, 6), "skin-conditioning", {"solids": (2.0, 40.0)}),
    Family("antioxidant", 2, (20, 120), (0.05, 0.1), (0.5, 1.5), "antioxidant", FAT),
    Family(
        "preservative-alcohol",
        3,
        (15, 70),
        (0.2, 0.5),
        (0.9, 1.2),
        "preservative",
        {
            "solids": (0.0, 2.0),
            "least_dose_bacteria": (0.4, 0.8),
            "least_dose_yeast": (0.4, 0.8),
            "least_dose_mould": (0.4, 0.8),
        },
    ),
)
UNITS = {"solids": "%", "thickening": "g/g"}
BASE: tuple[tuple[str, int, str, str], ...] = (
    ("polyol", 0, "A", "5"), ("gum-anionic", 0, "A", "0.4"),
    ("preservative-alcohol", 0, "B", "0.9"), ("extract", 1, "B", "0.8"),
    ("clay-plain", 0, "C", "13"), ("clay-plain", 1, "C", "6"), ("clay-swelling", 0, "C", "5"),
    ("starch", 0, "C", "2"),
    ("oil", 0, "D", "2"), ("butter", 0, "D", "1"), ("ester", 0, "D", "0.6"),
    ("emulsifier-nonionic", 0, "D", "0.9"),
    ("antioxidant", 0, "D", "0.2"), ("extract", 0, "E", "1"),
)  # fmt: skip
"""Family, which of it, phase, share in %; water makes up the rest."""
LEAST_ROWS = 1 + len(FAMILIES) * 2
TARGETS = """targets:
  - {share: {kind: clay}, between: [18 %, 30 %], name: Clay}
  - {level: thickening, within: 10 % of base, name: As thick}
  - {mean: solids, between: [28 %, 40 %], name: Solids}
  - {share: {kind: polyol}, between: [3 %, 12 %], name: Humectant}
  - {ratio: [{kind: gum}, {kind: polyol}], in: A, at_most: 0.1, name: Polyol to wet the gum}
  - {share: {role: emollient}, between: [3 %, 6 %], name: Oils}
  - {covers: [bacteria, yeast, mould], name: Covers}
  - {cost: {at_most: 30 EUR/kg}, name: Price}
  - {newcomers: {at_most: 4}, name: Few new things}
"""
BRIEFS = {
    "swap": (
        "name: Swap\nleave_out:\n  - {flag: strong-clay, name: No strong clay}\n"
        "  - {ingredient: gum-anionic-0, name: Gum is out}\n  - {ingredient: oil-0, name: Oil is out}\n"
        "aim: closest\n"
    ),
    "cheapest": "name: Cheapest\naim: cheapest\n",
}


def write_table(folder: Path, rows: int, *, formulas: int = 1, seed: int = 0) -> Path:
    """A worktable of `rows` ingredients (33 at least) and `formulas` drawn about the base."""
    dice = random.Random(f"{rows} {seed}")
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copy(DEMO / "worktable.yaml", folder)
    for name in (WAYS, CLASHES):
        (folder / name).write_text(_of_kinds(name), "utf-8")
    _write(folder, _drawn(rows, dice))
    (folder / "formulas").mkdir(exist_ok=True)
    (folder / "briefs").mkdir(exist_ok=True)
    for number in range(formulas):
        (folder / "formulas" / f"{formula_name(number)}.yaml").write_text(_formula(number, dice), "utf-8")
    for name, text in BRIEFS.items():
        (folder / "briefs" / f"{name}.yaml").write_text(text, "utf-8")
    return folder


def _of_kinds(name: str) -> str:
    """The rows of a table of the demo that speak of kinds alone: they hold for any worktable."""
    head, *rows = (DEMO / name).read_text("utf-8").splitlines(keepends=True)
    others = ("substance:", "ingredient:")
    kept = (
        row
        for row in rows
        if (row.startswith("kind:") if name == WAYS else not any(other in row for other in others))
    )
    return head + "".join(kept)


def formula_name(number: int) -> str:
    return f"mask-{number:04d}"


def _drawn(rows: int, dice: random.Random) -> list[tuple[str, Family]]:
    """Two of each family, then whatever the dice say."""
    if rows < LEAST_ROWS:
        raise ValueError(f"a table has {LEAST_ROWS} rows at least")
    counts = {family.kind: 2 for family in FAMILIES}
    weights = [family.weight for family in FAMILIES]
    for family in dice.choices(FAMILIES, weights, k=rows - LEAST_ROWS):
        counts[family.kind] += 1
    return [(f"{family.kind}-{n}", family) for family in FAMILIES for n in range(counts[family.kind])]


def _write(folder: Path, drawn: list[tuple[str, Family]], /) -> None:
    dice = random.Random(len(drawn))
    ingredients: list[tuple[object, ...]] = [
        ("water", "Water", "Aqua", "water", "solvent", 1, 99, "10 kg", "9.00")
    ]
    numbers: list[tuple[object, ...]] = []
    parts: list[tuple[object, ...]] = []
    flags: list[tuple[object, ...]] = [("water", "strong-clay", "free", "by nature", "2026-01-15")]
    for name, family in drawn:
        title = name.replace("-", " ").capitalize()
        least, most = dice.uniform(*family.least), dice.uniform(*family.most)
        price = f"{dice.uniform(*family.price):.2f}"
        ingredients.append(
            (name, title, title, family.kind, family.role, f"{least:.2f}", f"{most:.1f}", "1 kg", price)
        )
        for what, (low, high) in family.numbers.items():
            digits = 1 if what == "solids" else 2
            unit = UNITS.get(what, "%")
            numbers.append((name, what, f"{dice.uniform(low, high):.{digits}f}", "", "", unit, "invented"))
        if family.kind in ("extract", "preservative-alcohol"):
            parts.append((name, title, 100, "", "", "invented"))
        flags.append(
            (name, "strong-clay", "contains" if family.flagged else "free", "invented", "2026-01-15")
        )
    head = "id,name,inci,kind,roles,use_min [%],use_max [%],pack_size,pack_price"
    _table(folder / "ingredients.csv", head, ingredients)
    _table(folder / "properties.csv", "ingredient,property,value,low,high,unit,source", numbers)
    _table(folder / "composition.csv", "ingredient,substance,share [%],low,high,source", parts)
    _table(folder / "flags.csv", "ingredient,flag,state,source,date", flags)


def _table(path: Path, head: str, rows: Iterable[tuple[object, ...]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(head.split(","))
        writer.writerows(rows)


def _formula(number: int, dice: random.Random) -> str:
    """The base; every later one has its shares drawn within a tenth of it."""
    lines: dict[str, list[str]] = {phase: [] for _, _, phase, _ in BASE}
    lines["B"].append("      - {water: to 100 %}")
    for kind, which, phase, share in BASE:
        much = float(share) * (dice.uniform(0.92, 1.08) if number else 1)
        lines[phase].append(f"      - {{{kind}-{which}: {much:.2f} %}}")
    phases = "\n".join(
        f"  - phase: {phase}\n    title: {phase}\n    lines:\n" + "\n".join(text)
        for phase, text in sorted(lines.items())
    )
    head = "product: {use: rinse-off, area: face, age: adult, form: paste}\nbatch: 250 g\nhero: [extract-0]"
    return f"name: Mask {number}\n{head}\nphases:\n{phases}\n{TARGETS}"
