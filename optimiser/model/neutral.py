"""The neutral form of a model: one JSON object, every number an exact decimal in a string, or `p/q`.

`{"name", "sense": "min"|"max", "obj_const", "vars": [{"name", "cost", "lower", "upper", "type": "C"|"I"|"B",
"title"}], "rows": [{"name", "lower", "upper", "coef": {variable: number}, "rule", "sentence"}]}`. A limit of
null is no limit. `name`, `obj_const`, `cost`, `title`, `rule` and `sentence` may be left out.
"""

from __future__ import annotations

import json
from collections import Counter
from fractions import Fraction
from pathlib import Path
from typing import Any, cast

from optimiser.model.exact import exact_text, parse_exact
from optimiser.model.rows import ZERO, Coefs, Kind, Model, Row, Sense, Var, build, linear
from optimiser.problems import LONGEST_SHOWN, Problem, did_you_mean, hidden_marks, visible

MAX_BYTES = 64_000_000
Loaded = tuple[Model | None, tuple[Problem, ...]]
_TOP = {"name": False, "sense": True, "obj_const": False, "vars": True, "rows": True}
_VAR = {"name": True, "cost": False, "lower": True, "upper": True, "type": True, "title": False}
_ROW = {"name": True, "lower": True, "upper": True, "coef": True, "rule": False, "sentence": False}


class _Number(str):
    """A bare JSON number, kept as its digits."""

    __slots__ = ()


class _Object(dict[str, Any]):
    """A JSON object that remembers the keys written twice."""

    __slots__ = ("twice",)

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        counts = Counter(key for key, _ in pairs)
        self.twice = tuple(key for key, count in counts.items() if count > 1)


def read_text(path: Path) -> tuple[str, tuple[Problem, ...]]:
    """The text of a file in UTF-8, or a problem that says why there is none."""
    file = str(path)
    try:
        if path.stat().st_size > MAX_BYTES:
            found = f"{path.stat().st_size} bytes"
            return "", (Problem(file, None, "file", f"at most {MAX_BYTES} bytes", found, "split the model"),)
        return path.read_bytes().decode("utf-8-sig"), ()
    except OSError as fault:
        return "", (
            Problem(file, None, "file", "a readable file", fault.strerror or "none", "check the path"),
        )
    except UnicodeDecodeError as fault:
        return "", (
            Problem(file, None, "file", "text in UTF-8", f"another byte at {fault.start}", "save as UTF-8"),
        )


def read_neutral_file(path: Path) -> Loaded:
    """`read_neutral` on a file."""
    text, problems = read_text(path)
    return (None, problems) if problems else read_neutral(text, str(path))


def read_neutral(text: str, file: str = "") -> Loaded:
    """A model, or None and every fault found."""
    try:
        data = json.loads(
            text, object_pairs_hook=_Object, parse_float=_Number, parse_int=_Number, parse_constant=_Number
        )
    except json.JSONDecodeError as fault:
        return None, (Problem(file, fault.lineno, "JSON", "a JSON object", fault.msg, "mend the text there"),)
    except RecursionError:
        return None, (
            Problem(file, None, "JSON", "an object of rows", "lists nested without end", "flatten it"),
        )
    reader = _Reader(file)
    model = reader.model(data)
    if reader.problems or model is None:
        return None, tuple(reader.problems)
    return build(model, file)


class _Reader:
    """Walks the decoded object, keeping every fault with the path to it."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def fault(self, entry: str, expected: str, found: str, fix: str = "") -> None:
        texts = (visible(entry, LONGEST_SHOWN), expected, visible(found), fix)
        self.problems.append(Problem(self.file, None, *texts))

    def model(self, data: object) -> Model | None:
        top = self.fields("model", data, _TOP)
        if top is None:
            return None
        sense = top.get("sense")
        if "sense" in top and sense not in ("min", "max"):
            self.fault("sense", '"min" or "max"', _shown(sense))
        variables = [
            self.var(f"vars[{i}]", entry) for i, entry in enumerate(self.items("vars", top.get("vars", [])))
        ]
        rows = [
            self.row(f"rows[{i}]", entry) for i, entry in enumerate(self.items("rows", top.get("rows", [])))
        ]
        name = self.text("name", top.get("name", "model"))
        constant = self.number("obj_const", top.get("obj_const", _Number("0")))
        found = [pair for pair in variables if pair is not None]
        cost = tuple((var.name, cost) for var, cost in found)
        return Model(
            name,
            tuple(var for var, _ in found),
            tuple(row for row in rows if row is not None),
            cost,
            cast("Sense", sense),
            constant,
        )

    def var(self, path: str, data: object) -> tuple[Var, Fraction] | None:
        entry = self.fields(path, data, _VAR)
        if entry is None:
            return None
        kind = entry.get("type")
        if "type" in entry and kind not in ("C", "I", "B"):
            self.fault(f"{path}.type", '"C", "I" or "B"', _shown(kind))
        name = self.name(f"{path}.name", entry)
        lower = self.limit(f"{path}.lower", entry.get("lower"))
        upper = self.limit(f"{path}.upper", entry.get("upper"))
        title = self.text(f"{path}.title", entry.get("title", ""))
        cost = self.number(f"{path}.cost", entry.get("cost", _Number("0")))
        return Var(name, lower, upper, cast("Kind", kind), title), cost

    def row(self, path: str, data: object) -> Row | None:
        entry = self.fields(path, data, _ROW)
        if entry is None:
            return None
        name = self.name(f"{path}.name", entry)
        coef = self.coefs(f"{path}.coef", entry.get("coef", {}))
        lower = self.limit(f"{path}.lower", entry.get("lower"))
        upper = self.limit(f"{path}.upper", entry.get("upper"))
        rule = self.text(f"{path}.rule", entry.get("rule", ""))
        return Row(name, coef, lower, upper, rule, self.text(f"{path}.sentence", entry.get("sentence", "")))

    def coefs(self, path: str, data: object) -> Coefs:
        if not isinstance(data, dict):
            self.fault(path, "an object of variable: number", _shown(data))
            return ()
        self.repeats(path, data)
        for name in data:
            self.text(path, name)
        return tuple((name, self.number(f"{path}.{name}", value)) for name, value in data.items())

    def fields(self, path: str, data: object, known: dict[str, bool]) -> dict[str, Any] | None:
        if not isinstance(data, dict):
            self.fault(path, "an object", _shown(data))
            return None
        self.repeats(path, data)
        for key in data:
            if key not in known:
                self.fault(
                    f"{path}.{key}", f"one of {', '.join(known)}", f'"{key}"', did_you_mean(key, known)
                )
        for key, required in known.items():
            if required and key not in data:
                self.fault(path, f'"{key}"', "nothing", f'add "{key}"')
        return data

    def repeats(self, path: str, data: dict[str, Any]) -> None:
        for key in getattr(data, "twice", ()):
            self.fault(f"{path}.{key}", "each key once", f'"{key}" again', "keep one of them")

    def items(self, path: str, data: object) -> list[object]:
        if isinstance(data, list):
            return data
        self.fault(path, "a list", _shown(data))
        return []

    def name(self, path: str, entry: dict[str, Any]) -> str:
        value = self.text(path, entry.get("name", "?"))
        if not value.strip():
            self.fault(path, "a name", _shown(value))
        return value

    def text(self, path: str, value: object) -> str:
        if isinstance(value, str) and not isinstance(value, _Number):
            if hidden := hidden_marks(value):
                self.fault(path, "text without invisible characters", hidden, "type it again")
            return value
        self.fault(path, "text in quotes", _shown(value))
        return "?"

    def limit(self, path: str, value: object) -> Fraction | None:
        return None if value is None else self.number(path, value, "; null is no limit")

    def number(self, path: str, value: object, more: str = "") -> Fraction:
        number = parse_exact(value) if isinstance(value, str) else None
        if number is None:
            self.fault(path, f'an exact number such as "0.25" or "1/3"{more}', _shown(value))
        return number or ZERO


def _shown(value: object) -> str:
    if isinstance(value, _Number):
        text = str(value)
    elif isinstance(value, dict | list):
        text = "an object" if isinstance(value, dict) else "a list"
    else:
        text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 40 else f"{text[:37]}…"


def write_neutral(model: Model) -> str:
    """The neutral JSON text of a model: same model, same bytes. Read back without loss."""
    cost = dict(model.cost)
    data = {
        "name": model.name,
        "sense": model.sense,
        "obj_const": exact_text(model.constant),
        "vars": [
            {
                "name": var.name,
                "cost": exact_text(cost.get(var.name, ZERO)),
                "lower": _written(var.lower),
                "upper": _written(var.upper),
                "type": var.kind,
                **({"title": var.title} if var.title else {}),
            }
            for var in model.vars
        ],
        "rows": [
            {
                "name": row.name,
                "lower": _written(row.lower),
                "upper": _written(row.upper),
                "coef": {name: exact_text(value) for name, value in linear(row.coef)},
                **({"rule": row.rule} if row.rule else {}),
                **({"sentence": row.sentence} if row.sentence else {}),
            }
            for row in model.rows
        ],
    }
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def _written(value: Fraction | None) -> str | None:
    return None if value is None else exact_text(value)
