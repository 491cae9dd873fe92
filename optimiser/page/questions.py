"""What is asked of the process that solves, and what it says when it cannot."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.page.drafts import Asking


@dataclass(frozen=True, slots=True)
class Fault:
    """What stopped an answer, in words: `problems` are sentences with file and line.

    `again`: the same may be asked once more. It may come to an answer where a process died; where the program
    itself is at fault, what is in the folder or the request may set that off each time.
    """

    what: str
    fix: str = ""
    problems: tuple[str, ...] = ()
    again: bool = False


LOST = Fault(
    "The work on the answer broke off. The computer may have had no memory left for it.",
    "Nothing was changed. Ask again; if it breaks off again, close other programs or ask for less at once.",
    again=True,
)
"""For a process that died, or could not be started."""


def broken(fault: Exception) -> Fault:
    """For what no workflow raises on purpose."""
    return Fault(
        f"A fault in the program ({type(fault).__name__}: {fault}).",
        "Nothing was changed. You may ask again, but it may fail the same way: then please report it, "
        "with the words above and what you asked.",
        again=True,
    )


@dataclass(frozen=True, slots=True)
class Question:
    """A formula of the folder, what is asked of it, and the stamp of the files it is asked of.

    `kind` is what is wanted (one of `kinds.KINDS`, or "propose"), `about` what it wants besides, in words.
    """

    formula: str
    asking: Asking
    stamp: int
    kind: str = "propose"
    about: tuple[str, ...] = ()
