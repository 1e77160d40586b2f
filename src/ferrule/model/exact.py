"""Exact decimal arithmetic: a result that would have to be rounded raises instead."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["exact"]

#: Digits kept. A 400-layer chain of quantities of ten digits still fits.
DIGITS = 4096


@contextmanager
def exact() -> Iterator[None]:
    """Compute with Decimal exactly inside; an inexact result raises `decimal.Inexact`."""
    with decimal.localcontext() as context:
        context.prec = DIGITS
        context.Emax, context.Emin = decimal.MAX_EMAX, decimal.MIN_EMIN
        context.traps[decimal.Inexact] = True
        yield
