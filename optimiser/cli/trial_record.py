"""`optimiser trial record`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from optimiser.cli.asking import FOLDER


@click.command("record")
@click.argument("trial")
@FOLDER
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), required=True, help="The day it was seen.")
@click.option("--weighed", multiple=True, metavar="LINE=GRAMS", help='What was weighed, "kaolin=45.1 g".')
@click.option("--as-planned", is_flag=True, help="All lines not weighed yet, as planned; not dosed ones.")
@click.option("--made", multiple=True, metavar="HOW=VALUE", help='How: "stirring=800 rpm", "heated-to=75 C".')
@click.option("--lot", default="", metavar="LOT", help="Lot of the line that was weighed.")
@click.option("--read", "reads", multiple=True, metavar="WHAT=VALUE", help='"ph=5.2", "thickness=38 Pa.s".')
@click.option("--spread", metavar="NUMBER", help="Standard uncertainty of the reading, in its unit.")
@click.option("--at", "at_c", metavar="TEMPERATURE", help='Of what was read, such as "22 C".')
@click.option("--instrument", default="", metavar="TEXT", help="What it was read with.")
@click.option("--spindle", default="", metavar="TEXT", help="Of a thickness.")
@click.option("--rate", metavar="NUMBER", help='Shear of a thickness, such as "10/s".')
@click.option("--rpm", metavar="NUMBER", help="Turns a minute, where the shear is not known.")
@click.option("--felt", multiple=True, metavar="WHAT=SCORE", help='A score of 0 to 10, "softness=7".')
@click.option("--looked", default="", metavar="TEXT", help="How it looks, smells, spreads.")
@click.option("--stored", metavar="TEMPERATURE", help='A kept jar was looked at: it stood at "40 C".')
@click.option("--light", default="", metavar="TEXT", help="A kept jar: in what light it stood.")
@click.option("--cycles", type=click.IntRange(1), help="A kept jar: times frozen and thawed.")
@click.option("--challenge", default="", metavar="TEXT", help="What a challenge test said, and whose.")
@click.option("--photo", default="", metavar="PATH", help="Where a picture lies.")
@click.option("--remark", default="", metavar="TEXT", help="Anything else.")
@click.option("--accept", is_flag=True, help="It is accepted.")
@click.option("--drop", is_flag=True, help="It is given up.")
@click.option("--by", "who", default="", metavar="NAME", help="Who saw or decided it.")
@click.option("--correct", type=click.IntRange(1), metavar="N", help="Entry N does not count any more.")
@click.option("--json", "as_json", is_flag=True, help="Write the trial as JSON.")
def command(trial: str, folder: Path, day: datetime, as_json: bool, **said: Any) -> None:
    """Write down what was weighed, read, seen or decided of TRIAL.

    Nothing is ever changed: what was wrong is taken back with --correct, the right value written beside it.
    """
    from optimiser.cli.console import json_text
    from optimiser.export.trial_json import trial_dict
    from optimiser.workflows.recording import entries_of, far_off, rest_of, without_shear
    from optimiser.workflows.trials import get_trial, record
    from optimiser.workflows.worktable import open_worktable

    sources = open_worktable(folder)
    entries = entries_of(sources, day.date(), said)
    before = len(get_trial(folder, trial).entries)
    done = record(folder, trial, entries, rest=rest_of(day.date(), said))
    count = len(done.entries) - before
    for text in (*far_off(done, count), *without_shear(done, count)):
        click.echo(text, err=True)
    if as_json:
        click.echo(json_text(trial_dict(done)))
        return
    from optimiser.cli.show_trial import show_trial

    show_trial(done)
