"""One place where faults become text and exit codes."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import Any

import click

from optimiser.errors import DataError, OptimiserError, RefusedError, UsageError
from optimiser.problems import Problem

FOUND, DATA, USAGE, IMPOSSIBLE, UNDECIDED = 0, 1, 2, 3, 4
PROGRAM_FAULT = 70
MOST_SHOWN = 1000
"""Problems written out; nobody reads more."""


def guarded(command: Callable[..., Any]) -> None:
    """Runs a click command and leaves with the right code; no traceback reaches a user."""
    try:
        command(prog_name="optimiser")
    except DataError as fault:
        show_problems(fault.problems)
        sys.exit(DATA)
    except RefusedError as fault:
        _tell(f"Not served: {fault.what}\n  source: {fault.source}")
        sys.exit(DATA)
    except UsageError as fault:
        _tell(f"optimiser: {fault}")
        sys.exit(USAGE)
    except OptimiserError as fault:
        _tell(f"optimiser: {fault}")
        sys.exit(DATA)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(FOUND)
    except KeyboardInterrupt:
        click.echo("stopped", err=True)
        sys.exit(130)
    except (MemoryError, RecursionError, Exception) as fault:
        if os.environ.get("OPTIMISER_TRACE"):
            raise
        _tell(
            f"optimiser: a fault in the program ({type(fault).__name__}: {fault}).\n"
            "  fix: run again with OPTIMISER_TRACE=1 and report what it prints"
        )
        sys.exit(PROGRAM_FAULT)


def _tell(text: str) -> None:
    """On standard error, line by line, without invisible characters."""
    from optimiser.cli.console import plain

    click.echo("\n".join(plain(line) for line in text.split("\n")), err=True)


def show_problems(problems: tuple[object, ...]) -> None:
    """Each problem on its own line, on standard error, with the count at the end; of very many the first."""
    for problem in problems[:MOST_SHOWN]:
        _tell(problem.sentence() if isinstance(problem, Problem) else str(problem))
    count = len(problems)
    if count > MOST_SHOWN:
        click.echo(f"… and {count - MOST_SHOWN} more; check --json lists them all.", err=True)
    click.echo(f"{count} problem{'' if count == 1 else 's'} in the data.", err=True)
