"""A small invented worktable without water: an oil, waxes, butters, clays. It is solved in a blink."""

from __future__ import annotations

from pathlib import Path

INGREDIENTS = """\
id,name,inci,kind,roles,form,use_min [%],use_max [%],supplier,pack_size,pack_price
field-oil,Field oil,Field Oil,oil,emollient,liquid,1,99,Small Trader,1 kg,1.00
brown-wax,Brown wax,Brown Wax,wax,viscosity-controlling,powder,0.1,2,Small Trader,100 g,4.00
grey-wax,Grey wax,Grey Wax,wax,viscosity-controlling,powder,0.1,2,Small Trader,100 g,6.00
pale-butter,Pale butter,Pale Butter,butter,emollient,solid,1,30,Small Trader,1 kg,5.00
dark-butter,Dark butter,Dark Butter,butter,emollient,solid,1,30,Small Trader,1 kg,9.00
chalk,Chalk,Chalk,clay-plain,bulking,powder,1,40,Small Trader,1 kg,3.00
slate,Slate,Slate,clay-plain,bulking,powder,1,40,Small Trader,1 kg,4.00
"""
COMPOSITION = """\
ingredient,substance,share [%],low,high,source
field-oil,Field Oil,100,,,invented
brown-wax,Brown Wax,100,,,invented
grey-wax,Grey Wax,100,,,invented
pale-butter,Pale Butter,100,,,invented
dark-butter,Dark Butter,100,,,invented
chalk,Chalk,100,,,invented
slate,Slate,100,,,invented
"""
PROCESS = """\
ingredient,stage,add_as,carried_by,carried_ratio,add_from_C,add_to_C,wait_min,needs,wear
group:oil,oil,pour,,,,,,,
group:wax,oil,stir in,,,,,,,
group:butter,oil,stir in,,,,,,,
group:clay,oil,stir in,,,,,,,
"""
PROPERTIES = """\
ingredient,property,value,low,high,unit,source
group:clay,water_content,0,,,%,invented
"""
SHELF = """\
ingredient,lot,amount,unit_price,opened,expires,papers
field-oil,L1,10 kg,,,2028-01-01,
grey-wax,L2,500 g,,,2028-01-01,
slate,L3,2 kg,,,2028-01-01,
dark-butter,L4,1 kg,,,2025-01-01,
"""
SETTINGS = "name: Small\ncurrency: EUR\njurisdiction: EU\nrules_date: 2026-11-01\nbatch: 200 g\n"


def formula(name: str, lines: dict[str, str], targets: str = "") -> str:
    listed = "".join(f"      - {{{one}: {share}}}\n" for one, share in lines.items())
    return (
        f"name: {name}\nproduct: {{use: rinse-off, area: face, age: adult, form: balm}}\nbatch: 200 g\n"
        f"phases:\n  - phase: A\n    title: All\n    lines:\n{listed}{targets}"
    )


WAX = "targets:\n  - share: {group: wax}\n    between: [0.5 %, 2 %]\n    name: Wax\n"
SOFT = "targets:\n  - share: {group: butter}\n    at_least: 5 %\n    name: Soft\n"
FORMULAS = {
    "balm": formula("Balm", {"field-oil": "to 100 %", "brown-wax": "1 %"}, WAX),
    "butter": formula("Butter", {"field-oil": "to 100 %", "pale-butter": "8 %"}, SOFT),
    "paste": formula(
        "Paste",
        {"field-oil": "to 100 %", "brown-wax": "0.5 %", "chalk": "20 %"},
        WAX + "  - share: {group: clay}\n    at_least: 15 %\n    name: Clay\n",
    ),
    "polish": formula("Polish", {"field-oil": "to 100 %", "chalk": "2 %"}),
}


def small_table(folder: Path, formulas: dict[str, str] | None = None) -> Path:
    """The worktable written into `folder`, with these formulas (all of FORMULAS when none are given)."""
    (folder / "formulas").mkdir(parents=True)
    files = {
        "worktable.yaml": SETTINGS,
        "ingredients.csv": INGREDIENTS,
        "composition.csv": COMPOSITION,
        "process.csv": PROCESS,
        "properties.csv": PROPERTIES,
        "shelf.csv": SHELF,
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    for name, text in (formulas or FORMULAS).items():
        (folder / "formulas" / f"{name}.yaml").write_text(text, encoding="utf-8")
    return folder


def range_of(count: int) -> dict[str, str]:
    """So many balms that all differ."""

    def lines(number: int) -> dict[str, str]:
        return {"field-oil": "to 100 %", "brown-wax": f"1.{number % 50:02d} %"}

    return {f"balm-{n:03d}": formula(f"Balm {n}", lines(n), WAX) for n in range(count)}
