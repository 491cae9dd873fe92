"""A label as text, as a page to print and cut out, and as JSON."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

from optimiser.domain.label import Label, Listed
from optimiser.export.pages import environment
from optimiser.export.plain import clean, quantity
from optimiser.export.wording import sentence
from optimiser.units.numbers import show_number

FORMAT = 1
BLANK = "________________"


def label_text(label: Label) -> str:
    """Plain lines, in the order they are read on a pack; what is left to a person stands as a blank."""
    rows = [clean(label.title), ""]
    rows += [f"{name}: {value}" for name, value in facts(label) if value]
    rows += [f"{name}: {BLANK}" for name in label.blanks]
    rows += ["", f"Ingredients: {clean(label.ingredient_list)}", ""]
    rows += [sentence(one.text) for one in label.warnings]
    rows += ["", "Before it is printed"]
    rows += [f"- {sentence(one.text)}{_source(one.source)}" for one in label.by_hand]
    rows += [f"How long it keeps: {sentence(label.keeps.derived)}"] if label.keeps.derived else []
    return "\n".join(rows) + "\n"


def _source(text: str) -> str:
    return f" ({clean(text)})" if text else ""


def facts(label: Label) -> tuple[tuple[str, str], ...]:
    """What is known of a pack, each with its name; empty where a person has to fill it in."""
    return (
        ("Net content", clean(label.net)),
        ("Keeps", clean(label.keeps.words)),
        ("Batch", clean(label.batch)),
        ("How to use it", clean(label.directions)),
    )


def label_html(label: Label) -> str:
    """A page with the label to cut out, and beneath it what has to be seen to; prints on A4 and Letter."""
    template = environment().get_template("label.html.j2")
    return template.render(label=label, facts=facts(label), sentence=sentence, share=_share) + "\n"


def _share(value: Fraction) -> str:
    return show_number(value, 3, trim=False)


def label_json(label: Label) -> str:
    return json.dumps(label_dict(label), indent=2, ensure_ascii=False) + "\n"


def label_dict(label: Label) -> dict[str, Any]:
    """Shares as decimal strings in % w/w of the batch as added."""
    keeps = label.keeps
    return {
        "format": FORMAT,
        "title": clean(label.title),
        "jurisdiction": label.jurisdiction,
        "use": label.use,
        "ingredient_list": clean(label.ingredient_list),
        "ingredients": [_listed(one) for one in label.ingredients],
        "net": label.net,
        "keeps": {
            "words": keeps.words,
            "derived": keeps.derived,
            "on": keeps.on.isoformat() if keeps.on else None,
            "months_after_opening": keeps.after_opening,
        },
        "batch": clean(label.batch),
        "directions": clean(label.directions),
        "warnings": [{"text": sentence(one.text), "source": one.source} for one in label.warnings],
        "by_hand": [{"text": sentence(one.text), "source": one.source} for one in label.by_hand],
        "rules": [{"text": sentence(one.text), "source": one.source} for one in label.rules],
        "blanks": list(label.blanks),
        "code": label.code,
    }


def _listed(one: Listed) -> dict[str, Any]:
    return {
        "name": clean(one.name),
        "share": quantity(one.percent, "%"),
        "low": quantity(one.low, "%"),
        "high": quantity(one.high, "%"),
        "tail": one.tail,
        "colourant": one.colourant,
        "allergen": one.allergen,
        "placed": one.placed,
    }
