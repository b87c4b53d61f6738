"""The numbers of a ball in words, for both terminal and page."""

from dataclasses import dataclass

from ....compiler.model.plan import Plan, Shot
from ....compiler.printable import visible
from ....grammar.units import clock, number
from .. import band
from ..blocks import numbered
from ..places import stands
from ..sheet import words
from ..sheet.letters import letters

NOT_COMPUTED = "not computed"


@dataclass(frozen=True, slots=True)
class BallFigures:
    """A shot under its letter, with its numbers as (label, text)."""

    id: str
    letter: str
    name: str
    figures: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class LaunchMoment:
    """One launch of the session: number from 1, clock, block number from 1, index of its ball, and what to say."""

    ball: int
    clock: str
    block: int
    text: str
    at_s: float


def balls(plan: Plan) -> list[BallFigures]:
    named = letters(plan)
    return [
        BallFigures(shot.id, _own_letter(named.of, shot.id), visible(shot.id), figures(plan, shot))
        for shot in plan.shots
    ]


def _own_letter(of: dict[str, str], shot: str) -> str:
    """The sheet's letter. Shots that share one on a person's sheet also get their number in the family."""
    family = [name for name, letter in of.items() if letter == of[shot]]
    return of[shot] + (f"·{family.index(shot) + 1}" if len(family) > 1 else "")


def figures(plan: Plan, shot: Shot) -> tuple[tuple[str, str], ...]:
    seen, start = shot.predicted, shot.launch
    landing = f"no bounce{place(plan, shot)}"
    if seen.landing_m is not None:
        x, y = seen.landing_m
        after = f", after {seen.landing_s:.1f} s" if seen.landing_s is not None else ""
        landing = f"{words.along(y, y, plan.court)}, {words.aside(x, x, plan.court)}{after}"
    spins = []
    if round(start.topspin_rpm):
        spins.append(f"{words.turn(start.topspin_rpm)} {abs(start.topspin_rpm):.0f} rpm")
    if round(start.sidespin_rpm):
        spins.append(
            f"sidespin {abs(start.sidespin_rpm):.0f} rpm to the {'right' if start.sidespin_rpm > 0 else 'left'}"
        )
    twice = ", after two bounces" if seen.bounces == 2 else ""
    met = band.heights([shot])
    return (
        ("Over the net", f"{clearance(plan, shot)}, {seen.peak_m:.1f} m at the top"),
        ("Lands", landing),
        ("Contact height", f"{seen.contact_m[2]:.2f} m, {seen.contact_phase}{twice}{met and f'; other balls {met}'}"),
        ("Time to contact", f"{seen.contact_s:.2f} s"),
        *(() if shot.way_m is None else (("Way", _way(plan, shot)),)),
        *((("Stroke", side),) if shot.way_m is None and (side := _stroke(plan, shot)) else ()),
        ("Pace", f"{_kmh(start.speed_mps)}, {_kmh(seen.contact_speed_mps)} at the contact"),
        ("Spin", ", ".join(spins) or "none"),
        ("Spread", spread(shot)),
        ("Other balls", NOT_COMPUTED if shot.spread is None else band.ends([shot])),
        ("Replies", replies(shot)),
        *(("Limits", "; ".join(told)) for told in [band.limits([shot])] if told),
    )


def _stroke(plan: Plan, shot: Shot) -> str:
    return plan.player_of(shot).stroke(shot.words.get("stroke"), shot.waits_m, shot.predicted.contact_m)


def _way(plan: Plan, shot: Shot) -> str:
    side = _stroke(plan, shot)
    return f"{shot.way_m:.1f} m, from where the player waits{side and f', to a {side}'}"


def place(plan: Plan, shot: Shot) -> str:
    """On the full, where the ball is asked to be met."""
    if shot.place_m is None:
        return ""
    left, right, low, high = shot.place_m
    return f"; its place {words.aside(left, right, plan.court)}, {words.span(max(low, 0.0), high, 2)} m high"


def clearance(plan: Plan, shot: Shot) -> str:
    over = shot.predicted.net_clearance_m
    if over is None:
        return "own side" if stands(plan, shot).players_side else "past the net's end"
    return f"{over:.2f} m"


def spread(shot: Shot) -> str:
    known = shot.spread
    if known is None:
        return NOT_COMPUTED
    shares = f"{band.in_zone([shot])} in {'zone' if shot.predicted.landing_m else 'its place'}"
    if shot.predicted.net_clearance_m is not None:
        shares += f", {known.share_over_net:.0%} over net"
    if known.half_axes_m is None:
        return shares
    return f"{shares}; {max(known.half_axes_m):.1f} by {min(known.half_axes_m):.1f} m"


def replies(shot: Shot) -> str:
    """How many of ten are good, the best aim, and the margin for error if the script gives the pace."""
    known = shot.reply
    if known is None:
        return NOT_COMPUTED
    if known.speed_mps is None or known.elevation_deg is None:
        return "no good reply in ten"
    up = f"{abs(known.elevation_deg):.0f}° {'up' if known.elevation_deg >= 0 else 'down'}"
    told = f"{words.good_replies([shot])}, aimed {up} at {_kmh(known.speed_mps)}"
    if known.low_deg is None or known.high_deg is None or known.side_window_deg is None:
        return told
    high = known.high_deg - known.low_deg
    return f"{told}; margin for error {high:.1f}° high, {known.side_window_deg:.1f}° sideways"


def moments(plan: Plan) -> list[LaunchMoment]:
    """The launches in the order of the session."""
    index = {shot.id: n for n, shot in enumerate(plan.shots)}
    shown = balls(plan)
    numbers = numbered(plan.blocks)
    result = []
    for n, launch in enumerate(plan.launches, start=1):
        ball = shown[index[launch.first]]
        when = clock(launch.at_s)
        rung = " or another rung" if launch.shot is None else ""
        block = numbers[launch.block]
        text = f"Ball {n} of {len(plan.launches)}, {when}, block {block}: {ball.letter} {ball.name}{rung}"
        result.append(LaunchMoment(index[launch.first], when, block, text, launch.at_s))
    return result


def _kmh(metres_per_second: float) -> str:
    return f"{number(metres_per_second * 3.6, 0)} km/h"
