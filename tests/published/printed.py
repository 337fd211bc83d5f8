"""Compare with a number as a page prints it: right to half of its last printed digit."""

from decimal import Decimal
from typing import Any

import pytest

_FLOAT_ERROR = 1e-9


def printed(digits: str, unit: float = 1) -> Any:
    """Return what any number equals that rounds to these digits, in units of `unit`."""
    number = Decimal(digits.replace(",", ""))
    last_digit = float(Decimal(1).scaleb(int(number.as_tuple().exponent)))
    within = last_digit / 2 * unit + _FLOAT_ERROR
    return pytest.approx(float(number) * unit, abs=within, rel=0)


def slip(*values: object, reason: str) -> Any:
    """Return a case that a page prints and that we do not match."""
    return pytest.param(*values, marks=pytest.mark.xfail(strict=True, reason=reason))
