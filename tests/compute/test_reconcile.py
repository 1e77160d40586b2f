"""Consigned parts reconciled: the small numbers of the method, hand-worked accounts and laws."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builders import product
from ferrule.compute.reconcile import Custody, reconcile
from ferrule.compute.structure import Context, structure_of

BASE = """\
[assembly]
id = "BOARD"
[[line]]
item = 10
part = "CHIP"
qty = 1
[[line]]
item = 20
part = "MIC"
qty = 2
"""
SET = '[assembly]\nid = "SET"\n[[line]]\nitem = 10\npart = "BOARD"\nqty = 3\n'
PARTS = """\
[part.CHIP]
consigned = { custodian = "f", allowance = "0.5 %", value = "5 USD", buyable_elsewhere = false, identities = true }
[part.MIC]
consigned = { custodian = "f", allowance = "1 %", value = "1 USD", buyable_elsewhere = false }
"""


def moved(kind: str, qty: int, day: int = 1, part: str = "CHIP", identities: int | None = None) -> str:
    more = f"identities = {identities}\n" if identities is not None else ""
    return f'[[movement]]\npart = "{part}"\ncustodian = "f"\nkind = "{kind}"\nqty = {qty}\ndate = 2026-11-{day:02}\n{more}'


def made(good: int, begun: int = 0, sku: str = "BOARD", day: int = 2, identities: int | None = None) -> str:
    more = f"identities = {identities}\n" if identities is not None else ""
    return f'[[made]]\nsku = "{sku}"\nfactory = "f"\ngood = {good}\nin_process = {begun}\ndate = 2026-11-{day:02}\n{more}'


def custody(*records: str, parts: str = PARTS) -> Custody:
    found = product(
        {
            "a.toml": BASE,
            "s.toml": SET,
            "p.toml": parts,
            "f.toml": '[firm.f]\nname = "F"\n',
            "c.toml": "".join(records),
        }
    )
    (done,) = reconcile(found, structure_of(found, Context(day=dt.date(2026, 11, 25))))
    return done


def account(done: Custody, part: str = "CHIP") -> Any:
    return next(account for account in done.accounts if account.part == part)


def test_the_methods_own_numbers() -> None:
    """Issued 2,000; good 1,850; in process 40; returned 12; counted 30: 68 unproven, 9 forgiven, 59 owed."""
    done = custody(moved("issued", 2000), moved("returned", 12), moved("counted", 30, 3), made(1850, 40))
    chip = account(done)
    assert (chip.used, chip.unproven, chip.forgiven, chip.chargeable, chip.unseen) == (1890, 68, 9, 59, 68)


def test_a_claim_without_a_carcass_stays_unproven_and_a_carcass_does_not() -> None:
    rows = [moved("issued", 100), made(80), moved("counted", 10, 3)]
    claimed = account(custody(*rows, moved("scrap claimed", 6)))
    shown = account(custody(*rows, moved("scrap with carcass", 6)))
    assert (claimed.unproven, claimed.claimed, claimed.storyless) == (10, 6, 4)
    assert (shown.unproven, shown.claimed, shown.storyless) == (4, 0, 4)


def test_the_part_that_leaves_least_room_binds_and_several_a_unit_are_divided() -> None:
    done = custody(
        moved("issued", 100), made(90), moved("issued", 200, part="MIC"), moved("counted", 7, 3, part="MIC")
    )
    assert (account(done).unseen, account(done, "MIC").unseen) == (10, 6)  # 13 microphones, two a unit
    assert done.bound is not None
    assert (done.bound.unseen, done.bound.binding, done.bound.from_issues) == (6, ("MIC",), 10)
    assert done.bound.to_lower == {"MIC": 2}  # 13 - 2 x 6 + 1: with 11 left there is room for 5


def test_a_part_that_can_be_bought_elsewhere_leaves_the_bound() -> None:
    rows = (moved("issued", 100), made(90), moved("issued", 181, part="MIC"))
    free = PARTS.replace('"1 USD", buyable_elsewhere = false', '"1 USD", buyable_elsewhere = true')
    unsaid = PARTS.replace('"1 USD", buyable_elsewhere = false', '"1 USD"')
    bounds = [custody(*rows, parts=parts).bound for parts in (PARTS, free, unsaid)]
    assert [(bound.unseen, bound.undecided) for bound in bounds if bound is not None] == [
        (0, ()),
        (10, ()),
        (10, ("MIC",)),
    ]


def test_more_seen_than_issued_is_said_and_bounds_nothing() -> None:
    done = custody(moved("issued", 100), made(104))
    assert (account(done).unproven, account(done).surplus, account(done).unseen) == (0, 4, None)
    assert done.bound is None


def test_without_any_part_that_binds_there_is_no_bound() -> None:
    assert custody(moved("issued", 100), moved("issued", 300, part="MIC")).bound is None


def test_counts_and_work_in_process_stand_for_their_last_day() -> None:
    chip = account(
        custody(
            moved("issued", 100), moved("counted", 40, 3), moved("counted", 20, 9), moved("counted", 5, 9),
            made(30, 12, day=4), made(20, 6, day=8), moved("issued", 10, 10),
        )
    )  # fmt: skip
    assert (chip.good, chip.in_process, chip.counted, chip.since) == (50, 6, 25, 10)
    assert chip.unproven == 110 - 50 - 6 - 25


def test_two_equal_reports_are_two_reports() -> None:
    assert account(custody(moved("issued", 100), made(20), made(20))).good == 40


def test_what_is_inside_a_larger_thing_is_counted_once() -> None:
    done = custody(moved("issued", 100), made(90), made(20, sku="SET"))
    assert (account(done).good, done.nested) == (90, (("BOARD", "SET"),))
    assert account(custody(moved("issued", 100), made(30), made(20, sku="SET"))).good == 60


def test_identities_not_seen_again_may_sit_on_unseen_units() -> None:
    done = custody(
        moved("issued", 100, identities=100), made(80, identities=79), moved("scrap with carcass", 5, identities=5),
        moved("issued", 400, part="MIC"),
    )  # fmt: skip
    assert account(done).identities == 16
    assert done.bound is not None
    assert (done.bound.unseen, done.bound.with_identity) == (15, 15)


@pytest.mark.property
@given(st.tuples(*[st.integers(0, most) for most in (500, 300, 50, 50, 50, 9)]))
def test_the_account_adds_up_and_proof_never_raises_the_bound(numbers: tuple[int, ...]) -> None:
    issued, good, begun, counted, returned, shown = numbers
    rows = [
        moved("issued", issued),
        made(good, begun),
        moved("counted", counted, 3),
        moved("returned", returned),
    ]
    chip = account(custody(*rows))
    assert chip.balance == issued - good - begun - counted - returned
    assert chip.unproven - chip.surplus == chip.balance
    more = account(custody(*rows, moved("scrap with carcass", shown)))
    if chip.unseen is not None and more.unseen is not None:
        assert more.unseen == chip.unseen - shown
    assert chip.chargeable == max(Fraction(0), chip.unproven - (good + begun) // 200)
