"""One rule for every number that people read without all of its decimals."""

import pytest

from feedwright.grammar.units import from_si, number, shown, to_si


@pytest.mark.parametrize(
    ("value", "decimals", "read"),
    [(60.5, 0, "61"), (61.5, 0, "62"), (-60.5, 0, "-61"), (0.125, 2, "0.13"), (0.04, 1, "0"), (-0.04, 1, "0")],
)
def test_a_half_goes_away_from_zero(value: float, decimals: int, read: str) -> None:
    """As DIN 1333 rounds."""
    assert number(value, decimals) == read


@pytest.mark.parametrize("half", [20.5, 45.5, 60.5, 61.5, 99.5, 130.5])
def test_what_computing_adds_makes_no_difference(half: float) -> None:
    speed = to_si(half, "km/h")
    for near in (speed * (1 - 1e-15), speed, speed * (1 + 1e-15)):
        assert shown(near, "km/h") == f"{int(half + 0.5)} km/h" == f"{number(from_si(near, 'km/h'), 0)} km/h"
