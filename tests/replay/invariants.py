"""The promises I1 to I13, judged by the device's log, the record on the disk and the presses of Stop."""

from collections import Counter
from itertools import pairwise

from feedwright.targets.replay.flow import Phase
from feedwright.targets.replay.mechanism import Fact

from .world import FP, SETTINGS, World

EPSILON = 0.002
"""s; the least that the virtual clock of a device with 200 ppm can differ over one age of 0.5 s is 0.1 ms."""


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
        elif fact.what == "drop":
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
                found.append(f"I5: ball {number} in the warning time")
            if abs(float(str(ms)) - ball.at) > 30:  # type: ignore[attr-defined]
                found.append(f"I7: ball {number} {float(str(ms)) - ball.at:.0f} ms off")  # type: ignore[attr-defined]
            if settings[0] > limits.cap or (armed and number > int(str(armed.about[3]))):
                found.append(f"I8: ball {number} over cap or count")
            claims = (world.device.faults.other_id or limits.id, world.device.faults.other_fit or limits.fit)
            if claims != (identity.id, identity.fit):
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
    if world.device.state == "live" or (world.host and world.host.phase is not Phase.ENDED):
        found.append(f"I12: no rest: {world.device.state}, {world.host and world.host.phase}")
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
    # A machine that tells of a launch nobody asked for is believed, and the ball counts as thrown.
    alone = any(host.state.alone for host in world.reports)
    for ball, fate in world.disk.fates().items():
        if fate == "gone" and ball not in numbers and not alone:
            found.append(f"I9: ball {ball} told as gone")
        if ball in numbers and fate not in ("gone", "unknown", None):
            found.append(f"I9: ball {ball} was thrown, told as {fate}")
    return found
