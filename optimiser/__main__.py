"""`python -m optimiser` and the `optimiser` command."""

from __future__ import annotations


def main() -> None:
    from optimiser.cli.main import run

    run()


if __name__ == "__main__":
    main()
