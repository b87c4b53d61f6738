"""What a machine on a line receives and what it limits itself to, in the line's integers.

Units, everywhere on the line: speed mm/s, elevation and azimuth millidegrees, spins tenths of rpm, times ms. Frame and
signs are the plan's (see plan.py).
"""

import zlib
from collections.abc import Mapping
from functools import lru_cache
from typing import Protocol

from ...grammar.frozen import Frozen

KEYS = {"s": "speed", "e": "elevation", "a": "azimuth", "t": "topspin", "k": "sidespin"}
"""The letters of the settings, in the order in which they are always written."""
STEPS = {"s": 1000, "e": 1000, "a": 1000, "t": 10, "k": 10}
"""Line units in one m/s, one degree, one rpm."""

Settings = tuple[int, int, int, int, int]
"""s, e, a, t, k."""


class HasLaunch(Protocol):
    """Any record with a launch's figures, such as a plan's."""

    @property
    def speed_mps(self) -> float: ...
    @property
    def elevation_deg(self) -> float: ...
    @property
    def azimuth_deg(self) -> float: ...
    @property
    def topspin_rpm(self) -> float: ...
    @property
    def sidespin_rpm(self) -> float: ...


@lru_cache(4096)  # a replay asks for the same moments each turn
def scaled(value: float, steps: int) -> int:
    """`value` in steps of 1 / `steps` of its unit, rounded half to even on the shortest decimal of the value."""
    from decimal import ROUND_HALF_EVEN, Decimal  # slow to load, and only plans need it

    return int((Decimal(repr(float(value))) * steps).to_integral_value(ROUND_HALF_EVEN))


def settings_of(launch: HasLaunch) -> Settings:
    """A launch in the line's units."""
    return (
        scaled(launch.speed_mps, STEPS["s"]),
        scaled(launch.elevation_deg, STEPS["e"]),
        scaled(launch.azimuth_deg, STEPS["a"]),
        scaled(launch.topspin_rpm, STEPS["t"]),
        scaled(launch.sidespin_rpm, STEPS["k"]),
    )


class Limits(Frozen):
    """A device's identity and the settings it accepts: `cap` mm/s, `gap` ms, `ranges` by letter, ends included."""

    id: str
    cap: int
    gap: int
    ranges: Mapping[str, tuple[int, int]]

    @property
    def text(self) -> str:
        """`cap=C gap=G s=LOW..HIGH e=.. a=.. t=.. k=..`: the order and form that `checksum` covers, plain ASCII."""
        return f"cap={self.cap} gap={self.gap} " + " ".join(
            f"{letter}={self.ranges[letter][0]}..{self.ranges[letter][1]}" for letter in KEYS
        )

    @property
    def checksum(self) -> str:
        """CRC-32/ISO-HDLC of `text`, eight lower-case hex digits."""
        return f"{zlib.crc32(self.text.encode('ascii')):08x}"
