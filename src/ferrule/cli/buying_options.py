"""Options of the commands that buy: which quantity, which source."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from ferrule.compute.purchase import STRATEGIES
from ferrule.compute.sourcing import CHOICES

__all__ = ["buying_options"]

F = TypeVar("F", bound=Callable[..., Any])


def buying_options(command: F) -> F:
    """Add --strategy and --source."""
    command = click.option(
        "--source",
        "choice",
        type=click.Choice(CHOICES),
        default="preferred",
        show_default=True,
        help="Which source is asked where a part has several and no shares are stated.",
    )(command)
    return click.option(
        "--strategy",
        type=click.Choice(STRATEGIES),
        default="least cash now",
        show_default=True,
        help="Which quantity is ordered where packs and price breaks leave a choice.",
    )(command)
