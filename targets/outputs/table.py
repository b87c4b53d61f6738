"""One line for each launch, fixed width, so any text tool can compare two builds."""

from collections.abc import Callable

from ...compiler.model.plan import LaunchTime, Plan, Shot
from ...compiler.printable import visible
from ...grammar.units import clock
from .blocks import numbered

Column = tuple[str, str, Callable[[int, LaunchTime, Shot], str]]
"""Heading, unit, and the cell of a launch."""


def render(plan: Plan) -> bytes:
    """`clock` and `at` are the same time, for people and to 1 ms; frame and signs as in the plan."""
    shots = {shot.id: shot for shot in plan.shots}
    columns = _columns(plan)
    rows = [[heading for heading, _, _ in columns], [unit for _, unit, _ in columns]]
    for number, launch in enumerate(plan.launches, start=1):
        rows.append(
            [cell(number, launch, shots[launch.unmarked(plan.blocks[launch.block].ladder)]) for _, _, cell in columns]
        )
    widths = [max(len(row[i]) for row in rows) for i in range(len(columns))]
    head = [
        f"program  {visible(plan.program)}",
        f"plan     {plan.digest}",
        f"feeder   {visible(plan.feeder.name)} {visible(plan.feeder.fingerprint)}",
        *([f"given    {visible(plan.source.given_words)}"] if plan.source.given else []),
        f"balls    {len(plan.launches)}",
        "",
    ]
    body = ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    return ("\n".join(head + body) + "\n").encode()


def _columns(plan: Plan) -> list[Column]:
    numbers = numbered(plan.blocks)
    columns: list[Column] = [
        ("ball", "", lambda n, launch, shot: str(n)),
        ("clock", "m:ss", lambda n, launch, shot: clock(launch.at_s)),
        ("at", "s", lambda n, launch, shot: f"{launch.at_s:.3f}"),
        ("part", "", lambda n, launch, shot: str(plan.blocks[launch.block].part + 1)),
        ("block", "", lambda n, launch, shot: str(numbers[launch.block])),
        ("shot", "", lambda n, launch, shot: visible(shot.id)),
    ]
    if plan.feeder.kind == "machine":
        for name, unit in plan.feeder.setting_units.items():
            columns.append((visible(name), visible(unit), _setting(name)))
    else:
        columns += [
            ("speed", "m/s", lambda n, launch, shot: f"{shot.launch.speed_mps:.2f}"),
            ("elev", "deg", lambda n, launch, shot: f"{shot.launch.elevation_deg:.1f}"),
            ("azim", "deg", lambda n, launch, shot: f"{shot.launch.azimuth_deg:.1f}"),
            ("top", "rpm", lambda n, launch, shot: f"{shot.launch.topspin_rpm:.0f}"),
            ("side", "rpm", lambda n, launch, shot: f"{shot.launch.sidespin_rpm:.0f}"),
        ]
    columns += [
        ("land x", "m", _landing(0)),
        ("land y", "m", _landing(1)),
        ("over net", "m", lambda n, launch, shot: _metres(shot.predicted.net_clearance_m)),
        ("contact z", "m", lambda n, launch, shot: _metres(shot.predicted.contact_m[2])),
    ]
    return columns


def _setting(name: str) -> Callable[[int, LaunchTime, Shot], str]:
    return lambda n, launch, shot: f"{shot.settings[name]:.10g}" if name in shot.settings else "-"


def _landing(axis: int) -> Callable[[int, LaunchTime, Shot], str]:
    return lambda n, launch, shot: _metres(shot.predicted.landing_m and shot.predicted.landing_m[axis])


def _metres(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"
