"""GTIN check digits against the worked example of the GS1 General Specifications (6291041500213, from memory)."""

from __future__ import annotations

import pytest

from ferrule.diagnostics.rules.sku_pack_incomplete import check_digit


@pytest.mark.parametrize("code", ["6291041500213", "2012345678903"])
def test_check_digit(code: str) -> None:
    assert check_digit(code[:-1]) == int(code[-1])
