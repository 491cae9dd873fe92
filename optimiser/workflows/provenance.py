"""Where an answer comes from: version, table, request, solvers."""

from __future__ import annotations

from importlib import metadata

from optimiser import __version__
from optimiser.domain.request import Request
from optimiser.export.answer_json import digest_of
from optimiser.export.provenance import Provenance
from optimiser.requests.sources import Sources


def provenance_of(sources: Sources, request: Request) -> Provenance:
    """The same data, request and versions give the same provenance; no clock is read."""
    return Provenance(__version__, sources.worktable.digest, digest_of(request), solvers())


def solvers() -> str:
    """The solvers with their versions."""
    return ", ".join(f"{name} {metadata.version(package)}" for name, package in SOLVERS)


SOLVERS = (("HiGHS", "highspy"), ("PuLP", "pulp"))
