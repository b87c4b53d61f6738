"""Computes and flies a plan again before anybody plays it. Anybody who can write a digest can write a plan, so nothing
in it is trusted. What is not computed again has to lie within bounds; PLAN.md lists what holds each entry."""

from collections.abc import Iterator, Mapping
from itertools import islice, pairwise, product
from math import hypot, inf, isfinite, remainder

import numpy as np

from ..grammar.units import DEG, RPM
from .model.bounds import unfit
from .model.device import KEYS, settings_of
from .model.feeder import Axis, Feeder
from .model.plan import Launch, Order, Plan, Predicted, Shot
from .model.player import EITHER_M, TWO_HANDS_M
from .model.record import Unsound
from .model.timing import clock_faults
from .model.who_plays import PlayerRecord
from .physics.outcome import Conditions, Outcome, Release, outcome
from .schedule import PART_REST_S
from .trace import world_of
from .world import strange

ABOUT = 0.002
"""A ball this little beyond a limit, SI, still keeps it, as in aiming."""
NEAR_M, NEAR_S, NEAR_MPS = 0.005, 0.005, 0.05
"""A plan's launch is rounded to 1e-6 and its predictions to 1e-4; together they move a flight by less than a tenth of
this. A flight that differs by less is the same ball."""
SAME = 1e-4
"""Most by which a setting's value and its launch differ, m/s, degrees, rpm: each is rounded to 1e-6 of its unit, and
the largest unit is a turn per second, 60 rpm."""
STEP = 2e-6
"""Most by which a setting differs from its nearest step, in the device's unit: it is rounded to 1e-6."""
TOP_MPS = 0.3
"""A contact at which the ball rises or falls more slowly than this may count as the top, as in aiming."""
BESIDE_M = 0.011
"""A ball that lands a centimetre outside its zone still counts as in it, as in the check; the rest is rounding."""


def verify(plan: Plan, feeder: Feeder) -> list[str]:
    """Each reason against launching this plan with this feeder, as a sentence; empty if there is none.

    It keeps nothing between calls, so it can run again each time a person arms.
    """
    try:
        plan = Plan(**plan.data())  # a changed copy is not checked
    except Unsound as unsound:
        return [f"The plan does not have the form of a plan: {unfit(unsound)}."]
    if plan.digest != plan.fresh_digest():
        return ["The plan's digest does not match its content: the plan was changed after it was checked."]
    if plan.feeder.name != feeder.name or plan.feeder.fingerprint != feeder.fingerprint:
        return [f"The plan was made for the feeder {plan.feeder.name}, and the profile is not the same now."]
    if not plan.launches:
        return ["The plan has no ball."]
    wrong = [*strange(plan, feeder), *(sentence for shot in plan.shots for sentence in _settings(shot, plan, feeder))]
    if wrong:  # no ball is flown in a world that does not exist
        return wrong
    flown = _fly(plan)
    for i, shot in enumerate(plan.shots):
        said = *_differs(shot, flown, i), *_unsafe(shot, plan, flown, i), *_beyond(shot, plan, flown, i)
        wrong += [f"Ball {shot.id}: {words}." for words in said]
    return [*wrong, *_counts(plan), *_rhythm(plan, feeder), *_changes(plan, feeder)]


def _settings(shot: Shot, plan: Plan, feeder: Feeder) -> Iterator[str]:
    """Does it start at the feeder, does the profile have these settings, and do they give this launch?"""
    launch, there = shot.launch, plan.feeder.at(shot.fed_from)
    if launch.origin_m != (*there.place_m, round(there.release_height_m, 4)):
        yield f"Ball {shot.id} does not start where the feeder releases it."
    if not shot.interval_s >= feeder.least_interval_s - 1e-4:
        yield f"Ball {shot.id} comes every {shot.interval_s:g} s; the feeder needs {feeder.least_interval_s:g} s."
    given = _figures(launch)
    units = {"speed": 1.0, "elevation": DEG, "azimuth": DEG, "topspin": RPM, "sidespin": RPM}
    given["topspin"], given["sidespin"] = feeder.measured.unrolled(given["topspin"], given["sidespin"])
    axes, told = feeder.axes(), _figures(shot.told)
    for name, value in given.items():
        axis, slack = axes.get(name), SAME * units[name]
        if axis is None and not abs(value) <= slack:
            yield f"Ball {shot.id} has a {name}; the feeder has none."
        elif axis is not None and not axis.low_si - slack <= value <= axis.high_si + slack:
            yield f"Ball {shot.id}: its {name} is outside the profile."
        elif axis is not None and feeder.kind == "machine":
            setting = shot.settings[name]
            if not _has(axis, setting):
                yield f"Ball {shot.id}: {name} cannot be set to {setting:g}."
            elif not abs(axis.value(setting) - value) <= slack:
                yield f"Ball {shot.id}: the setting of {name} does not give the launch in the plan."
            elif not abs(axis.si(axis.stated(setting)) - told[name]) <= slack:
                yield f"Ball {shot.id}: the machine is told another {name} than it is set to."
        if axis is None and feeder.kind == "machine" and not abs(told[name]) <= slack:
            yield f"Ball {shot.id}: the machine is told a {name}; the feeder has none."
    if feeder.wheels:
        rims = feeder.rims(given["speed"], given["topspin"], given["sidespin"], plan.ball.diameter_m)
        if not all(feeder.wheels.low_mps - SAME <= rim <= feeder.wheels.high_mps + SAME for rim in rims):
            yield f"Ball {shot.id}: its wheels would run outside the profile."
    if feeder.device and not max(launch.speed_mps, shot.told.speed_mps) <= feeder.device.cap_mps:
        yield f"Ball {shot.id}: its speed is over the machine's cap of {feeder.device.cap_mps:g} m/s."
    if feeder.limits:
        for letter, number in zip(KEYS, settings_of(shot.told), strict=True):
            low, high = feeder.limits.ranges[letter]
            if not low <= number <= high:
                yield f"Ball {shot.id}: {KEYS[letter]} is outside the limits that the machine states on its line."
    if feeder.template and (odd := feeder.template.inexpressible(shot.settings)):
        yield f"Ball {shot.id}: the machine has no command for {odd[0]} {odd[1]:g}."


def _figures(said: Launch | Order) -> dict[str, float]:
    """By axis, in SI."""
    return {
        "speed": said.speed_mps, "elevation": said.elevation_deg * DEG, "azimuth": said.azimuth_deg * DEG,
        "topspin": said.topspin_rpm * RPM, "sidespin": said.sidespin_rpm * RPM,
    }  # fmt: skip


def _has(axis: Axis, setting: float) -> bool:
    if axis.dial is not None:
        return setting == int(setting) and 1 <= setting <= len(axis.dial)
    inside = axis.low - STEP <= setting <= axis.high + STEP
    return inside and (axis.step is None or abs(remainder(setting - axis.low, axis.step)) <= STEP)


def _fly(plan: Plan) -> Outcome:
    launches = [shot.launch for shot in plan.shots]
    release = Release(
        np.array([launch.origin_m for launch in launches]).T,
        np.array([launch.speed_mps for launch in launches]),
        np.array([launch.elevation_deg for launch in launches]) * DEG,
        np.array([launch.azimuth_deg for launch in launches]) * DEG,
        np.array([launch.topspin_rpm for launch in launches]) * RPM,
        np.array([launch.sidespin_rpm for launch in launches]) * RPM,
    )
    court = plan.court
    bounces = 2 if any(player.two_bounces for player in plan.players) else 1
    conditions = Conditions(*world_of(plan), court.net_centre_m, court.net_post_m, court.post_x_m, bounces)
    stance = np.array([shot.stance_y_m for shot in plan.shots])
    full = np.array([shot.predicted.landing_m is None for shot in plan.shots])
    return outcome(release, stance, full, conditions)


def _differs(shot: Shot, flown: Outcome, i: int) -> Iterator[str]:
    told = shot.predicted
    pairs = [
        ("net clearance", told.net_clearance_m, flown.clearance[i], NEAR_M),
        ("place at the net", told.net_x_m, flown.net_x[i], NEAR_M),
        ("landing across", told.landing_m and told.landing_m[0], flown.landing.position[0, i], NEAR_M),
        ("landing along", told.landing_m and told.landing_m[1], flown.landing.position[1, i], NEAR_M),
        ("landing time", told.landing_s, flown.landing.time[i], NEAR_S),
        ("landing speed", told.landing_speed_mps, float(np.linalg.norm(flown.landing.velocity[:, i])), NEAR_MPS),
        ("contact across", told.contact_m[0], flown.contact.position[0, i], NEAR_M),
        ("contact along", told.contact_m[1], shot.stance_y_m, NEAR_M),
        ("contact height", told.contact_m[2], flown.contact.position[2, i], NEAR_M),
        ("contact time", told.contact_s, flown.contact.time[i], NEAR_S),
        ("contact speed", told.contact_speed_mps, float(np.linalg.norm(flown.contact.velocity[:, i])), NEAR_MPS),
        ("number of bounces", told.bounces, flown.bounces[i], 0),
        ("greatest height", told.peak_m, flown.peak[i], NEAR_M),
    ]  # fmt: skip
    for what, said, found, near in pairs:
        if said is None and np.isnan(found):
            continue
        if said is None or not abs(said - float(found)) <= near:
            yield f"the plan gives its {what} as {said}, but the flight gives {float(found):.3f}"
    rise = float(flown.contact.velocity[2, i])
    if isfinite(rise) and told.contact_phase not in _phases(told, rise):
        yield f"the plan says that its contact is {told.contact_phase}, but the flight says that it is not"


def _phases(told: Predicted, rise: float) -> set[str]:
    """The phases that a contact may have, by its speed upwards."""
    if told.landing_m is None:
        return {"on the full"}
    ways = {way for way, speed in (("rising", rise), ("falling", -rise)) if speed > -NEAR_MPS}
    return ways | {"top"} if abs(rise) < TOP_MPS + NEAR_MPS else ways


def _unsafe(shot: Shot, plan: Plan, flown: Outcome, i: int) -> Iterator[str]:
    court, radius = plan.court, plan.ball.diameter_m / 2
    clearance, x = float(flown.clearance[i]), float(flown.net_x[i])
    if not np.isnan(clearance) and not (clearance >= 0 and abs(x) <= court.post_x_m):
        yield "it does not clear the net between the posts"
    if court.ceiling_m is not None and not float(flown.peak[i]) + radius <= court.ceiling_m + NEAR_M:
        yield "it strikes the ceiling"
    if shot.predicted.bounces > 1 and not plan.player_of(shot).two_bounces:
        yield "it bounces twice, and its player takes it after one bounce"
    if shot.predicted.landing_m is not None:
        across, along = (float(flown.landing.position[k, i]) for k in (0, 1))
        if not (abs(across) <= court.half_width_m + radius and 0 < along <= court.half_length_m + radius):
            yield "it lands outside the lines"
        zone = shot.zone_m
        if zone is None or not (
            zone[0] - BESIDE_M <= across <= zone[1] + BESIDE_M and zone[2] - BESIDE_M <= along <= zone[3] + BESIDE_M
        ):
            yield "it lands outside its zone"
    elif shot.zone_m is not None:
        yield "it has a zone to land in, but it does not bounce"
    met, place = shot.predicted.contact_m, shot.place_m
    full = shot.predicted.landing_m is None
    if full is (place is None):
        yield f"it is met {'on the full' if full else 'after a bounce'}, and has {'no' if full else 'a'} place for that"
    elif place and not (
        place[0] - BESIDE_M <= met[0] <= place[1] + BESIDE_M and place[2] - BESIDE_M <= met[2] <= place[3] + BESIDE_M
    ):
        yield "it is not met in its place"
    if not (flown.met[i] and shot.stance_y_m > 0):
        yield "it does not reach the stance"


def _beyond(shot: Shot, plan: Plan, flown: Outcome, i: int) -> Iterator[str]:
    """Does the ball keep what the script allows? Its scatter is not flown again."""
    launch, gone = shot.launch, _way(shot, plan.player_of(shot), *(float(at[i]) for at in flown.contact.position[:2]))
    if shot.way_m is not None and not abs(shot.way_m - gone) <= 2 * NEAR_M:
        yield f"the plan gives its way as {shot.way_m}, but it is {gone:.3f}"
    given = {
        "height over net": (float(flown.clearance[i]), NEAR_M),
        "height at the top": (float(flown.peak[i]), NEAR_M),
        "height at the player": (float(flown.contact.position[2, i]), NEAR_M),
        "pace": (launch.speed_mps, SAME),
        "time to contact": (float(flown.contact.time[i]), NEAR_S),
        "spin": (hypot(launch.topspin_rpm, launch.sidespin_rpm), SAME),
        "way": (gone, 2 * NEAR_M),
    }
    for limit in shot.limits:
        value, near = given[limit.of]
        low, high = (-inf if limit.least is None else limit.least), (inf if limit.most is None else limit.most)
        near += ABOUT * {"m/s": 1.0, "rpm": 1 / RPM}.get(limit.unit, 1.0)
        if value < low - near or value > high + near:
            yield f"it does not keep {' and '.join(f'`{words}`' for words in limit.words)}"


def _way(shot: Shot, player: PlayerRecord, x: float, y: float) -> float:
    """From where the player waits to where the ball is in reach, m; none where no line asks."""
    if shot.waits_m is None:
        return 0.0
    to_backhand = (x - shot.waits_m[0]) * (1 if player.hand == "right" else -1)
    asked = player.stroke(shot.words.get("stroke"), None, (x, y, 0.0))
    backhand = asked == "backhand" if asked else to_backhand > 0
    reach = player.reach_m - TWO_HANDS_M if backhand and player.two_hands else player.reach_m
    far = to_backhand if backhand else -to_backhand
    return hypot(max(far - reach, EITHER_M - far if asked else 0.0, 0.0), y - shot.waits_m[1])


def _counts(plan: Plan) -> Iterator[str]:
    """Are the totals right, and does each part end where it has to, at a collect or a long rest after a ball?"""
    part, fed, stands = 0, False, plan.place_of(plan.launches[0].block)
    of = {shot.id: shot.fed_from for shot in plan.shots}
    for block in plan.blocks:
        if block.kind == "balls" and (there := of[block.shots[0]]) != stands:
            stands = there
            if fed and plan.feeder.kind == "machine":
                part, fed = part + 1, False
        if block.part != part:
            yield f"The plan puts block {block.index + 1} in part {block.part}, but it is in part {part}."
            break
        fed |= block.kind == "balls"
        if fed and (block.kind == "collect" or (block.kind == "rest" and block.duration_s > PART_REST_S)):
            part, fed = part + 1, False
    first: dict[object, str] = {}
    same = {shot.id: first.setdefault((shot.launch, shot.stance_y_m, shot.player), shot.id) for shot in plan.shots}
    drawn = [same[ball.first] for ball in plan.launches]
    rungs = {same[rung] for block in plan.blocks if block.ladder for rung in block.ladder.shots}
    changes = sum(one != two for one, two in pairwise(drawn))
    for what, said, found in (
        ("balls", plan.totals.balls, len(drawn)),
        ("parts", plan.totals.parts, len(plan.parts)),
        ("points", plan.totals.points, sum(len(block.points) for block in plan.blocks)),
        ("distinct shots", plan.totals.distinct_shots, len({*drawn, *rungs})),
        ("variety", plan.totals.variety, round(changes / (len(drawn) - 1), 3) if len(drawn) > 1 else 0.0),
    ):
        if said != found:
            yield f"The plan gives its total of {what} as {said}, but it is {found}."

    for load in plan.totals.loads:
        ends = [min(two.at_s, plan.blocks[one.block].end_s) for one, two in pairwise(plan.launches)]
        ends.append(plan.blocks[plan.launches[-1].block].end_s)
        whose = {shot.id: shot.player for shot in plan.shots}
        spent = [
            end - ball.at_s for ball, end in zip(plan.launches, ends, strict=True) if whose[ball.first] == load.player
        ]
        if load.balls != len(spent) or not abs(load.duration_s - sum(spent)) <= 1e-3 * (1 + len(spent)):
            yield f"The plan gives {load.player} {load.balls} balls in {load.duration_s:g} s, but that is not so."


def _rhythm(plan: Plan, feeder: Feeder) -> Iterator[str]:
    """Does each ball leave in its block, and has the feeder the time that it needs after the ball before?"""
    yield from islice(clock_faults(plan), 1)
    for number, (one, two) in enumerate(pairwise(plan.launches), start=2):
        ladder = plan.blocks[two.block].ladder if one.block == two.block else None
        apart = (
            two.at_s - one.at_s - max((ladder.early_s(i, i) for i in range(len(ladder.rungs))) if ladder else (0.0,))
        )
        if not apart >= feeder.least_interval_s - 1e-3:
            needed = f"{feeder.least_interval_s:g} s"
            yield f"Ball {number} comes {apart:.2f} s after the one before; the feeder needs {needed}."
            return


def _changes(plan: Plan, feeder: Feeder) -> Iterator[str]:
    """Can each setting become the next ball's in time, on whatever rung a ladder is and whenever a point begins again?
    A person sets nothing."""
    if feeder.kind == "person":
        return
    shots = {shot.id: shot.settings for shot in plan.shots}
    least: dict[tuple[tuple[str, ...], tuple[str, ...], bool, int | None], float] = {}
    for one, two in pairwise(plan.launches):
        climbs = one.block if one.block == two.block and plan.blocks[one.block].ladder else None
        follow = one.any_of or (one.first,), two.any_of or (two.first,), one.block == two.block, climbs
        least[follow] = min(least.get(follow, inf), two.at_s - one.at_s)
    for (before, after, same_block, climbs), room in least.items():
        ladder = plan.blocks[climbs].ladder if climbs is not None else None
        for (i, a), (j, b) in product(enumerate(before), enumerate(after)):
            if ladder and abs(j - i) > 1:
                continue  # a ladder goes one rung up or down
            left = room - ladder.early_s(i, j) if ladder else room
            if (why := _too_late(feeder, shots[a], shots[b], same_block, left)) is not None:
                yield f"Ball {b} follows {a}: {why}."
                return


def _too_late(
    feeder: Feeder, before: Mapping[str, float], after: Mapping[str, float], same_block: bool, room: float
) -> str | None:
    taken = feeder.change_s(before, after)
    spent = feeder.feed_delay_s + feeder.settle_s + feeder.feed_jitter_s
    for name, axis in feeder.axes().items():
        if abs(after[name] - before[name]) <= STEP:
            continue
        if axis.changes == "never":
            return f"its {name} differs, and the profile never changes it"
        if axis.changes == "between blocks" and (same_block or not room >= feeder.by_hand_s - 1e-3):
            return f"its {name} differs, and the profile sets it by hand between blocks, in {feeder.by_hand_s:g} s"
        if name in taken and not taken[name] + spent <= room + 1e-3:
            return f"its {name} needs {taken[name] + spent:.2f} s to change, and there are {room:.2f} s"
    return None
