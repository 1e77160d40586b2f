"""Options that several commands share, and how they become a snapshot, a day, a stream."""

from __future__ import annotations

import datetime as dt
import functools
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import click

from ferrule.errors import FerruleError

__all__ = [
    "Day",
    "color_option",
    "colored",
    "format_option",
    "on_terminal",
    "refuse_svg",
    "shown_path",
    "source_options",
    "svg_option",
    "today_option",
    "width",
]

F = TypeVar("F", bound=Callable[..., Any])


class Day(click.ParamType[dt.date]):
    """A date written as 2026-10-01."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> dt.date:
        """Return the date, or fail with the accepted form."""
        if isinstance(value, dt.date):
            return value
        try:
            written = re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value)
            return dt.date.fromisoformat(value if written else "")
        except ValueError:
            self.fail(f"{value!r} is not a date; write it as 2026-10-01", param, ctx)


def source_options(command: F) -> F:
    """Add --product, --at and --index: which product, and which state of it."""
    command = click.option("--index", is_flag=True, help="Read what is staged for the next commit.")(command)
    command = click.option(
        "--at",
        "revision",
        metavar="REV",
        help="Read a commit, tag, branch or frozen build instead of the work tree.",
    )(command)
    return product_option(command)


def product_option(command: F) -> F:
    """Add --product: which product."""
    return click.option(
        "--product",
        "folder",
        metavar="DIR",
        type=click.Path(path_type=Path),
        help="Folder of the product, if not here or above.",
    )(command)


def context_options(command: F) -> F:
    """Add --serial and --build: for which unit effectivity is judged."""
    command = click.option("--build", metavar="NAME", help="Judge effectivity for this build of a plan.")(
        command
    )
    return click.option(
        "--serial", type=click.IntRange(min=0), help="Judge effectivity for this serial number."
    )(command)


def today_option(command: F) -> F:
    """Add --today: the day everything is judged on."""
    return click.option(
        "--today",
        type=Day(),
        default=lambda: dt.datetime.now(tz=dt.UTC).date(),
        show_default="today (UTC)",
        help="Day on which dates are judged.",
    )(command)


def format_option(*formats: str) -> Callable[[F], F]:
    """Add --format with these choices, the first the default; and --for-spreadsheet where one of them is csv.

    The command gets the form "spreadsheet" for the two together.
    """
    chosen = click.option(
        "--format",
        "form",
        type=click.Choice(formats),
        default=None,
        help=f"Form of the answer [default: {formats[0]}].",
    )
    guarded = click.option(
        "--for-spreadsheet",
        is_flag=True,
        help="CSV for a spreadsheet program: text it would run as a formula gets an apostrophe before it.",
    )

    def add(command: F) -> F:
        if "csv" not in formats:
            return chosen(command)

        @functools.wraps(command)
        def asked(*args: Any, form: str | None, for_spreadsheet: bool, **kwargs: Any) -> Any:
            if for_spreadsheet and form not in {None, "csv"}:
                raise click.UsageError(f"--for-spreadsheet writes CSV, not {form}; pass one of them")
            return command(*args, form="spreadsheet" if for_spreadsheet else form, **kwargs)

        return chosen(guarded(cast("F", asked)))

    return add


def table_option(command: F) -> F:
    """Add --table: one table of the answer."""
    return click.option(
        "--table",
        metavar="NAME",
        help="Show one table only, by its name in --format json; with --format csv, which one.",
    )(command)


def svg_option(command: F) -> F:
    """Add --svg: a file for the picture."""
    return click.option(
        "--svg",
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE",
        help="Write the picture to a file too.",
    )(command)


def refuse_svg(svg: Path | None, table: str | None, *others: tuple[str, bool]) -> None:
    """Raise UsageError where --svg is asked of an answer that has no picture, before anything is computed.

    ``others`` are the options whose answers have none, each with whether it was passed.
    """
    if svg is None:
        return
    if table is not None:
        raise click.UsageError("--table shows one table and no picture for --svg; pass one of them")
    for option, passed in others:
        if passed:
            raise click.UsageError(f"{option} has no picture for --svg; pass one of them")


def color_option(command: F) -> F:
    """Add --color."""
    return click.option(
        "--color", type=click.Choice(["auto", "always", "never"]), default="auto", help="When to use colour."
    )(command)


def colored(color: str) -> bool:
    """Return whether standard output gets colour: option, NO_COLOR, FORCE_COLOR, then the terminal."""
    if color != "auto":
        return color == "always"
    if os.environ.get("NO_COLOR"):
        return False
    return bool(os.environ.get("FORCE_COLOR")) or on_terminal()


def on_terminal() -> bool:
    """Return whether standard output is a terminal."""
    return sys.stdout.isatty()


def width() -> int | None:
    """Return the width to lay tables out for; None where nothing limits it."""
    stated = os.environ.get("COLUMNS", "")
    if stated.isdigit() and int(stated) > 0:
        return int(stated)
    return os.get_terminal_size().columns if on_terminal() else None


def shown_path(top: Path | None) -> Callable[[str], str]:
    """Return how to show a path of a snapshot so that it leads there from the current folder.

    ``top`` is the folder the snapshot's paths start from; None where that is not on disk (a bare repository).
    """
    here = Path.cwd()

    def show(path: str) -> str:
        if top is None:
            return path
        try:
            return Path(os.path.relpath(top / path, here)).as_posix()
        except ValueError:  # another drive
            return path

    return show


def placed(where: Callable[..., str], top: Path | None) -> Callable[..., str]:
    """Return what leads to ``file:line`` so that the file is shown as seen from the current folder."""
    show = shown_path(top)

    def place(kind: str, number: str | int, *path: str | int) -> str:
        file, colon, line = where(kind, number, *path).rpartition(":")
        return f"{show(file)}{colon}{line}" if file else ""

    return place


def names_of(written: str | None) -> list[str]:
    """Return names that are parted by commas; none for none."""
    return [name.strip() for name in written.split(",")] if written else []


def one(products: list[Any]) -> Any:
    """Return the only product; raises FerruleError where there are several."""
    if len(products) == 1:
        return products[0]
    shown = [product.folder or "." for product in products[:8]]
    more = [f"and {len(products) - len(shown)} more"] if len(products) > len(shown) else []
    names = ", ".join([*shown, *more])
    raise FerruleError(
        f"there are several products here: {names}", f"pass --product {products[0].folder or '.'}"
    )
