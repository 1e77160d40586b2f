"""Losses where they get awkward: floors by run, mounts by pack, kerfs, several lengths, what pooling keeps."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_losses import ADD_ON, OF_INPUT, gross, use

from ferrule.compute.demand import Use
from ferrule.compute.gross import Gross, Pack, gross_of, pieces_per_length
from ferrule.model.records.product import Conventions

F = Fraction


def cut(pieces: int, length: str = "4.2", *, run: str = "b", rate: str = "0") -> Use:
    return use(pieces, run=run, machine=False, attrition=F(rate), cut=F(length))


def from_rolls(*uses: Use, roll: str | None = "30", kerf: str = "0") -> Gross:
    return gross_of(uses, "m", ADD_ON, Pack(size=None if roll is None else F(roll)), F(kerf))


def test_a_floor_holds_for_every_run() -> None:
    # 100 and 400 at 5 %, at least 10 each: 10 and 20 lost. In one run of 500 it is 25.
    runs = [
        use(qty, run=run, loss=0, attrition=F("0.05"), floor=F(10)) for qty, run in ((100, "a"), (400, "b"))
    ]
    assert gross(*runs).total == 530
    one = [use(qty, loss=0, attrition=F("0.05"), floor=F(10)) for qty in (100, 400)]
    assert gross(*one).total == 525


def test_a_run_that_uses_nothing_loses_nothing() -> None:
    found = gross(use(0, floor=F(10)), size=None)
    assert (found.total, found.mounts, found.runs) == (F(0), 0, 0)


def test_a_line_that_uses_nothing_brings_no_floor_and_no_set_up() -> None:
    idle = use(0, loss=90, floor=F(10))
    assert gross(idle, use(100, attrition=F(0))).total == 125


def test_mounts_follow_the_reel() -> None:
    # 4,080 placed: reels of 2,000 give 1,975 each: 3; of 5,000: 1; of 1,000: 975 each, 5.
    assert [gross(use(4000), size=size).mounts for size in (2000, 5000, 1000)] == [3, 1, 5]
    # 3,950 are exactly two reels of 1,975; one more needs a third.
    assert [gross(use(qty, attrition=F(0))).mounts for qty in (3950, 3951)] == [2, 3]


def test_one_reel_stays_on_the_feeder_for_several_lines_of_a_run() -> None:
    assert gross(use(500), use(500)).mounts == 1


def test_everything_lost_leaves_nothing_to_count_by() -> None:
    with pytest.raises(ValueError, match="100 % of the input"):
        gross(use(10, attrition=F(1)), conventions=OF_INPUT)
    assert gross(use(10, loss=0, attrition=F(1))).total == 20


def test_hand_pieces_of_a_machine_part_mount_no_reel() -> None:
    # 9,680 by machine, with 2 % 9,874: five reels of 1,975 hold them. Ten by hand come from the tail of a reel.
    found = gross(use(9680), use(10, machine=False, attrition=F(0)))
    assert (found.mounts, found.total) == (5, F(9884 + 125))


def test_kerf_is_lost_with_every_cut() -> None:
    # Pieces of 4.2 m with 90 mm lost at each: 6 a roll of 30 m. 100 pieces: 16 rolls and 4 x 4.29 m.
    assert pieces_per_length(F(30), F("4.2"), F("0.09")) == 6
    found = from_rolls(cut(100), kerf="0.09")
    assert found.total == 16 * 30 + 4 * F("4.29")
    assert (found.demand, found.offcut) == (F(420), found.total - 420)


def test_each_length_is_cut_from_rolls_of_its_own() -> None:
    # Eight of 4.2 m: one roll and 4.2 m. Four of 8 m: three a roll: one roll and 8 m.
    assert from_rolls(cut(8), cut(4, "8")).total == 30 + F("4.2") + 30 + 8


def test_pieces_spoilt_are_whole_pieces() -> None:
    # 3 % of 10 is 0.3 of a piece: eleven are cut. One roll gives seven, four more take 16.8 m.
    found = from_rolls(cut(10, rate="0.03"))
    assert (found.attrition, found.total) == (F("4.2"), 30 + 4 * F("4.2"))


def test_without_a_roll_every_piece_takes_its_length() -> None:
    assert from_rolls(cut(100), roll=None, kerf="0.01").total == 100 * F("4.21")


def test_a_piece_longer_than_the_roll_is_refused() -> None:
    with pytest.raises(ValueError, match="does not fit"):
        from_rolls(cut(1, "31"))


# Laws ------------------------------------------------------------------------------------------------------

conventions = st.builds(
    Conventions,
    attrition=st.sampled_from(["add-on", "of-input"]),
    attrition_floor=st.sampled_from(["max", "sum"]),
)
sizes = st.sampled_from([None, 60, 500, 2000])


@st.composite
def runs(draw: st.DrawFn, loss: int) -> list[Use]:
    """Draw runs of one part, which loses as much at every reel."""
    return [
        use(
            draw(st.integers(0, 3000)),
            run=draw(st.sampled_from("abc")),
            loss=loss,
            machine=draw(st.booleans()),
            attrition=F(draw(st.integers(0, 40)), 100),
            floor=F(draw(st.sampled_from([0, 0, 10]))),
        )
        for _ in range(draw(st.integers(1, 5)))
    ]


@pytest.mark.property
@given(st.integers(0, 40).flatmap(runs), conventions, sizes, st.data())
def test_pooled_never_needs_more_than_apart(
    uses: list[Use], rules: Conventions, size: int | None, data: st.DataObject
) -> None:
    border = data.draw(st.integers(0, len(uses)))
    apart = [
        gross(*part, size=size, conventions=rules).total for part in (uses[:border], uses[border:]) if part
    ]
    assert gross(*uses, size=size, conventions=rules).total <= sum(apart)


@pytest.mark.property
@given(st.integers(0, 40).flatmap(runs), conventions, sizes)
def test_one_more_use_never_needs_less(uses: list[Use], rules: Conventions, size: int | None) -> None:
    # What netting by date builds on: every run adds to those before it.
    totals = [gross(*uses[:count], size=size, conventions=rules).total for count in range(1, len(uses) + 1)]
    assert totals == sorted(totals)


@pytest.mark.property
@given(st.integers(0, 40).flatmap(runs), conventions, sizes)
def test_the_working_adds_up(uses: list[Use], rules: Conventions, size: int | None) -> None:
    found = gross(*uses, size=size, conventions=rules)
    assert found.total == found.demand + found.attrition + found.setup + found.offcut
    assert found.demand == sum(each.quantity for each in uses)


@pytest.mark.property
@given(st.integers(1, 400), st.integers(1, 300), st.integers(0, 20), st.integers(10, 500))
def test_rolls_bought_are_the_fewest_that_hold_all_pieces(
    pieces: int, length: int, kerf: int, roll: int
) -> None:
    # In centimetres. Counted roll by roll: as many pieces as fit, until all are cut.
    if length + kerf > roll:
        return
    rolls, left = 0, pieces
    while left > 0:
        rolls, left = rolls + 1, left - roll // (length + kerf)
    found = from_rolls(cut(pieces, str(F(length, 100))), roll=str(F(roll, 100)), kerf=str(F(kerf, 100)))
    assert math.ceil(found.total / F(roll, 100)) == rolls
