"""What goes back from the process that solves, without what both processes have at hand."""

from __future__ import annotations

import io
import pickle
from collections.abc import Mapping
from multiprocessing.reduction import ForkingPickler
from types import MappingProxyType
from typing import Any

from optimiser.requests.sources import Sources

Name = tuple[str, str]


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


class _Packing(ForkingPickler):
    def __init__(self, into: io.BytesIO, sources: Sources | None) -> None:
        super().__init__(into, pickle.HIGHEST_PROTOCOL)
        self._names: dict[int, Name] = {
            id(one): (part, name) for part, every in _parts(sources).items() for name, one in every.items()
        }

    def persistent_id(self, one: Any) -> Name | None:
        return self._names.get(id(one))


class _Unpacking(pickle.Unpickler):
    def __init__(self, data: io.BytesIO, sources: Sources | None) -> None:
        super().__init__(data)
        self._parts = _parts(sources)

    def persistent_load(self, name: Name) -> Any:
        return self._parts[name[0]][name[1]]
