"""Parts of pages that are made from the commands, the vocabulary, the limits and the schema.

In a page such a part stands between <!-- generated: NAME --> and <!-- end -->.
"""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from optimiser.cli.main import COMMANDS, cli
from optimiser.loading.reference import load_limits
from tests.docs.pages import ROOT

PART = re.compile(r"(<!-- generated: ([a-z-]+) -->\n).*?(<!-- end -->)", re.DOTALL)
REFERENCE = ROOT / "optimiser" / "reference"
SCHEMA = ROOT / "optimiser" / "schema" / "answer.schema.json"


def renewed(text: str) -> str:
    """The page with every generated part made again."""
    return PART.sub(lambda part: f"{part[1]}\n{PARTS[part[2]]()}\n\n{part[3]}", text)


def grid(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A Markdown table."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def commands() -> str:
    """Every command with its arguments and options."""
    context = click.Context(cli)
    parts = []
    for name in COMMANDS:
        command = cli.get_command(context, name)
        if isinstance(command, click.Group):
            parts += [_command(f"{name} {sub}", command.commands[sub]) for sub in sorted(command.commands)]
        elif command is not None:
            parts.append(_command(name, command))
    return "\n\n".join(parts)


def _command(name: str, command: click.Command) -> str:
    arguments = [param for param in command.params if isinstance(param, click.Argument)]
    words = [_argument(param) for param in arguments]
    usage = " ".join(["optimiser", name, "[OPTIONS]", *words])
    options = [param for param in command.params if isinstance(param, click.Option)]
    rows = [(_option(param), _help(param)) for param in options]
    table = f"\n\n{grid(('Option', 'What it does'), rows)}" if rows else ""
    return f"## optimiser {name}\n\n    {usage}\n\n{command.help or ''}{table}"


def _argument(param: click.Argument) -> str:
    word = (param.name or "").upper()
    return word if param.required else f"[{word}]"


def _option(param: click.Option) -> str:
    value = ""
    if not param.is_flag:
        choices = param.type.choices if isinstance(param.type, click.Choice) else ()
        value = f" {param.metavar or '|'.join(map(str, choices)) or param.type.name.upper()}"
    return ", ".join(f"`{word}{value}`" for word in param.opts)


def _help(param: click.Option) -> str:
    text = param.help or ""
    if param.show_default:
        text += f" Default: {param.default}."
    return text + (" May be given several times." if param.multiple and "several" not in text else "")


def table_of(name: str, columns: Sequence[str]) -> Callable[[], str]:
    """A reference table as Markdown."""

    def made() -> str:
        with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            rows = [[_cell(row[column]) for column in columns] for row in csv.DictReader(file)]
        return grid([column.replace("_", " ") for column in columns], rows)

    return made


def _cell(text: str) -> str:
    return " ".join(text.split()) or "–"


def limits() -> str:
    """How many limits there are for each jurisdiction, and how they were come by."""
    rows = []
    whole = load_limits()
    for where in sorted({row.jurisdiction for row in whole}):
        here = [row for row in whole if row.jurisdiction == where]
        basis: Counter[str] = Counter()
        for row in {row.limit: row for row in here if row.machine}.values():
            basis[row.basis] += 1
        by_hand = len({row.limit for row in here if not row.machine})
        memory = len({row.limit for row in here if row.status == "memory"})
        kinds = [str(basis[name]) for name in ("law", "label", "advice")]
        rows.append((where, *kinds, str(by_hand), str(memory), str(len({row.substance for row in here}))))
    heads = (
        "Jurisdiction",
        "Limits of law reckoned",
        "Label thresholds",
        "Advice",
        "To be checked by hand",
        "Of all these, from memory",
        "Substances named",
    )
    return grid(heads, rows)


def answer() -> str:
    """The answer's fields from its schema."""
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    parts = [f"## The answer\n\n{_fields(schema)}"]
    parts += [_definition(name, schema["$defs"][name]) for name in sorted(schema["$defs"])]
    return "\n\n".join(parts)


def _definition(name: str, about: Mapping[str, Any]) -> str:
    said = f"{about['description']}\n\n" if "description" in about else ""
    body = _fields(about) if "properties" in about else f"Type: {_type(about)}."
    return f"## {name}\n\n{said}{body}"


def _fields(about: Mapping[str, Any], under: str = "") -> str:
    return grid(("Field", "Type", "Note"), _rows(about, under))


def _rows(about: Mapping[str, Any], under: str) -> list[tuple[str, str, str]]:
    rows: list[tuple[str, str, str]] = []
    for name, value in about.get("properties", {}).items():
        rows.append((f"`{under}{name}`", _type(value), value.get("description", "")))
        inner, mark = value, ""
        if value.get("type") == "array" and "items" in value:
            inner, mark = value["items"], "[]"
        rows += _rows(inner, f"{under}{name}{mark}.")
    return rows


def _type(about: Mapping[str, Any]) -> str:
    if "$ref" in about:
        name = about["$ref"].rpartition("/")[2]
        return f"[{name}](#{name.replace('_', '-')})"
    if "anyOf" in about:
        return " or ".join(_type(one) for one in about["anyOf"])
    if "enum" in about:
        return " / ".join(f"`{one}`" for one in about["enum"])
    if "const" in about:
        return f"`{about['const']}`"
    if about.get("type") == "array":
        return f"list of {_type(about.get('items', {}))}"
    return str(about.get("type", "any"))


PARTS: dict[str, Callable[[], str]] = {
    "commands": commands,
    "kinds": table_of("kinds", ("kind", "group", "meaning", "carried", "holds", "composition")),
    "roles": table_of("roles", ("role", "meaning")),
    "flags": table_of("flags", ("flag", "meaning")),
    "properties": table_of(
        "properties", ("property", "title", "unit", "low", "high", "sum", "zero_for", "meaning")
    ),
    "stages": table_of("stages", ("stage", "order", "title", "meaning")),
    "packs": table_of("packs", ("pack", "takes", "low", "high", "meaning", "source")),
    "limits": limits,
    "answer": answer,
}


def has_parts(page: Path) -> bool:
    return PART.search(page.read_text(encoding="utf-8")) is not None
