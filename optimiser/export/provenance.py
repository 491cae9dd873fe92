"""Where an answer comes from: enough to tell whether a printed sheet still belongs to the data."""

from __future__ import annotations

from dataclasses import dataclass

SHORT = 12


@dataclass(frozen=True, slots=True)
class Provenance:
    """`table_digest` and `request_digest` are SHA-256 in hex; `solvers` names solvers with their versions.

    There is no clock time in it: the same input gives the same bytes.
    """

    version: str
    table_digest: str
    request_digest: str
    solvers: str = ""

    @property
    def code(self) -> str:
        """The short code printed on every page, from the request's digest."""
        return short(self.request_digest)

    @property
    def table_code(self) -> str:
        return short(self.table_digest)


def short(digest: str) -> str:
    """The first twelve letters and figures of a digest, and nothing else."""
    return "".join(mark for mark in digest if mark.isascii() and mark.isalnum())[:SHORT]
