"""Two driven wheels above and below the ball: rim speeds to launch and back.

Kinematics without slip at release: the ball leaves with the mean of the rim speeds and turns with their difference over
its diameter. A real ball is squeezed and slips, so a speed and a spin efficiency belong to each machine. Numbers or
arrays; SI: m/s, rad/s, m. A negative rim speed needs a drive that reverses.
"""

from math import pi
from typing import TypeVar

from .flight import Array

Number = TypeVar("Number", float, Array)


def rim_speeds(speed: Number, spin: Number, diameter: float) -> tuple[Number, Number]:
    """Rim speeds (top, bottom) for a ball of that diameter; topspin positive, so the top wheel is then the faster."""
    half = spin * diameter / 2
    return speed + half, speed - half


def launch_of(top: float, bottom: float, diameter: float) -> tuple[float, float]:
    """Speed and spin (topspin positive) that the two rim speeds give a ball of that diameter."""
    return (top + bottom) / 2, (top - bottom) / diameter


def revolutions(rim_speed: float, wheel_diameter: float) -> float:
    """Turns per second of a wheel whose rim runs at that speed: V = π D n."""
    return rim_speed / (pi * wheel_diameter)
