"""A group that knows its commands by name and help line, and loads one only when it is called."""

from __future__ import annotations

import importlib
from collections.abc import Mapping

import click

from optimiser.problems import did_you_mean


class Late(click.Group):
    """`late` holds for each command its module (with a `command` in it) and its help line."""

    def __init__(self, *args: object, late: Mapping[str, tuple[str, str]], **more: object) -> None:
        super().__init__(*args, **more)  # type: ignore[arg-type]
        self.late = late

    def list_commands(self, _ctx: click.Context) -> list[str]:
        return list(self.late)

    def get_command(self, _ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.late:
            return None
        command: click.Command = importlib.import_module(self.late[cmd_name][0]).command
        return command

    def format_commands(self, _ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in self.late.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as fault:
            hint = did_you_mean(args[0], self.late)
            said = f"{fault.message} {hint[:1].upper()}{hint[1:]}".strip()
            raise click.UsageError(said, ctx) from None
