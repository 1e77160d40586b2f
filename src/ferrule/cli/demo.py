"""``ferrule demo``."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["command"]


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
def command(folder: Path) -> None:
    """Write the example product to FOLDER as a git repository with three tagged engineering revisions.

    The product, its firms, people and prices are invented.
    """
    from ferrule.app.demo import demo

    tags = demo(folder)
    click.echo(f"wrote {folder}: revisions {', '.join(tags)}")
    click.echo(f"next: cd {folder} && ferrule check --today 2026-11-25", err=True)
