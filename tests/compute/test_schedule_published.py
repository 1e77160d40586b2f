"""Published networks and lead-time chains, mapped on products: an activity with predecessors is an assembly of them.

One unit of the published time is a week here, and weeks are calendar time, so that no calendar has a say.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import pytest

from ferrule.compute.schedule import BuildDates
from schedule_builders import dates_of, job_of, network_files, plan_of

#: A Monday: the first day of the first week of each network.
FIRST = dt.date(2027, 1, 4)


def weeks_after(weeks: int) -> dt.date:
    """Return the last day of so many weeks."""
    return FIRST + dt.timedelta(weeks=weeks, days=-1)


def dated(weeks: Mapping[str, int], before: Mapping[str, list[str]], last: str, length: int) -> BuildDates:
    files = network_files(weeks, before)
    files["plans/p.toml"] = plan_of(f"receive_by = {weeks_after(length)}", sku=last)
    return dates_of(job_of(files), FIRST)


# J. Heizer, B. Render, Operations Management, chapter "Project Management", paper mill air-filter project;
# activities and durations seen in a public copy, times and path from memory, recomputed.
MILWAUKEE = {
    "weeks": {"A": 2, "B": 3, "C": 2, "D": 4, "E": 4, "F": 3, "G": 5, "H": 2},
    "before": {
        "A": [],
        "B": [],
        "C": ["A"],
        "D": ["A", "B"],
        "E": ["C"],
        "F": ["C"],
        "G": ["D", "E"],
        "H": ["F", "G"],
    },
    "earliest": {"A": 0, "B": 0, "C": 2, "D": 3, "E": 4, "F": 4, "G": 8, "H": 13},
    "latest": {"A": 0, "B": 1, "C": 2, "D": 4, "E": 4, "F": 10, "G": 8, "H": 13},
    "path": ("A", "C", "E", "G", "H"),
    "length": 15,
}
# A network of eight activities in published lecture slides on project planning, all times seen; recomputed.
EIGHT = {
    "weeks": {"A": 4, "B": 3, "C": 5, "D": 2, "E": 5, "F": 6, "G": 4, "H": 3},
    "before": {
        "A": [],
        "B": ["A"],
        "C": ["A"],
        "D": ["A"],
        "E": ["B", "C"],
        "F": ["C", "D"],
        "G": ["E", "F"],
        "H": ["G"],
    },
    "earliest": {"A": 0, "B": 4, "C": 4, "D": 4, "E": 9, "F": 9, "G": 15, "H": 19},
    "latest": {"A": 0, "B": 7, "C": 4, "D": 7, "E": 10, "F": 9, "G": 15, "H": 19},
    "path": ("A", "C", "F", "G", "H"),
    "length": 22,
}


@pytest.mark.parametrize("case", [MILWAUKEE, EIGHT], ids=["air filter", "eight activities"])
def test_times_and_path_of_a_published_network(case: dict[str, dict[str, int]]) -> None:
    dates = dated(case["weeks"], case["before"], "H", case["length"])  # type: ignore[arg-type]
    strips = [strip for strip in dates.strips if strip.item != "b"]
    late = {strip.item: strip.lies.start for strip in strips}
    early = {strip.item: strip.early.start for strip in strips}
    assert early == {name: FIRST + dt.timedelta(weeks=at) for name, at in case["earliest"].items()}
    assert late == {name: FIRST + dt.timedelta(weeks=at) for name, at in case["latest"].items()}
    assert {strip.item: strip.slack for strip in strips} == {
        name: 7 * (case["latest"][name] - case["earliest"][name]) for name in case["weeks"]
    }
    assert dates.critical is not None
    assert dates.critical.items == (*case["path"], "b")
    assert dates.critical.slack == 0
    assert [strip.item for strip in strips if strip.critical] == list(case["path"])
    assert dates.earliest == dates.due == weeks_after(case["length"])  # type: ignore[arg-type]
    assert dates.cumulative == 7 * case["length"]  # type: ignore[operator]


def test_the_rival_of_the_air_filter_begins_elsewhere() -> None:
    """A is critical; the chain that does not begin with A is B-D-G-H, one week short of it."""
    dates = dated(MILWAUKEE["weeks"], MILWAUKEE["before"], "H", 15)  # type: ignore[arg-type]
    assert dates.rival is not None
    assert (dates.rival.items, dates.rival.slack) == (("B", "D", "G", "H", "b"), 7)


def test_the_truck_chain_releases_twelve_weeks_before_assembly() -> None:
    """Release in weeks 49, 47, 41 and 38 for assembly in week 50.

    C. Ptak, C. Smith, Orlicky's Material Requirements Planning, 3rd edition (2011), pages 107 and 108; D's
    release by arithmetic.
    """
    weeks = {"FORGING": 3, "GEAR": 6, "GEARBOX": 2, "TRANSMISSION": 1, "TRUCK": 0}
    before = {
        "FORGING": [],
        "GEAR": ["FORGING"],
        "GEARBOX": ["GEAR"],
        "TRANSMISSION": ["GEARBOX"],
        "TRUCK": ["TRANSMISSION"],
    }
    week_50 = dt.date(2027, 1, 4) + dt.timedelta(weeks=49)  # week 1 begins on 4 January 2027
    files = network_files(weeks, before) | {"plans/p.toml": plan_of(f"start = {week_50}", sku="TRUCK")}
    dates = dates_of(job_of(files), FIRST)
    released = {number: (start - FIRST).days // 7 + 1 for number, start in dates.starts.items()}
    assert released == {"TRANSMISSION": 49, "GEARBOX": 47, "GEAR": 41, "TRUCK": 50}
    forging = dates.order("FORGING")
    assert forging is not None
    assert forging.latest == FIRST + dt.timedelta(weeks=37)  # week 38, 12 weeks before week 50


KIT_WEEKS = {"A": 1, "B": 2, "C": 1, "D": 1, "E": 2, "F": 3, "G": 2}
KIT = {"A": ["B", "C"], "B": ["D", "E"], "C": ["E", "F"], "D": [], "E": [], "F": ["D", "G"], "G": []}


def test_the_longest_chain_of_a_kit_is_its_cumulative_lead_time() -> None:
    """A-C-F-G: 1 + 1 + 3 + 2 = 7 weeks; for week 8 the first release is in week 1.

    J. Heizer, B. Render, Operations Management, the speaker kit of the chapter on material requirements;
    structure and lead times seen in a public copy, recomputed.
    """
    dates = dated(KIT_WEEKS, KIT, "A", 7)
    assert dates.cumulative == 49
    assert dates.critical is not None
    assert dates.critical.items == ("G", "F", "C", "A", "b")
    assert dates.kickoff == FIRST


def test_offset_releases_of_the_kit() -> None:
    """Releases for week 8, the first of each item: A 7, B 5, C 6, E 3, F 3, D 2, G 1 (source as above)."""
    dates = dated(KIT_WEEKS, KIT, "A", 7)
    days = dict(dates.starts) | {order.item: order.latest for order in dates.orders if order.latest}
    weeks = {item: (day - FIRST).days // 7 + 1 for item, day in days.items()}
    assert weeks == {"A": 7, "B": 5, "C": 6, "E": 3, "F": 3, "D": 2, "G": 1}
