"""Laws of the schedule on generated builds, and a longest path from another program where no calendar has a say."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from ferrule.compute.activities import Job
from ferrule.compute.network import network_of
from ferrule.compute.owners import book_of
from ferrule.compute.passes import backward, forward
from ferrule.compute.schedule import latest_kickoff
from ferrule.compute.slips import slip
from ferrule.model.percent import Percent
from ferrule.model.records.product import Closure
from ferrule.model.when import When
from schedule_builders import TODAY, assembly, dates_of, job_of, network_files, part, plan_of

pytestmark = pytest.mark.property

DAY = dt.timedelta(days=1)
FIRST = dt.date(2027, 1, 4)
DUE = dt.date(2027, 10, 1)
HEAD = """\
[product]
id = "T"
name = "Test"
currency = "EUR"
stage = "dvt"
[calendar.works]
name = "Works"
"""
WORKS = '[firm.works]\nname = "Works"\nroles = ["factory", "seller"]\ncalendar = "works"\n'

times = st.one_of(
    st.integers(0, 30).map("{} days".format),
    st.integers(0, 20).map("{} working days".format),
    st.integers(0, 9).map("{} weeks".format),
)


@st.composite
def closures(draw: st.DrawFn, *, whole: bool = False) -> Closure:
    first = FIRST + draw(st.integers(0, 260)) * DAY
    capacity = "0 %" if whole else draw(st.sampled_from(["0 %", "40 %", "50 %"]))
    return Closure(
        name="shut", from_=first, to=first + draw(st.integers(0, 30)) * DAY, capacity=Percent.of(capacity)
    )


@st.composite
def jobs(draw: st.DrawFn, *, whole: bool = False) -> Job:
    """Return a build of up to seven items in a random order, due on ``DUE``, with up to two closures."""
    count = draw(st.integers(2, 7))
    names = [f"N{number}" for number in range(count)]
    files = {
        "product.toml": HEAD,
        "firms/works.toml": WORKS,
        "parts/p.toml": "",
        "plans/p.toml": plan_of(f"receive_by = {DUE}", sku=names[0]),
    }
    users: dict[str, list[str]] = {name: [] for name in names}
    for index, name in enumerate(names[1:], 1):
        for user in draw(st.sets(st.sampled_from(names[:index]), min_size=1, max_size=2)):
            users[user].append(name)
    for name in names:
        facts = ('factory = "works"', f'lead_time = "{draw(times)}"')
        if users[name]:
            files[f"assemblies/{name}.toml"] = assembly(name, *facts, lines=users[name])
        else:
            files["parts/p.toml"] += part(name, 'seller = "works"', facts[1])
    job = job_of(files)
    return with_closures(job, draw(st.lists(closures(whole=whole), max_size=2)))


def with_closures(job: Job, more: list[Closure]) -> Job:
    works = job.product.calendars["works"]
    works = replace(works, closures=(*works.closures, *more))
    return replace(job, product=replace(job.product, calendars={"works": works}))


def due_on(job: Job, day: dt.date) -> Job:
    return replace(job, build=replace(job.build, receive_by=When(day=day)))


def latest(job: Job) -> dict[str, dt.date]:
    network = network_of(job, book_of(job.product))
    late = backward(network)
    return {order.item: lies.start for order in network.orders if (lies := late[order.first]) is not None}


@given(jobs(), st.data())
def test_ordered_on_its_latest_date_in_time_and_a_day_later_late(job: Job, data: st.DataObject) -> None:
    network = network_of(job, book_of(job.product))
    late = backward(network)
    days = {index: lies.start for index, lies in enumerate(late) if lies is not None}
    order = data.draw(st.sampled_from(network.orders))
    ordered = {each.first: days[each.first] for each in network.orders}
    start = min(days.values())
    in_time = forward(network, start, floors=days, ordered=ordered)
    assert in_time[-1].finish <= DUE
    ordered[order.first] += DAY
    too_late = forward(network, start, floors=days, ordered=ordered)
    assert too_late[-1].finish > DUE


@given(jobs(), closures())
def test_a_closure_more_never_makes_a_latest_date_later(job: Job, more: Closure) -> None:
    before, after = latest(job), latest(with_closures(job, [more]))
    assert all(after[item] <= day for item, day in before.items())


@given(jobs(), st.integers(1, 60))
def test_a_later_due_date_never_makes_a_latest_date_earlier(job: Job, days: int) -> None:
    before, after = latest(job), latest(due_on(job, DUE + days * DAY))
    assert all(after[item] >= day for item, day in before.items())


@given(jobs(), closures())
def test_a_closure_more_never_makes_the_arrival_earlier(job: Job, more: Closure) -> None:
    assert dates_of(with_closures(job, [more])).earliest >= dates_of(job).earliest


@given(jobs(whole=True))
def test_forward_from_the_backward_dates_reproduces_the_due_date(job: Job) -> None:
    """Where days are open or shut, nothing between; a leg of working days may not finish on a closed due day."""
    network = network_of(job, book_of(job.product))
    late = backward(network)
    days = {index: lies.start for index, lies in enumerate(late) if lies is not None}
    last = late[-1]
    assert last is not None
    orders = {order.first: days[order.first] for order in network.orders}
    early = forward(network, min(days.values()), floors=days, ordered=orders)
    assert early[-1].finish == last.finish <= DUE
    for found, wanted in zip(early, late, strict=True):
        assert wanted is not None
        assert (found.start, found.finish) == (wanted.start, wanted.finish)


@given(jobs(), st.integers(-200, 200))
def test_the_critical_path_has_the_least_slack_and_begins_with_an_order(job: Job, days: int) -> None:
    dates = dates_of(job, TODAY + days * DAY)
    slacks = [order.slack for order in dates.orders if order.slack is not None]
    assert dates.critical is not None
    assert dates.critical.slack == min(slacks)
    assert dates.strips[dates.critical.strips[0]].kind == "part"
    assert dates.critical.strips[-1] == len(dates.strips) - 1
    others = [order.slack for order in dates.orders if order.item != dates.critical.items[0]]
    if dates.rival is not None:
        assert dates.rival.slack == min(slack for slack in others if slack is not None)
    else:
        assert not others


@given(jobs())
def test_paper_dates_know_no_closure(job: Job) -> None:
    bare = replace(job, product=replace(job.product, calendars={}))
    on_paper = latest(bare)
    for order in dates_of(job).orders:
        assert order.paper == on_paper[order.item]
        assert order.paper_late is not None
        assert order.paper_late >= 0


@given(jobs())
def test_a_kick_off_on_its_day_arrives_in_time_and_a_day_later_does_not(job: Job) -> None:
    kickoff = latest_kickoff(job, DUE, book_of(job.product))
    assert kickoff is not None
    network = network_of(job, book_of(job.product))
    facts = {order.first: kickoff.day for order in network.orders}
    assert forward(network, kickoff.day, ordered=facts)[-1].finish <= DUE
    later = kickoff.day + DAY
    facts = {order.first: later for order in network.orders}
    assert forward(network, later, ordered=facts)[-1].finish > DUE


@given(jobs(), st.integers(0, 40), st.integers(0, 40))
def test_a_longer_slip_never_arrives_earlier(job: Job, one: int, other: int) -> None:
    dates = dates_of(job)
    item = dates.orders[0].item
    short, long_ = sorted((one, other))
    first, second = slip(dates, item, short), slip(dates, item, long_)
    assert first is not None
    assert second is not None
    assert 0 <= first.moved <= second.moved


@st.composite
def networks(draw: st.DrawFn) -> tuple[dict[str, int], dict[str, list[str]]]:
    """Return weeks and predecessors of activities; the last waits, directly or not, for all."""
    count = draw(st.integers(2, 8))
    names = [f"N{number}" for number in range(count)]
    weeks = {name: draw(st.integers(0, 9)) for name in names}
    before: dict[str, list[str]] = {names[0]: []}
    for index, name in enumerate(names[1:-1], 1):
        before[name] = sorted(draw(st.sets(st.sampled_from(names[:index]), max_size=3)))
    used = {each for waits in before.values() for each in waits}
    before[names[-1]] = [name for name in names[:-1] if name not in used]
    return weeks, before


@given(networks())
def test_without_calendars_the_longest_path_of_another_program_agrees(
    network: tuple[Mapping[str, int], Mapping[str, list[str]]],
) -> None:
    weeks, before = network
    last = list(before)[-1]
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_edge(last, "end", weight=weeks[last])
    for name, waits in before.items():
        graph.add_edges_from((each, name, {"weight": weeks[each]}) for each in waits)
    length = nx.dag_longest_path_length(graph)
    files = network_files(weeks, before) | {"plans/p.toml": plan_of(f"receive_by = {DUE}", sku=last)}
    dates = dates_of(job_of(files), FIRST)
    assert dates.cumulative == 7 * length
    assert dates.earliest == FIRST + dt.timedelta(weeks=length) - DAY
    for name in before:
        reach: nx.DiGraph[str] = nx.DiGraph(graph.subgraph({name, *nx.descendants(graph, name)}))
        (strip,) = (strip for strip in dates.strips if strip.item == name)
        after = nx.dag_longest_path_length(reach)
        assert strip.lies.start == DUE + DAY - dt.timedelta(weeks=after)
        above: nx.DiGraph[str] = nx.DiGraph(graph.subgraph({name, *nx.ancestors(graph, name)}))
        assert strip.early.start == FIRST + dt.timedelta(weeks=nx.dag_longest_path_length(above))
