"""The command stream of a program for a machine: every launch in order, as the integers that would go to the device.

The file is for reading and comparing. It cannot arm or stop a machine, and it hears no answers: that takes the
conversation of `targets/machine/replay`.
"""

from itertools import groupby

from ...compiler.model.device import KEYS, Settings, scaled, settings_of
from ...compiler.model.plan import Plan
from ...compiler.printable import ascii_only


def written(settings: Settings) -> str:
    """`s=` mm/s, `e=` and `a=` millidegrees, `t=` topspin and `k=` sidespin in tenths of rpm."""
    return " ".join(f"{letter}={value}" for letter, value in zip(KEYS, settings, strict=True))


def render(plan: Plan) -> bytes:
    """ASCII lines ending in LF; `at=` counts from the start of the session, `b=` from the first ball of the plan.

    Where a ladder leaves the ball open, its first rung is the `go` and the other rungs follow as `or`.
    """
    if plan.feeder.kind != "machine":
        raise ValueError("A stream is written for a machine only; this plan is for a person.")
    lines = [f"# {ascii_only(line)}" for line in _head(plan)]
    shots = {shot.id: written(settings_of(shot.told)) for shot in plan.shots}
    numbered = list(enumerate(plan.launches, start=1))
    for part, group in groupby(numbered, key=lambda item: plan.blocks[item[1].block].part):
        balls = list(group)
        if plan.feeder.elsewhere:
            there = plan.feeder.at(plan.place_of(balls[0][1].block))
            lines.append(f"# {ascii_only(there.place_words)}")
        lines.append(f"part n={part} balls={len(balls)}")
        for number, ball in balls:
            place = f"b={number} at={scaled(ball.at_s, 1000)}"
            lines.append(f"go {place} {shots[ball.first]}")
            lines += [f"or {place} {shots[shot]}" for shot in ball.any_of if shot != ball.first]
        lines.append(f"end n={part}")
    return ("\n".join(lines) + "\n").encode("ascii")


def _head(plan: Plan) -> list[str]:
    device = plan.feeder.device
    return [
        "feedwright stream 1",
        f"program: {plan.program}",
        f"plan: {plan.digest}",
        f"feeder: {plan.feeder.name}, fingerprint {plan.feeder.fingerprint}",
        *(
            [f"device: {device.id}, cap {device.cap} mm/s, gap {device.gap} ms, limits {device.limits}"]
            if device
            else []
        ),
        *([f"given: {plan.source.given_words}"] if plan.source.given else []),
        "Checked for this feeder only.",
        "For reading and comparing. Never play it on a machine with a person in front: it has no arm and no stop.",
        "All numbers are integers. at: ms from the start of the session. s: speed, mm/s.",
        "e, a: elevation and azimuth, millidegrees, a + to the feeder's right.",
        "t, k: topspin and sidespin, tenths of rpm, k + curves to the feeder's left.",
        f"balls: {len(plan.launches)}",
    ]
