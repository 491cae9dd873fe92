"""Two wishes set against each other: from words to the curve, and the curve to files."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path

from optimiser.domain.curve import Curve
from optimiser.domain.outcome import Outcome, Proposals, Undecided
from optimiser.domain.request import Request
from optimiser.errors import UsageError
from optimiser.export.curve_csv import curve_csv
from optimiser.export.curve_html import curve_html
from optimiser.export.curve_json import curve_dict
from optimiser.export.curve_png import curve_png
from optimiser.export.curve_svg import curve_svg
from optimiser.files.forms import write_forms
from optimiser.problems import did_you_mean
from optimiser.requests.sources import Sources
from optimiser.search import axes
from optimiser.search.axes import Along
from optimiser.search.curve import curve
from optimiser.search.propose import silent
from optimiser.search.stages import NoAnswer
from optimiser.units.numbers import DecimalMark
from optimiser.workflows.choosing import selector
from optimiser.workflows.propose import Asked, Tell, propose, request_for

WAYS = {"least": False, "most": True}
PLAIN = ("cost", "departure", "natural-origin", "ingredients", "new-ingredients")
WITH_NAME = ("share", "mean", "level")
BY_ITSELF = {name: name == "natural-origin" for name in PLAIN}
POSSIBLE = (
    "measures are cost, departure, natural-origin, ingredients, new-ingredients, share:WHAT (share:clay, "
    "share:role:emollient), mean:PROPERTY (mean:solids) and level:PROPERTY (level:thickening), "
    'with "least" or "most" before them'
)


def tradeoff(
    sources: Sources, asked: Asked, between: str, other: str, tell: Tell = silent, most_points: int = 10
) -> Curve | Outcome:
    """The curve between two measures; the plain outcome of `propose` where no formula meets every must."""
    request = request_for(sources, asked)
    first, second = (along(word, request, sources) for word in (between, other))
    if first.axis.name == second.axis.name:
        raise UsageError(f"{first.axis.name} cannot be set against itself", "name two measures")
    found = curve(request, first, second, asked.limits, tell, most_points=most_points)
    if isinstance(found, Curve):
        return found
    outcome = propose(sources, asked, tell)
    if isinstance(outcome, Proposals):
        return Undecided(request, outcome.base, _stuck(found))
    return outcome


def _stuck(found: NoAnswer) -> str:
    return (
        "a formula meets every must, but none does for which both measures are known"
        if found.infeasible
        else f"the curve was not found: {found.why}"
    )


def along(words: str, request: Request, sources: Sources) -> Along:
    """`least cost`, `most share:clay`. Raises UsageError with what is possible."""
    way, name = _way_of(words.strip())
    kind, colon, rest = name.partition(":")
    if kind not in (*PLAIN, *WITH_NAME):
        aka = {"closeness": "departure", "price": "cost", "natural origin": "natural-origin"}
        straight = ("ph", "thickness", "viscosity")
        if kind.casefold() in straight:
            raise UsageError(
                f"{kind} does not add up line by line, so no exact curve runs along it",
                "hold it with a target of the brief, and choose another measure",
            )
        hint = f'did you mean "{aka[kind]}"?' if kind in aka else did_you_mean(kind, (*PLAIN, *WITH_NAME))
        raise UsageError(f'no measure is called "{kind}"', hint or POSSIBLE)
    if (kind in WITH_NAME) != bool(colon and rest):
        fault = "lacks a name after the colon" if kind in WITH_NAME else "takes no name"
        raise UsageError(f'"{name}" {fault}', POSSIBLE)
    more = BY_ITSELF.get(kind) if way is None else way
    if more is None:
        raise UsageError(f'"{name}" does not say which way', f'write "least {name}" or "most {name}"')
    return _made(f"{'most' if more else 'least'} {name}", kind, rest, more, request, sources)


def _way_of(words: str) -> tuple[bool | None, str]:
    head, _, tail = words.partition(" ")
    return (WAYS[head], tail.strip()) if head in WAYS and tail else (None, words)


def _made(asked: str, kind: str, rest: str, more: bool, request: Request, sources: Sources) -> Along:
    properties = sources.vocabulary.properties
    match kind:
        case "cost":
            return axes.along_cost(request, asked, more)
        case "departure":
            if more:
                raise UsageError("only least departure has an end", 'write "least departure"')
            return axes.along_departure(request, asked, more)
        case "natural-origin":
            return axes.along_mean(request, asked, more, "natural_origin", "%")
        case "ingredients" | "new-ingredients":
            return axes.along_count(request, asked, more, kind == "new-ingredients")
        case "share":
            return axes.along_share(request, asked, more, selector(_full(rest, sources), sources))
    name = rest.replace("-", "_")
    if name not in properties:
        raise UsageError(f'no property is called "{rest}"', did_you_mean(name, properties) or POSSIBLE)
    if kind == "level":
        return axes.along_level(request, asked, more, name)
    return axes.along_mean(request, asked, more, name, properties[name].unit)


def _full(word: str, sources: Sources) -> str:
    """`clay` is a kind or group where there is one of that name, else a role, else an ingredient."""
    if ":" in word:
        return word
    kinds = sources.vocabulary.kinds
    if word in kinds or any(kind.group == word for kind in kinds.values()):
        return f"kind:{word}"
    return f"role:{word}" if word in sources.vocabulary.roles else word


def write_curve(
    found: Curve, to: Path, formats: tuple[str, ...], decimal: DecimalMark = "point"
) -> tuple[Path, ...]:
    """One file a format below `to`, named after the formula. Raises UsageError or OptimiserError."""
    writers: Mapping[str, Callable[[], str | bytes]] = {
        "html": lambda: curve_html(found, decimal),
        "csv": lambda: curve_csv(found),
        "svg": lambda: curve_svg(found, decimal) + "\n",
        "png": lambda: curve_png(found, decimal),
        "json": lambda: json.dumps(curve_dict(found), indent=2, ensure_ascii=False) + "\n",
    }
    return write_forms(to, f"{found.request.formula.id}-{file_part(found)}", formats, writers)


def file_part(found: Curve) -> str:
    words = f"{found.first.asked} against {found.second.asked}"
    return "-".join("".join(mark if mark.isalnum() else " " for mark in words).split()).lower()
