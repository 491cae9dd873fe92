"""The group of commands. A command's module is imported only when it is called."""

from __future__ import annotations

import signal
import sys

import click

from optimiser import __version__
from optimiser.cli.late import Late

COMMANDS = {
    "new": ("optimiser.cli.new", "Start a worktable: copy the demo into FOLDER."),
    "check": ("optimiser.cli.check", "Find every fault of a worktable, or judge one formula."),
    "page": ("optimiser.cli.page", "Do the same work in a browser on this computer."),
    "propose": ("optimiser.cli.propose", "Find the formula that meets a brief, or prove there is none."),
    "why": ("optimiser.cli.why", "Why the proposal is so, why not another way, what each limit costs."),
    "tradeoff": ("optimiser.cli.tradeoff", "Set two wishes against each other: the curve, its formulas."),
    "across": ("optimiser.cli.across", "Ask the same of every formula of a range."),
    "sheet": ("optimiser.cli.sheet", "Write the trial-batch sheet of a saved proposal."),
    "adopt": ("optimiser.cli.adopt", "Make a saved proposal a formula of the worktable."),
    "label": ("optimiser.cli.label", "Write the label of a formula or a saved proposal."),
    "cost": ("optimiser.cli.cost", "Where the money goes: line by line, and in a jar."),
    "buy": ("optimiser.cli.buy", "What to buy for the next batches, in whole packs, at the least money."),
    "batch": ("optimiser.cli.batch", "Keep what was made, where it went, and trace it both ways."),
    "trial": ("optimiser.cli.trial", "Keep trials, learn from them, plan the next ones."),
    "scale": ("optimiser.cli.scale", "Weigh a saved proposal out at several sizes."),
    "compare": ("optimiser.cli.compare", "Set two formulas or proposals side by side."),
    "model": ("optimiser.cli.model", "Solve a linear model file, or say why it is impossible."),
}


@click.group(
    cls=Late,
    late=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="optimiser")
def cli() -> None:
    """Re-formulate skin and hair care.

    Finds the formula that meets every rule with the least change or cost, or proves that none exists.

    Exit codes: 0 found or all well, 1 problem in the data, 2 usage, 3 impossible (proved), 4 undecided.
    """


def run() -> None:
    """Runs the command line; output that the terminal cannot show is replaced, never a crash.

    When whoever reads the output stops, the program stops with it and says nothing.
    """
    import optimiser.cli.console  # noqa: F401  # brings the error handler named below
    from optimiser.cli.funnel import guarded

    if hasattr(signal, "SIGPIPE"):
        signal.signal(signal.SIGPIPE, signal.SIG_DFL)

    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="optimiser-nearest")
    guarded(cli)
