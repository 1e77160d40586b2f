"""Public holidays of a country, from a library that people install if they want them.

The days are not ours and change with the library's version, as governments announce and move them: whoever
shows a date that rests on them names the version. What the library does not know is unknown, never "no
holiday". It knows national days only, none of a region; and nothing of a weekend that is worked in exchange,
nor of a factory that stays shut for longer than the law says: those stand in the product's calendar.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from msgspec import Struct

__all__ = ["PublicHolidays", "public_holidays"]

#: The mark the library's English names carry where a religious calendar is computed ahead of the sighting.
_ESTIMATED = "estimated)"


class PublicHolidays(Struct, frozen=True, kw_only=True):
    """Days off, or the reason they are unknown.

    ``days`` is None where they are unknown, and ``reason`` then says why in words; otherwise it is empty.
    ``estimated`` are those of the days that may still move by one or two. ``library`` is name and version of
    what was asked, None where it is not installed.
    """

    days: frozenset[dt.date] | None
    estimated: frozenset[dt.date] = frozenset()
    library: str | None = None
    reason: str = ""


def public_holidays(country: str, years: Iterable[int]) -> PublicHolidays:
    """Return the national public holidays of an ISO 3166 country in these years, with days off in their place.

    Unknown, all of them, if the library is missing or does not know the country or one of the years: half a
    calendar would pass for a whole one. Without years there is nothing to look up: no days.
    """
    try:
        import holidays  # noqa: PLC0415  70 ms, and only for products that ask for it
        from holidays.version import __version__ as number  # noqa: PLC0415
    except ImportError:
        return PublicHolidays(
            days=None,
            reason="the optional library `holidays` is not installed (`pip install ferrule[calendars]`)",
        )
    library = f"holidays {number}"
    asked = sorted(set(years))
    try:
        found = holidays.country_holidays(country, years=asked, language="en_US", expand=False)
    except NotImplementedError:
        return PublicHolidays(days=None, library=library, reason=f"{library} does not know country {country}")
    strange = [str(year) for year in asked if not found.start_year <= year <= found.end_year]
    if strange:
        reason = f"{library} does not know {', '.join(strange)} for {country}, only {found.start_year} to {found.end_year}"
        return PublicHolidays(days=None, library=library, reason=reason)
    return PublicHolidays(
        days=frozenset(found),
        estimated=frozenset(day for day, name in found.items() if _ESTIMATED in name),
        library=library,
    )
