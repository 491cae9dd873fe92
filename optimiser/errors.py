"""Faults of an operation, as exceptions that carry fields; the text comes last."""

from __future__ import annotations


class OptimiserError(Exception):
    """What stops an operation. `what` says it in the user's words, `fix` what to do about it."""

    def __init__(self, what: str, fix: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.fix = fix

    def __str__(self) -> str:
        return f"{self.what}\n  fix: {self.fix}" if self.fix else self.what


class UsageError(OptimiserError):
    """The request itself is off: a name that does not exist, two options that exclude each other."""


class DataError(OptimiserError):
    """The data cannot carry the request; `problems` holds every fault found."""

    def __init__(self, problems: tuple[object, ...]) -> None:
        count = len(problems)
        super().__init__(f"{count} problem{'s' if count != 1 else ''} in the data")
        self.problems = problems


class SolverError(OptimiserError):
    """The solver failed in a way that says nothing about the request."""


class RefusedError(OptimiserError):
    """A request this tool does not serve, with the reason and its source."""

    def __init__(self, what: str, source: str) -> None:
        super().__init__(what)
        self.source = source
