"""``ferrule init``."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import click

__all__ = ["command"]


@click.command("init")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default=".")
@click.option("--name", help="Name of the product in words.")
@click.option("--id", "number", help="Short identifier [default: made of the name].")
@click.option("--currency", help="Home currency, ISO 4217 [default: EUR].")
def command(folder: Path, name: str | None, number: str | None, currency: str | None) -> None:
    """Start a product in FOLDER (here if not said): a few text files that are in order, to be filled.

    Asks for what was not given, on a terminal only. Never overwrites a file.
    """
    from ferrule.app.init import init

    asks = sys.stdin.isatty()
    if name is None:
        name = click.prompt("Name of the product") if asks else folder.resolve().name
    if number is None:
        made = re.sub(r"[^A-Za-z0-9]+", "-", str(name)).strip("-").upper()[:24] or "PRODUCT"
        number = click.prompt("Short identifier", default=made) if asks else made
    if currency is None:
        currency = click.prompt("Home currency", default="EUR") if asks else "EUR"
    paths = init(folder, str(name), str(number), str(currency))
    for path in paths:
        if not path.startswith("."):
            click.echo(f"wrote {folder / path}")
    click.echo("next: `ferrule check`, and `git init` if this is no repository yet", err=True)
