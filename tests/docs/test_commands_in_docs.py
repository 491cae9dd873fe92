"""Every command line that the README or a page names can be read, and those of the README's table run."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import click
import pytest

from optimiser.cli.main import cli
from tests.docs.pages import EXAMPLES, ROOT, all_pages, name_of
from tests.docs.sessions import blocks_of, commands_in
from tests.docs.shell import make_bin, run

TABLE = re.compile(r"^\| ([^|]*)\| ([^|]*`optimiser [^|]*)\|$", re.MULTILINE)


def commands_of(text: str) -> list[str]:
    """`optimiser …` in code marks, in indented lines and after `$`, one a command."""
    lines = text.splitlines()
    sessions = [
        c for b in blocks_of(lines) if b.language == "console" for c in commands_in(lines[b.start : b.end])
    ]
    indented = [
        line for line in lines if line.startswith("    ") and "optimiser " in line and "[OPTIONS]" not in line
    ]
    whole = " && ".join(sessions + indented).replace("\\\n", " ")
    parts = re.split(r"&&|\||;|>", whole)
    found = [part.strip() for part in parts if re.match(r"\s*optimiser\s", part)]
    return found + re.findall(r"(?<!`)`(optimiser [^`]+)`", text)


def read(command: str) -> None:
    """Reads the words as click does. Raises click.UsageError, but not for a file that is not there."""
    words = shlex.split(command)[1:]
    group: click.Command = cli
    context = click.Context(cli, info_name="optimiser")
    while isinstance(group, click.Group) and words and not words[0].startswith("-"):
        name, *words = words
        known = group.get_command(context, name)
        if known is None:
            raise click.UsageError(f"no command {name}")
        group, context = known, click.Context(known, parent=context, info_name=name)
    try:
        group.make_context(group.name, words, parent=context.parent)
    except click.exceptions.Exit:
        return
    except click.BadParameter as fault:
        if "does not exist" not in fault.message:
            raise


@pytest.mark.parametrize("page", [*all_pages(), *sorted(EXAMPLES.rglob("*.md"))], ids=name_of)
def test_every_command_named_can_be_read(page: Path) -> None:
    for command in commands_of(page.read_text(encoding="utf-8")):
        try:
            read(command)
        except click.UsageError as fault:
            pytest.fail(f"{name_of(page)}: {command}: {fault.format_message()}")


def test_a_command_with_a_slip_is_found() -> None:
    assert commands_of("`optimiser check x`\n\n    optimiser new a && optimiser check a\n") == [
        "optimiser new a",
        "optimiser check a",
        "optimiser check x",
    ]
    for slip in (
        "optimiser chek demo",
        "optimiser propose mask --breif x",
        "optimiser propose mask --aim best",
    ):
        with pytest.raises(click.UsageError):
            read(slip)


ROWS = TABLE.findall((ROOT / "README.md").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("want", "types"), ROWS, ids=[want.strip() for want, _ in ROWS])
def test_a_command_of_the_readme_table_does_what_its_row_says(want: str, types: str, tmp_path: Path) -> None:
    said = re.search(r"exit code (\d)", want + types)
    bin_folder, home = make_bin(tmp_path / "bin"), tmp_path / "home"
    home.mkdir()
    assert run("optimiser new demo", home, bin_folder).code == 0
    commands = re.findall(r"`(optimiser [^`]+)`", types)
    if "tests/" in types:
        shutil.copytree(ROOT / "tests" / "data", home / "tests" / "data")
    for number, command in enumerate(commands, 1):
        saved = sorted((home / "demo" / "proposals").glob("*.yaml"))
        ran = run(command.replace("NAME", saved[0].stem) if saved else command, home, bin_folder)
        wanted = int(said[1]) if said and number == len(commands) else 0
        assert ran.code == wanted, "\n".join(ran.lines)
        assert ran.lines


def test_the_readme_table_was_found() -> None:
    assert len(ROWS) >= 10


def test_the_readme_says_how_to_run_the_job_and_the_tests() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert re.search(r"^    python -m pip install .*pytest", text, re.MULTILINE)
    assert re.search(
        r"^    python -m pip install .*optimiser propose .*--brief sensitive-skin", text, re.MULTILINE
    )


def test_links_between_pages_lead_somewhere() -> None:
    for page in [*all_pages(), ROOT / "DEVELOPERS.md"]:
        for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            if "://" not in target:
                assert (page.parent / target).exists(), f"{name_of(page)} links to {target}"
