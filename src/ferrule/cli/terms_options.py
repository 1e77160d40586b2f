"""What the offers of ``ferrule terms`` are written with: percentages, amounts, lengths of time, prices of money."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import click
from msgspec import Struct

from ferrule.cli.options import format_option, source_options, table_option, today_option
from ferrule.model.bad_value import BadValue
from ferrule.model.duration import Duration, parse_duration
from ferrule.model.money import SignedMoney, parse_signed_money
from ferrule.model.percent import parse_percent

__all__ = ["Asked", "Length", "Share", "Sum", "Sums", "amount_option", "asked_of", "price_options", "year_of"]

F = TypeVar("F", bound=Callable[..., Any])
#: The longest time that an offer may speak of: ten years.
_LONGEST = 3660


class Share(click.ParamType[Fraction]):
    """A percentage such as ``2 %`` or ``2%``, as a fraction of one."""

    name = "percent"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        """Return the share, or fail with the accepted form."""
        if isinstance(value, Fraction):
            return value
        try:
            return Fraction(parse_percent(value).fraction)
        except BadValue as error:
            self.fail(f"{error.message}; write it as 2%", param, ctx)


class Sum(click.ParamType[SignedMoney]):
    """An amount such as ``10000`` or ``10000 EUR``."""

    name = "amount"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> SignedMoney:
        """Return the amount, or fail with the accepted form."""
        if isinstance(value, SignedMoney):
            return value
        try:
            return _amount(str(value))
        except BadValue as error:
            self.fail(f"{error.message}; write it as 10000 or 10000 EUR", param, ctx)


class Sums(click.ParamType[tuple[Fraction, ...]]):
    """Amounts in one currency, parted by commas."""

    name = "amounts"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[Fraction, ...]:
        """Return the amounts in their order, or fail with the accepted form."""
        if isinstance(value, tuple):
            return value
        try:
            return tuple(Fraction(_amount(part.strip()).number) for part in str(value).split(","))
        except BadValue as error:
            self.fail(f"{error.message}; write them as 20000,25000,-3000", param, ctx)


def _amount(written: str) -> SignedMoney:
    """Return an amount; a bare number has no currency. Raises BadValue."""
    try:
        return parse_signed_money(written)
    except BadValue as error:
        if len(error.forms) == 1 and not isinstance(error.forms[0], str) and "," not in written:
            return parse_signed_money(error.forms[0])
        raise


class Length(click.ParamType[Duration]):
    """A time such as ``30 days`` or ``8 weeks``; a bare number is days."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Duration:
        """Return the time, or fail with the accepted form."""
        if isinstance(value, Duration):
            return value
        text = str(value)
        try:
            found = parse_duration(f"{text} days" if text.isascii() and text.isdigit() else text)
        except BadValue as error:
            self.fail(f"{error.message}; write it as 30, 30 days or 8 weeks", param, ctx)
        if found.in_days is None:
            self.fail(f"{text!r} has no fixed number of days; write it in days or weeks", param, ctx)
        if found.in_days > _LONGEST:
            self.fail(f"{text!r} is longer than ten years", param, ctx)
        return found


class Asked(Struct, frozen=True, kw_only=True):
    """What every offer is asked with: prices of money, where a plan is to be found, and the form of the answer."""

    rate: Fraction | None
    cash_binds: Fraction | None
    year: str | None
    plan: str | None
    table: str | None
    folder: Path | None
    revision: str | None
    index: bool
    today: dt.date
    form: str | None


def asked_of(given: dict[str, Any]) -> Asked:
    """Return what the shared options say."""
    return Asked(**{name: given[name] for name in Asked.__struct_fields__})


def price_options(command: F) -> F:
    """Add --rate, --cash-binds, --year, --plan and the usual options of an answer."""
    command = table_option(source_options(today_option(format_option("text", "json", "csv")(command))))
    command = click.option(
        "--plan", metavar="PLAN", help="Take what money costs from this plan's loans and levers too."
    )(command)
    command = click.option(
        "--year",
        type=click.Choice(["365", "360"]),
        default=None,
        help="Days of a year [default: 365; weeks are 52].",
    )(command)
    command = click.option(
        "--cash-binds",
        type=Share(),
        metavar="PERCENT",
        help="What the next best source of cash costs a year, when there is not enough of it.",
    )(command)
    return click.option(
        "--rate",
        type=Share(),
        metavar="PERCENT",
        help="What money costs you a year [default: the product's capital_rate, with --plan].",
    )(command)


def amount_option(what: str) -> Callable[[F], F]:
    """Add --amount; a thousand where it is not said."""
    return click.option("--amount", type=Sum(), default="1000", show_default=True, help=what)


def year_of(asked: Asked, *times: Duration) -> tuple[Fraction, tuple[Fraction, ...]]:
    """Return the length of a year and the times in its unit: weeks where all are stated in weeks, else days.

    Raises UsageError where a year of days is asked for and the times are in weeks.
    """
    if times and all(time.unit == "weeks" for time in times):
        if asked.year is not None:
            raise click.UsageError("--year counts days; state the times in days too")
        return Fraction(52), tuple(Fraction(time.count) for time in times)
    return Fraction(asked.year or 365), tuple(Fraction(time.in_days or 0) for time in times)
