"""The columns of the tables in a maker's words: what each means, and where its value is found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from optimiser.loading.properties import SOURCES

How = Literal["text", "number", "choice", "long"]
NUM: How = "number"
CHOICE: How = "choice"
A_DAY = "2026-11-01"
STARTS = tuple(start for start, _ in SOURCES)
SELECTOR = "a choice such as kind:polyol, group:oil, role:…, substance:… or an id"


@dataclass(frozen=True, slots=True)
class Column:
    """A column in a maker's words; `source` says where its value is found. A `choice` has closed words, a
    column that `offers` a list takes others too; `wide` asks for the whole line of a form.
    """

    name: str
    label: str
    means: str
    source: str
    how: How = "text"
    unit: str = ""
    needed: bool = False
    wide: bool = False
    offers: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """A table in a maker's words: `title` of all its rows, `one` of a row, `add` to begin one, `about` what
    it is for; `silence` says what it means where an ingredient has no row.
    """

    title: str
    one: str
    add: str
    about: str
    silence: str


INGREDIENTS = (
    Column("id", "Id", "What the other files call it: a-z, 0-9 and hyphens", "your own word", needed=True),
    Column("name", "Name", "As you call it", "your own word", needed=True),
    Column(
        "aliases",
        "Other names",
        "Separated by semicolons",
        "supplier's papers, or your own words",
        wide=True,
    ),
    Column(
        "inci",
        "Name on the label (INCI)",
        "The names of a blend are joined by “ (and) ”",
        "supplier's data sheet",
        needed=True,
        wide=True,
    ),
    Column(
        "kind",
        "Kind",
        "What it is; standing rules hang on it",
        "data sheet",
        CHOICE,
        needed=True,
        wide=True,
    ),
    Column(
        "roles",
        "There for",
        "What it does, the main thing first, separated by semicolons",
        "data sheet",
        wide=True,
    ),
    Column("form", "Form", "As it comes", "data sheet", CHOICE),
    Column("use_min", "Use from", "Least share of a formula, when it is used at all", "data sheet", NUM, "%"),
    Column("use_max", "Use to", "Largest share of a formula", "data sheet", NUM, "%"),
    Column("supplier", "Supplier", "Who sells it", "offer or invoice"),
    Column(
        "pack_size", "Pack", "What is bought at once, with its unit: 500 g, 1 kg, 250 ml", "offer or invoice"
    ),
    Column("pack_price", "Price of the pack", "What that costs", "offer or invoice", NUM, "money"),
    Column("lead_days", "On the way", "From order to door", "supplier, or your own count", NUM, "days"),
    Column(
        "like", "Like", "Id of an ingredient that lends missing numbers, marked borrowed", "your judgement"
    ),
    Column("notes", "Notes", "Anything", "your own words", "long", wide=True),
)
FLAGS = (
    Column(
        "flag", "Flag", "What someone may want to avoid", "the list of flags", CHOICE, needed=True, wide=True
    ),
    Column(
        "state",
        "State",
        "Free only where a paper says so: what nobody looked up is not known",
        "the paper below",
        CHOICE,
        needed=True,
        wide=True,
    ),
    Column(
        "source",
        "Source",
        "Who or what says so. Needed, unless it is not known",
        "data sheet, allergen statement, supplier's letter",
        wide=True,
    ),
    Column("date", "Day of the source", f"Year, month and day: {A_DAY}", "the paper"),
)
PROPERTIES = (
    Column("property", "Property", "Which number", "the list of properties", CHOICE, needed=True, wide=True),
    Column("value", "Value", "The number; or leave it out and give both ends", "data sheet", NUM),
    Column("low", "Lowest", "The low end, where it strays", "data sheet, or several readings", NUM),
    Column("high", "Highest", "The high end", "data sheet, or several readings", NUM),
    Column(
        "unit",
        "Unit",
        "Left open, that of the property is written. Where yours is another, turn the number into it first",
        "the list of properties",
        CHOICE,
    ),
    Column(
        "source",
        "Source",
        f"Begins with {', '.join(STARTS[:-1])} or {STARTS[-1]}; such as “supplier: sheet of 2026-03”. "
        "What is assumed or from memory may shape a formula, and proves nothing impossible",
        "what tells the number",
        needed=True,
        wide=True,
        offers="starts",
    ),
)
COMPOSITION = (
    Column(
        "substance",
        "Substance",
        "One substance by its INCI name; each has a row of its own",
        "data sheet",
        needed=True,
        wide=True,
        offers="substances",
    ),
    Column("share", "Share", "Of the ingredient as bought; or give both ends", "data sheet", NUM, "%"),
    Column("low", "Lowest", "The low end of the share", "data sheet", NUM, "%"),
    Column("high", "Highest", "The high end of the share", "data sheet", NUM, "%"),
    Column(
        "source",
        "Source",
        "Where it is from, such as “supplier: sheet of 2026-03”. "
        "What begins with assumed or memory proves nothing impossible",
        "the paper itself",
        needed=True,
        wide=True,
        offers="starts",
    ),
)
PROCESS = (
    Column("stage", "Stage", "When it is added", "data sheet", CHOICE, needed=True, wide=True),
    Column("add_as", "How", "How it is added, as a step of the sheet", "data sheet", needed=True, wide=True),
    Column(
        "carried_by",
        "Carried by",
        f"What it is wetted or dissolved in first: {SELECTOR}",
        "data sheet",
        offers="selectors",
    ),
    Column("carried_ratio", "Parts of that", "How many parts of the carrier to one", "data sheet", NUM),
    Column("add_from_c", "From", "Lowest temperature at which it goes in", "data sheet", NUM, "°C"),
    Column("add_to_c", "To", "Highest temperature at which it goes in", "data sheet", NUM, "°C"),
    Column("wait_min", "Wait", "To wait afterwards", "data sheet", NUM, "minutes"),
    Column("needs", "Needs", f"What must stand beside it: {SELECTOR}", "data sheet", offers="selectors"),
    Column("wear", "Wear", "Protection, separated by semicolons", "safety data sheet", wide=True),
)
SHELF = (
    Column("lot", "Lot", "The number on the bag", "the bag", needed=True),
    Column(
        "amount", "Amount", "What is left, with its unit: 850 g, 1.5 kg, 250 ml", "the scale", needed=True
    ),
    Column(
        "unit_price",
        "Price",
        "What this lot cost; kept with the lot, while costs are reckoned with the pack's price",
        "invoice",
        NUM,
        "money",
    ),
    Column("opened", "Opened", f"Year, month and day: {A_DAY}", "your own note"),
    Column("expires", "Expires", f"Year, month and day: {A_DAY}", "the bag"),
    Column("papers", "Papers", "Papers that came with it, separated by semicolons", "your folder", wide=True),
)
COLUMNS: Mapping[str, tuple[Column, ...]] = MappingProxyType(
    {
        "ingredients": INGREDIENTS,
        "flags": FLAGS,
        "properties": PROPERTIES,
        "composition": COMPOSITION,
        "process": PROCESS,
        "shelf": SHELF,
    }
)
WORDS: Mapping[str, Words] = MappingProxyType(
    {
        "flags": Words(
            "Flags",
            "a flag",
            "Add a flag",
            "What someone may want to avoid.",
            "A flag that is not named is not known.",
        ),
        "properties": Words(
            "Numbers of it",
            "a number",
            "Add a number",
            "Each with its spread, unit and source.",
            "None is written here; a number that is not known counts as not known, never as zero.",
        ),
        "composition": Words(
            "Made of",
            "a substance",
            "Add a substance",
            "The substances in it, as bought.",
            "No row: a single material is all of its INCI name, a blend is not known.",
        ),
        "process": Words(
            "How it is added",
            "how it is added",
            "Say how it is added",
            "One row: when, how, and how warm.",
            "Not known: what has no way of being added is never brought in.",
        ),
        "shelf": Words("On the shelf", "a lot", "Add a lot", "What is there.", "Nothing of it is there."),
    }
)
LABELS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        f"{table}.csv": {"ingredient": "Ingredient", **{one.name: one.label for one in columns}}
        for table, columns in COLUMNS.items()
    }
)
"""What the columns of a file are called on the page."""
