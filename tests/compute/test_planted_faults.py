"""Tests of the tests: the mistakes most often made, planted one by one; the suite's own checks must catch each."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from types import ModuleType

import pytest
import test_buying
import test_losses

from ferrule.compute import demand, gross, netting, pooling, purchase, yields
from ferrule.compute.gross import Gross, Pack
from ferrule.compute.netting import Netted, Supplies, Wanted
from ferrule.compute.purchase import Basket
from ferrule.compute.quotes import Form, Quote
from ferrule.compute.yields import Passage
from ferrule.model.records.assembly import Step
from ferrule.model.records.product import Conventions

F = Fraction
_NONE = F(0)


def greedy(quote: Quote, need: Fraction) -> Basket | None:
    """Climb the breaks and stop at the first that costs more."""
    form = quote.forms[0]
    best = purchase.basket_of(quote, [(form, form.rounded(need))], need)
    for start, _ in form.breaks:
        if start > need:
            dearer = purchase.basket_of(quote, [(form, form.rounded(start))], need)
            if dearer.spend >= best.spend:
                break
            best = dearer
    return best


def additive(steps: Sequence[Step], raised: object = None) -> Passage | None:
    """Add the losses up instead of multiplying the yields."""
    del raised
    found = yields.passage(steps)
    if found is None:
        return None
    lost = sum((1 - flow.first_pass for flow in found.steps), F(0))
    return Passage(steps=found.steps, yield_=1 - lost, first_time=1 - lost, unknown=found.unknown)


def one_yield_for_all(steps: Sequence[Step], raised: object = None) -> Passage | None:
    """Divide only the last step by the yield: every step is entered by one unit."""
    del raised
    found = yields.passage(steps)
    if found is None:
        return None
    flat = tuple(
        type(flow)(entering=F(1), first_pass=flow.first_pass, final=flow.final, reworked=F(0))
        for flow in found.steps
    )
    return Passage(steps=flat, yield_=found.yield_, first_time=found.first_time)


def price_of_the_need(form: Form, quantity: Fraction) -> Fraction:
    """Take the price at the build's 900 pieces instead of the order's."""
    return form.breaks[form.break_at(min(quantity, F(900)))][1]


def without_dates(wanted: Sequence[Wanted], supplies: Supplies) -> Netted:
    """Count every receipt, whenever it comes."""
    return netting.net_of([Wanted(None, each.gross) for each in wanted], supplies)


def setup_forgotten(*arguments: object) -> int:
    """Mount no reels."""
    del arguments
    return 0


def by_area(length: Fraction, cut: Fraction, kerf: Fraction) -> int:
    """Divide lengths without counting whole pieces: 30 m / 4.2 m is more than seven."""
    return math.ceil(length / (cut + kerf))


def each_run_alone(
    uses: Sequence[demand.Use], unit: str, conventions: Conventions, pack: Pack, kerf: Fraction = _NONE
) -> Gross:
    """Round to whole packs run by run, before pooling."""
    found = gross.gross_of(uses, unit, conventions, pack, kerf)
    runs = {use.run for use in uses}
    apart = sum(
        (math.ceil(sum(use.quantity for use in uses if use.run == run) / 1000) * F(1000) for run in runs),
        F(0),
    )
    return Gross(
        demand=found.demand, attrition=F(0), mounts=0, setup=F(0), offcut=F(0), total=apart, runs=len(runs)
    )


def each_sku_alone(
    uses: Sequence[demand.Use], unit: str, conventions: Conventions, pack: Pack, kerf: Fraction = _NONE
) -> Gross:
    """Round up to whole pieces SKU by SKU, before pooling."""
    skus = {use.assembly for use in uses}
    apart = [
        gross.gross_of([use for use in uses if use.assembly == sku], unit, conventions, pack, kerf)
        for sku in skus
    ]
    return Gross(
        demand=sum((each.demand for each in apart), F(0)),
        attrition=sum((each.attrition for each in apart), F(0)),
        mounts=0,
        setup=F(0),
        offcut=F(0),
        total=sum((each.total for each in apart), F(0)),
        runs=sum(each.runs for each in apart),
    )


def packs_for_each_sku(
    uses: Sequence[demand.Use], unit: str, conventions: Conventions, pack: Pack, kerf: Fraction = _NONE
) -> Gross:
    """Round up to whole reels of 1,000 SKU by SKU, although builds of one SKU are pooled."""
    found = gross.gross_of(uses, unit, conventions, pack, kerf)
    need: dict[str, Fraction] = {}
    for use in uses:
        need[use.assembly] = need.get(use.assembly, F(0)) + use.quantity
    whole = sum((math.ceil(qty / 1000) * F(1000) for qty in need.values()), F(0))
    return Gross(
        demand=found.demand, attrition=F(0), mounts=0, setup=F(0), offcut=F(0), total=whole, runs=found.runs
    )


def check_greedy() -> None:
    # 900 at 1.00; 1,200 at 0.95 = 1,140; 2,200 at 0.40 = 880, which stopping at 1,140 misses.
    form = Form(
        label="",
        path=("price",),
        breaks=((F(1), F(1)), (F(1200), F("0.95")), (F(2200), F("0.40"))),
        own=(F(1), F("0.95"), F("0.40")),
    )
    quote = Quote(index=0, source=test_buying.product_source(), forms=(form,), bare=form)
    found = purchase.cheapest(quote, F(900))
    assert found is not None
    assert found.spend == 880


PLANTED: list[tuple[ModuleType, str, object, Callable[[], None]]] = [
    (purchase, "cheapest", greedy, check_greedy),
    (test_losses, "passage", additive, test_losses.check_rolled_yield),
    (test_losses, "passage", one_yield_for_all, test_losses.check_cost_compounds),
    (test_buying, "net_of", without_dates, test_buying.check_netting),
    (gross, "_mounts", setup_forgotten, test_losses.check_attrition_and_setup),
    (gross, "pieces_per_length", by_area, test_losses.check_cut_lengths),
    (pooling, "gross_of", each_run_alone, test_buying.check_pooling),
    (pooling, "gross_of", each_sku_alone, test_buying.check_rounding_over_skus),
    (pooling, "gross_of", packs_for_each_sku, test_buying.check_pooling_over_skus),
    (demand, "passage", additive, test_losses.check_starts),
]


def assert_caught(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, fault: object, check: Callable[[], None]
) -> None:
    """Raise where a check does not hold, or still holds with a fault in place of what it checks."""
    check()
    monkeypatch.setattr(module, name, fault)
    with pytest.raises(AssertionError):
        check()


@pytest.mark.parametrize(
    ("module", "name", "fault", "check"), PLANTED, ids=lambda value: getattr(value, "__name__", None)
)
def test_a_planted_fault_is_caught(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, fault: object, check: Callable[[], None]
) -> None:
    assert_caught(monkeypatch, module, name, fault, check)


@pytest.mark.parametrize(("module", "name", "fault"), [each[:3] for each in PLANTED])
def test_a_check_that_asserts_nothing_is_found_out(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str, fault: object
) -> None:
    with pytest.raises(pytest.fail.Exception, match="DID NOT RAISE"):
        assert_caught(monkeypatch, module, name, fault, lambda: None)


def test_the_price_of_the_need_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    check = test_buying.check_order_quantity_sets_the_price
    check()
    monkeypatch.setattr(Form, "price", price_of_the_need)
    with pytest.raises(AssertionError):
        check()
