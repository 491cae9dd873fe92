"""`optimiser trial`: the group; each of its commands has a module of its own."""

from __future__ import annotations

import click

from optimiser.cli.late import Late

COMMANDS = {
    "new": ("optimiser.cli.trial_new", "Open a trial of a saved proposal or a formula, with its sheet."),
    "record": ("optimiser.cli.trial_record", "Write down what was weighed, read, seen or decided."),
    "import": ("optimiser.cli.trial_import", "Take readings from a spreadsheet, shown before they are kept."),
    "show": ("optimiser.cli.trial_show", "Planned beside weighed, expected beside read, what is missing."),
    "list": ("optimiser.cli.trial_list", "All trials of the worktable."),
    "learn": ("optimiser.cli.trial_learn", "Learn from readings what the numbers of the table should be."),
    "stability": ("optimiser.cli.trial_stability", "Estimate how long jars stay within a limit."),
    "next": ("optimiser.cli.trial_next", "Plan the trials that tell most."),
    "fit": ("optimiser.cli.trial_fit", "Fit a reading or a score to the shares of some lines."),
}


@click.group("trial", cls=Late, late=COMMANDS)
def command() -> None:
    """Keep trials: what was weighed and read; learn from it, and plan the next."""
