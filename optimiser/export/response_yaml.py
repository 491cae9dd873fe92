"""A fitted response as the file it is read from."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

import yaml

from optimiser.domain.response import Fitted, Reach, Setting
from optimiser.export.plain import clean, decimal_text
from optimiser.loading.responses import FORMAT

HEAD = (
    "# What trials taught. `varied`, `together` and `others` are % of the formula; terms multiply the parts\n"
    "# that what was varied makes of its own sum. Outside of these bounds nothing is foretold.\n"
)
HEAD_MADE = "# `made`: settings of the work, each counted from -1 at its first number to 1 at its second.\n"


class _Number(str):
    """Decimal text that stands without quotes."""

    __slots__ = ()


class _Dumper(yaml.SafeDumper):
    """Writes numbers as they are, without a float between."""


def _bare(dumper: yaml.SafeDumper, number: _Number) -> yaml.ScalarNode:
    kind = "float" if "." in number else "int"
    return dumper.represent_scalar(f"tag:yaml.org,2002:{kind}", str(number))


_Dumper.add_representer(_Number, _bare)


def response_text(fitted: Fitted) -> str:
    """The same response gives the same bytes; numbers have a decimal point whatever the worktable's mark."""
    names = [one.ingredient for one in fitted.varied]
    lows = {name: _number(low) for name, low in zip(names, fitted.lows, strict=True) if low}
    terms = zip(fitted.terms, fitted.coefficients, strict=True)
    content: dict[str, Any] = {
        "format": int(FORMAT),
        "name": clean(fitted.name),
        "unit": clean(fitted.unit),
        "scale": list(map(_number, fitted.scale)) if fitted.scale is not None else None,
        "model": fitted.model,
        "varied": _reaches(fitted.varied),
        "together": list(map(_number, fitted.together)),
        "others": _reaches(fitted.others),
        "free": list(fitted.free),
        "lows": lows,
        "made": {one.name: _span(one) for one in fitted.settings},
        "terms": {" * ".join(term): _number(value) for term, value in terms},
        "deviation": _number(fitted.deviation),
        "freedom": fitted.freedom,
        "sure": _number(fitted.sure),
        "covariance": [list(map(_number, row)) for row in fitted.covariance],
        "trials": [clean(one) for one in fitted.trials],
        "fitted": fitted.fitted,
    }
    kept = {key: value for key, value in content.items() if value not in (None, "", [], {})}
    return (
        HEAD
        + (HEAD_MADE if fitted.settings else "")
        + yaml.dump(
            kept, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=110, default_flow_style=None
        )
    )


def _number(value: Fraction) -> _Number:
    return _Number(decimal_text(value))


def _span(setting: Setting) -> list[str]:
    return [_number(setting.low), _number(setting.high), *filter(None, [clean(setting.unit)])]


def _reaches(reaches: Iterable[Reach]) -> dict[str, list[_Number]]:
    return {one.ingredient: [_number(one.low), _number(one.high)] for one in reaches}
