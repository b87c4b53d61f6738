"""The promises I1 to I16, judged by the device's log, the record on the disk and the presses of Stop."""

from collections import Counter
from itertools import pairwise

from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.mechanism import Fact
from feedwright.targets.machine.replay.words import PLAYED

from .world import FP, SETTINGS, World

EPSILON = 0.002
"""s; the least that the simulated clock of a device with 200 ppm can differ over one age of 0.5 s is 0.1 ms."""


def broken(world: World) -> list[str]:
    """What was broken, each as "In: what"; empty where all promises hold."""
    found: list[str] = []
    log, places = world.device.log, {place.number: place for place in world.places}
    limits, identity = world.device.limits, world.identity
    seen: Counter[tuple[str, int]] = Counter()
    state, armed, session = "asleep", None, ""
    stopped_since_armed = True
    issued: dict[str, float] = {}
    heard: list[float] = []
    proven = False
    waiting: int | None = None
    thrown: list[Fact] = []
    for fact in log:
        if fact.what == "issued":
            word, k = fact.about
            if word != session:
                session, proven, heard, issued = str(word), False, [], {}
            issued[str(k)] = fact.now
        elif fact.what == "tick" and fact.about[0] == session and fact.about[1] in issued:
            heard.append(issued[str(fact.about[1])])
        elif fact.what == "stop":
            stopped_since_armed, proven = True, proven or fact.about[0] != "key"
        elif fact.what == "state":
            state = str(fact.about[1])
        elif fact.what == "armed":
            armed, stopped_since_armed = fact, False
        elif fact.what == "agreed":
            if waiting is not None:
                found.append(f"I10: ball {fact.about[0]} agreed while {waiting} waits")
            waiting = int(str(fact.about[0]))
        elif fact.what in ("drop", "alone"):
            waiting = None
        elif fact.what == "throw":
            waiting = None
            thrown.append(fact)
            run, fp, ball, ms, _ = fact.about
            place = places.get(ball.number)  # type: ignore[attr-defined]
            number, settings = ball.number, ball.settings  # type: ignore[attr-defined]
            seen[str(run), number] += 1
            if place is None or settings not in [SETTINGS[shot] for shot in place.shots] or fp != FP:
                found.append(f"I1: ball {number} is no checked shot of its place")
            if seen[str(run), number] > 1:
                found.append(f"I2: ball {number} thrown again")
            if stopped_since_armed:
                found.append(f"I3: ball {number} after stop")
            if not heard or fact.now - max(heard) > 0.5 + EPSILON:
                found.append(f"I4: ball {number} with an old word")
            if state != "live" or not proven or armed is None:
                found.append(f"I5: ball {number} in {state}, stop proven: {proven}")
            elif fact.now < armed.now + max(3.0, int(str(armed.about[4])) / 1000) * (1 - 3e-4):
                found.append(f"I5: ball {number} in the walk time")
            if abs(float(str(ms)) - ball.at) > 30:  # type: ignore[attr-defined]
                found.append(f"I7: ball {number} {float(str(ms)) - ball.at:.0f} ms off")  # type: ignore[attr-defined]
            if settings[0] > limits.cap or (armed and number > int(str(armed.about[3]))):
                found.append(f"I8: ball {number} over cap or count")
            claims = (world.device.faults.other_id or limits.id, world.device.faults.other_limits or limits.checksum)
            if claims != (identity.id, identity.limits):
                found.append(f"I8: ball {number} from a machine that is another")
    for one, two in pairwise(thrown):
        if one.about[0] == two.about[0] and one.about[2].number >= two.about[2].number:  # type: ignore[attr-defined]
            found.append("I6: not in rising order")
        if two.now - one.now < limits.gap / 1000 * (1 - 3e-4) - EPSILON:
            found.append(f"I6: {two.now - one.now:.3f} s apart")
    for press in world.presses:
        again = min((f.now for f in log if f.what == "armed" and f.now > press), default=float("inf"))
        if any(press + 0.5 + EPSILON < f.now < again for f in thrown):
            found.append("I3b: thrown later than 0.5 s after Stop was pressed")
    found += _reports(world, thrown)
    found += _of_the_machine(world, thrown)
    if world.device.state == "live" or (world.host and world.host.phase is not RunPhase.ENDED):
        found.append(f"I12: no rest: {world.device.state}, {world.host and world.host.phase}")
    return found


def _of_the_machine(world: World, thrown: list[Fact]) -> list[str]:
    """What is kept although the machine itself does not do what it says."""
    found = []
    faults = world.device.faults
    if thrown and (abs(faults.speed - 1) > 0.02 or faults.walk_time != 1.0 or faults.not_before is not None):
        found.append("I14: thrown by a machine whose clock or walk time is not what was agreed")
    # The last one: the line may have lost what was told of those before.
    last_alone = max((fact.now for fact in world.device.log if fact.what == "alone"), default=None)
    host = world.host
    if last_alone is not None and host is not None and host.state.alone:  # it was told: a line may lose that
        if any(fact.now > last_alone + 0.5 for fact in thrown):
            found.append("I15: thrown on after a launch that nobody asked for")
        if (
            host.ending is not None
            and host.ending.code != 4
            and world.ended is not None
            and world.ended > last_alone + 0.3
        ):
            found.append(f"I15: a launch that nobody asked for ends with {host.ending.code}")
    if host is not None and host.ending is not None and host.ending.why == PLAYED and thrown and world.ended:
        last = thrown[-1].about[2].number  # type: ignore[attr-defined]
        marked = any(what == "mark" and ball == last for _, what, ball, _ in world.disk.entries)
        if host.counts["gone"] and not marked and world.ended < thrown[-1].now + 5.0:
            found.append("I16: no time to judge the last ball")
    return found


def _reports(world: World, thrown: list[Fact]) -> list[str]:
    found = []
    sent = {ball: at for at, what, ball, _ in world.disk.entries if what == "sent"}
    if len(sent) != sum(what == "sent" for _, what, _, _ in world.disk.entries):
        found.append("I2: a ball was sent twice by the record")
    numbers = {fact.about[2].number: fact.now for fact in thrown}  # type: ignore[attr-defined]
    for ball, now in numbers.items():
        if ball not in sent or sent[ball] > now:
            found.append(f"I9: ball {ball} thrown and not in the record before")
    # What the machine threw, or told of, without being asked counts as thrown too.
    alone = {fact.about[0] for fact in world.device.log if fact.what == "alone"}
    for ball, fate in world.disk.fates().items():
        if fate == "gone" and ball not in numbers and ball not in alone:
            found.append(f"I9: ball {ball} told as gone")
        if ball in numbers and fate not in ("gone", "unknown", None):
            found.append(f"I9: ball {ball} was thrown, told as {fate}")
    return found
