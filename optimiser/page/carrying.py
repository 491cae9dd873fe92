"""What goes back from the process that solves, without what both processes have at hand."""

from __future__ import annotations

import inspect
import io
import pickle
from collections.abc import Callable, Mapping
from dataclasses import fields
from fractions import Fraction
from multiprocessing.reduction import ForkingPickler
from operator import attrgetter
from types import MappingProxyType
from typing import Any, ClassVar

from optimiser.requests.sources import Sources

Fields = Callable[[Any], tuple[Any, ...]]


def packed(told: Any, sources: Sources | None) -> bytes:
    """`told` as bytes; ingredients, formulas and substances of `sources` are named only."""
    into = io.BytesIO()
    _Packing(into, sources).dump(told)
    return into.getvalue()


def unpacked(data: bytes, sources: Sources | None) -> Any:
    """What was packed; `sources` are the same files as where it was packed, or None in both places."""
    return _Unpacking(io.BytesIO(data), sources).load()


def _parts(sources: Sources | None) -> Mapping[str, Mapping[str, Any]]:
    if sources is None:
        return {}
    table = sources.worktable
    return {"ingredient": table.ingredients, "formula": table.formulas, "substance": sources.constants}


def _view(content: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(content)


ForkingPickler.register(MappingProxyType, lambda view: (_view, (dict(view),)))


def _shared(part: str, name: str) -> Any:
    """Stands in what is packed for one that both have; `_Unpacking` looks it up."""
    raise KeyError(part, name)


def _fields_of(kind: type) -> Fields | None:
    """What its constructor takes, of one of this kind; None where that does not make the same again."""
    if "__dataclass_fields__" not in vars(kind) or hasattr(kind, "__post_init__"):
        return None
    names = tuple(one.name for one in fields(kind))
    if tuple(inspect.signature(kind).parameters) != names:
        return None
    if len(names) > 1:
        return attrgetter(*names)
    return lambda one: tuple(getattr(one, name) for name in names)


class _Packing(ForkingPickler):
    """Values go as their class and what stands in their fields, which is made again by calling the class."""

    _fields: ClassVar[dict[type, Fields | None]] = {}

    def __init__(self, into: io.BytesIO, sources: Sources | None) -> None:
        super().__init__(into, pickle.HIGHEST_PROTOCOL)
        self._names: dict[int, tuple[str, str]] = {
            id(one): (part, name) for part, every in _parts(sources).items() for name, one in every.items()
        }

    def reducer_override(self, one: Any) -> Any:
        name = self._names.get(id(one))
        if name is not None:
            return _shared, name
        if type(one) is Fraction:
            return Fraction, (one.numerator, one.denominator)
        kind = type(one)
        if kind not in self._fields:
            self._fields[kind] = _fields_of(kind)
        values = self._fields[kind]
        return NotImplemented if values is None else (kind, values(one))


class _Unpacking(pickle.Unpickler):
    def __init__(self, data: io.BytesIO, sources: Sources | None) -> None:
        super().__init__(data)
        self._parts = _parts(sources)

    def find_class(self, module: str, name: str) -> Any:
        return (
            self._part if (module, name) == (__name__, _shared.__name__) else super().find_class(module, name)
        )

    def _part(self, part: str, name: str) -> Any:
        return self._parts[part][name]
