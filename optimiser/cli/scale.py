"""`optimiser scale`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("scale")
@click.argument("proposal", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.argument("sizes", nargs=-1, required=True, metavar="SIZE…")
@click.option("--json", "as_json", is_flag=True, help="Write the result as JSON.")
def command(proposal: Path, sizes: tuple[str, ...], as_json: bool) -> None:
    """Weigh out a saved PROPOSAL at several sizes, such as "250 g" "5 kg" "20 jars"."""
    from optimiser.cli.console import console, fixed, json_text, plain, table
    from optimiser.export.scaled import scaled_dict, size_dict
    from optimiser.workflows.scale import described, scale

    found = scale(proposal, sizes)
    if as_json:
        sizes_told = [
            size_dict(
                one.batch_g,
                found.lines if one.weights else (),
                one.weights,
                one.jar,
                (*one.minds, *([one.not_weighed] if one.not_weighed else [])),
                found.currency,
            )
            for one in found.sizes
        ]
        click.echo(json_text(scaled_dict(found.title, sizes_told)))
        return
    out = console()
    out.print(plain(found.title), style="bold")
    whole = [size for size in found.sizes if size.weights]
    rows = []
    for number, (name, share) in enumerate(found.lines):
        weights = (size.weights[number] for size in whole)
        rows.append((name, fixed(share), *(fixed(w.weighed_g, w.places) for w in weights)))
    heads = ("Line", "%", *(f"{described(size)}" for size in whole))
    if whole:
        out.print(table(heads, rows, right=tuple(range(1, len(heads)))))
    for size in found.sizes:
        money = f"  a jar costs {fixed(size.jar.per_jar, 2)} {found.currency}" if size.jar else ""
        out.print(plain(f"{described(size)}{money}"), style="bold")
        for text in (*size.minds, *([size.not_weighed] if size.not_weighed else [])):
            out.print(plain(f"  - {text}"))
