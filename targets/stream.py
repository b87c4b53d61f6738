"""The command stream of a program for a machine: every launch in order, as the integers that would go to the device.

The whole form of the file is behind this module. It is for reading and comparing: arming, stopping and the answers of
the device belong to a conversation, and a file holds none.
"""

from decimal import ROUND_HALF_EVEN, Decimal
from itertools import groupby

from ..compiler.model.plan import Launch, Plan
from .clock import blocks_by_index
from .printable import ascii_only


def scaled(value: float, steps: int) -> int:
    """`value` in `steps` to the unit, half to even on the shortest decimal that stands for the value."""
    return int((Decimal(repr(float(value))) * steps).to_integral_value(ROUND_HALF_EVEN))


def settings(launch: Launch) -> str:
    """`s=` mm/s, `e=` and `a=` millidegrees, `t=` topspin and `k=` sidespin in tenths of rpm."""
    return (
        f"s={scaled(launch.speed_mps, 1000)} e={scaled(launch.elevation_deg, 1000)}"
        f" a={scaled(launch.azimuth_deg, 1000)} t={scaled(launch.topspin_rpm, 10)} k={scaled(launch.sidespin_rpm, 10)}"
    )


def render(plan: Plan) -> bytes:
    """ASCII lines ending in LF; `at=` counts from the start of the stretch, `b=` from the first ball of the plan."""
    if plan.feeder.kind != "machine":
        raise ValueError("A stream is written for a machine only; this plan is for a person.")
    lines = [f"# {ascii_only(line)}" for line in _head(plan)]
    shots = {shot.id: settings(shot.launch) for shot in plan.shots}
    blocks = blocks_by_index(plan)
    numbered = list(enumerate(plan.launches, start=1))
    for stretch, group in groupby(numbered, key=lambda item: blocks[item[1].block].stretch):
        balls = list(group)
        lines.append(f"stretch n={stretch} balls={len(balls)}")
        lines += [f"go b={number} at={scaled(ball.at_s, 1000)} {shots[ball.first]}" for number, ball in balls]
        lines.append(f"end n={stretch}")
    return ("\n".join(lines) + "\n").encode("ascii")


def _head(plan: Plan) -> list[str]:
    return [
        "feedwright stream 1",
        f"program: {plan.program}",
        f"plan: {plan.digest}",
        f"feeder: {plan.feeder.name}, fingerprint {plan.feeder.fingerprint}",
        "Checked for this feeder only.",
        "For reading and comparing. No file to play on a machine with a person in front: it has no arm and no stop.",
        "All numbers are integers. at: ms from the start of the stretch. s: speed, mm/s.",
        "e, a: elevation and azimuth, millidegrees, a + to the feeder's right.",
        "t, k: topspin and sidespin, tenths of rpm, k + curves to the feeder's left.",
        f"balls: {len(plan.launches)}",
    ]
