"""Sampling plans against the published tables, cell by cell, and chances against published points and scipy."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import hypergeom

from ferrule.compute.sampling import (
    SamplePlan,
    chance_of_acceptance,
    curve,
    judge,
    letter_for,
    plan_for,
    zero_plan,
)
from ferrule.compute.sampling_tables import AQLS, LETTERS, LEVELS, NORMAL, SIZES, TIGHTENED

#: Files with their sources in the first lines: MIL-STD-105E (1989), Tables I, II-A, II-B; CRAN packages
#: Planesmuestra 0.1 and AQLSchemes 1.7-2 as second copies; 7 CFR 42.140.
DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def test_every_letter_of_table_1() -> None:
    found = rows("mil_std_105e_table1.csv")
    assert len(found) == 15
    for row in found:
        for lot in {int(row["lot_min"]), int(row["lot_max"] or 10**7)}:
            assert {level: letter_for(lot, level) for level in LEVELS} == {
                level: row[level] for level in LEVELS
            }


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("mil_std_105e_table2a_normal_resolved.csv", NORMAL),
        ("mil_std_105e_table2b_tightened_resolved.csv", TIGHTENED),
    ],
)
def test_every_cell_of_tables_2(name: str, table: dict[str, tuple[str, ...]]) -> None:
    found = rows(name)
    assert len(found) == len(LETTERS) * len(AQLS) == 416
    for row in found:
        cell = table[row["code"]][AQLS.index(row["aql"])]
        assert (SIZES[cell[0]], int(cell[1:]), int(cell[1:]) + 1) == (
            int(row["n"]),
            int(row["ac"]),
            int(row["re"]),
        )


def test_every_arrow_of_table_2a_is_followed() -> None:
    """The master table with arrows: down to the first plan with a larger sample, up to the first with a smaller."""
    found = rows("mil_std_105e_table2a_normal.csv")
    for limit in AQLS:
        column = [row[limit] for row in found]
        for at, cell in enumerate(column):
            step = {"down": 1, "up": -1}.get(cell, 0)
            to = at
            while "/" not in column[to]:
                to += step
            accept = column[to].split("/")[0]
            assert NORMAL[LETTERS[at]][AQLS.index(limit)] == f"{LETTERS[to]}{accept}"


@pytest.mark.parametrize(
    "row", rows("sampling_oc_checks.csv"), ids=lambda row: f"{row['n']}-{row['c']}-{row['p']}"
)
def test_published_points_of_operating_curves(row: dict[str, str]) -> None:
    """Binomial points are the limit of the hypergeometric for a lot large beside the sample, Poisson ones nearly."""
    n, c, p = int(row["n"]), int(row["c"]), Fraction(row["p"])
    lot = 2_000_000
    chance = chance_of_acceptance(lot, int(p * lot), n, c)
    assert float(chance) == pytest.approx(
        float(row["pa_computed"]), abs=2e-3 if row["model"] == "poisson" else 6e-4
    )


def test_two_percent_bad_of_a_thousand_pass_a_sample_of_80_in_79_of_100() -> None:
    assert round(float(chance_of_acceptance(1000, 20, 80, 2)), 2) == 0.79


def test_zero_plans_for_one_percent_at_five_percent() -> None:
    found = [zero_plan(lot, Fraction(1, 100), Fraction(5, 100)).sample for lot in (500, 1000)]
    assert found == [225, 258]


def test_lot_1000_level_2() -> None:
    """Letter J, n = 80; AQL 1.0 accepts 2, 2.5 accepts 5, 4.0 accepts 7."""
    plans = [plan_for(1000, "II", limit) for limit in ("1.0", "2.5", "4.0")]
    assert [(plan.used, plan.sample, plan.accept, plan.refuse) for plan in plans] == [
        ("J", 80, 2, 3),
        ("J", 80, 5, 6),
        ("J", 80, 7, 8),
    ]


def test_an_arrow_changes_the_sample_and_a_sample_as_large_as_the_lot_takes_all() -> None:
    plan = plan_for(200, "II", "0.10")
    assert (plan.started, plan.used, plan.sample, plan.accept, plan.everything) == ("G", "K", 125, 0, False)
    plan = plan_for(100, "II", "0.10")
    assert (plan.started, plan.used, plan.sample, plan.accept, plan.everything) == ("F", "K", 100, 0, True)


def test_what_is_no_lot_level_or_limit_is_refused() -> None:
    with pytest.raises(ValueError, match="a lot of one is inspected"):
        letter_for(1, "II")
    with pytest.raises(ValueError, match="IV is no inspection level"):
        letter_for(100, "IV")
    with pytest.raises(ValueError, match=r"1\.1 is no acceptance quality limit"):
        plan_for(100, "II", "1.1")
    with pytest.raises(ValueError, match="shares lie between"):
        zero_plan(100, Fraction(2), Fraction(1, 20))


def test_verdict_by_class() -> None:
    plans = {
        "critical": SamplePlan(lot=1000, sample=258, accept=0),
        "major": plan_for(1000, "II", "1.0"),
        "minor": plan_for(1000, "II", "4.0"),
    }
    assert judge(plans, {"critical": 0, "major": 2, "minor": 7}).accepted is True
    assert judge(plans, {"critical": 0, "major": 3, "minor": 0}).over == ("major",)
    assert judge(plans, {"critical": 1, "major": 0, "minor": 0}).accepted is False
    assert judge(plans, {"major": 0}).accepted is None
    assert judge(plans, {"critical": 1}).accepted is False


SMALL = st.integers(2, 400).flatmap(
    lambda lot: st.tuples(st.just(lot), st.integers(0, lot), st.integers(0, lot), st.integers(0, 12))
)


@pytest.mark.property
@given(SMALL)
def test_chances_are_those_of_scipy(numbers: tuple[int, int, int, int]) -> None:
    lot, bad, sample, accept = numbers
    found = chance_of_acceptance(lot, bad, sample, accept)
    assert float(found) == pytest.approx(float(hypergeom(lot, bad, sample).cdf(accept)), abs=1e-9)
    if bad < lot:
        assert chance_of_acceptance(lot, bad + 1, sample, accept) <= found


@pytest.mark.property
@given(st.integers(2, 300), st.integers(1, 60), st.integers(1, 60))
def test_a_zero_plan_is_the_smallest_that_protects(lot: int, bad: int, risk: int) -> None:
    plan = zero_plan(lot, Fraction(bad, 100), Fraction(risk, 100))
    ((many, chance),) = curve(plan, [Fraction(bad, 100)])
    assert chance <= Fraction(risk, 100)
    if plan.sample > 1:
        assert chance_of_acceptance(lot, many, plan.sample - 1, 0) > Fraction(risk, 100)
