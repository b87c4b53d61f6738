"""Two driven wheels above and below the ball: rim speeds to launch and back.

The ball is squeezed between the rims: it rolls on them a gap apart, not its diameter. And it slips: of the mean of the
rim speeds it gets a share as its speed, of their difference over the gap a share as its spin. A share of 1 is rolling
without slip. Numbers or arrays; SI: m/s, rad/s, m. A negative rim speed needs a drive that reverses.
"""

from math import pi
from typing import TypeVar

from .flight import Array

Number = TypeVar("Number", float, Array)


def rim_speeds(
    speed: Number, spin: Number, gap: float, speed_efficiency: float = 1.0, spin_efficiency: float = 1.0
) -> tuple[Number, Number]:
    """Rim speeds (top, bottom) for a ball that leaves a gap; topspin positive, so the top wheel is then the faster."""
    mean, half = speed / speed_efficiency, spin * gap / spin_efficiency / 2
    return mean + half, mean - half


def launch_of(
    top: float, bottom: float, gap: float, speed_efficiency: float = 1.0, spin_efficiency: float = 1.0
) -> tuple[float, float]:
    """Speed and spin (topspin positive) that the two rim speeds give a ball in that gap."""
    return speed_efficiency * (top + bottom) / 2, spin_efficiency * (top - bottom) / gap


def revolutions(rim_speed: float, wheel_diameter: float) -> float:
    """Turns per second of a wheel whose rim runs at that speed: V = π D n."""
    return rim_speed / (pi * wheel_diameter)
