"""Random courses of things: what may go wrong, drawn from one seed."""

from collections import Counter
from collections.abc import Callable
from random import Random
from typing import Any

from feedwright.targets.machine.replay.line import KINDS, LineFaults
from feedwright.targets.machine.replay.mechanism import Faults
from feedwright.targets.machine.replay.run import Identity
from feedwright.targets.machine.wire.frames import encode

from .world import FP, LIMITS, SETTINGS, Watched, World

SHOCKS = (
    "stop", "pause", "skip", "marks", "kill", "freeze short", "freeze long", "unplug", "reset", "key", "jam",
    "noise byte", "second host", "stranger", "disk full", "file changed", "mute",
)  # fmt: skip


def scene(seed: int, device: type[Watched] = Watched, counts: Counter[str] | None = None, **how: object) -> World:
    """A world with its shocks planned, not yet played."""
    random = Random(seed * 7919 + 17)
    counts = counts if counts is not None else Counter()
    rates = {kind: random.choice((0.02, 0.05, 0.15)) for kind in KINDS if random.random() < 0.2}
    if "noise" in rates:
        rates["noise"] = min(rates["noise"], 0.02)  # one byte in 256 is a stop
    machine = Faults(
        mute=random.random() < 0.01,
        jam_at=random.randint(1, 3) if random.random() < 0.04 else None,
        hopper=random.randint(0, 3) if random.random() < 0.05 else None,
        wheels_ms=random.choice((200.0, 3000.0)) if random.random() < 0.06 else 0.0,
        forget=random.random() < 0.2,
        other_id="bench-2" if random.random() < 0.01 else None,
        other_limits="00000000" if random.random() < 0.01 else None,
        invents=random.random() < 0.01,
        **_of_its_own(Random(seed * 104729 + 5)),
    )
    identity = Identity(LIMITS.id, LIMITS.cap, LIMITS.gap, LIMITS.checksum)
    world = World(
        seed, balls=random.randint(2, 6), faults=LineFaults(**rates, takes_s=random.choice((0.0005, 0.002, 0.02))),
        device=device, machine=machine, drift_ppm=random.uniform(-200, 200), careful=random.random() < 0.6,
        boots_s=random.choice((0.0, 0.3)), identity=identity,
        disk_takes_s=random.choice((*[0.0] * 6, 0.01, 0.2, 0.6)), **how,  # type: ignore[arg-type]
    )  # fmt: skip
    for name, value in (("mute", machine.mute), ("other id", machine.other_id), ("other limits", machine.other_limits),
                        ("hopper", machine.hopper is not None), ("wheels", machine.wheels_ms),
                        ("jam at a launch", machine.jam_at), ("invents", machine.invents),
                        ("forget", machine.forget), ("throws again", machine.throws_again),
                        ("throws after stop", machine.after_stop), ("throws early", machine.early_ms),
                        ("other walk time", machine.walk_time != 1.0), ("other not-before", machine.not_before),
                        ("other speed", machine.speed != 1.0), ("slow disk", world.disk_takes_s)):  # fmt: skip
        counts[f"machine: {name}"] += bool(value)
    for _ in range(random.choice((0, 1, 1, 1, 2, 3))):
        shock = random.choice((*SHOCKS, *["stranger"] * 5))
        # Most of what is worth disturbing happens while it is armed.
        when = random.uniform(0.0, 4.0) if random.random() < 0.25 else random.uniform(4.0, 10.0)
        world.at(when, _shock(world, shock, random))
        counts[f"shock: {shock}"] += 1
    return world


def _of_its_own(random: Random) -> dict[str, Any]:
    """Now and then a machine that does not do what it says."""
    if random.random() > 0.06:
        return {}
    return random.choice((
        {"throws_again": True}, {"after_stop": True}, {"early_ms": random.choice((300.0, 1500.0))},
        {"walk_time": random.choice((0.0, 0.1, 0.7, 3.0))}, {"not_before": 999_999_999},
        {"speed": random.choice((0.5, 0.9, 1.1, 2.0))},
    ))  # fmt: skip


def _shock(world: World, shock: str, random: Random) -> Callable[[], None]:
    again = random.choice((None, 0.05, 0.8, 3.0))

    def act() -> None:
        now, host, device = world.now, world.host, world.device
        match shock:
            case "stop":
                world.press_stop()
            case "pause" | "skip" if host:
                getattr(host, shock)(now)
            case "marks" if host:
                host.mark(now, random.random() < 0.6)
                for later in (0.5, 1.0, 1.5):
                    world.at(now + later, lambda: world.host and world.host.mark(world.now, random.random() < 0.6))
            case "kill":
                world.kill(again)
            case "freeze short":
                world.freeze(random.uniform(0.05, 0.6))
            case "freeze long":
                world.freeze(random.uniform(1.5, 4.0))
            case "unplug":
                world.unplug(again)
            case "reset":
                device.reset(now)
            case "key":
                device.stop(now, "key")
            case "jam":
                device.jam(now)
                world.at(now + 1.0, device.clear_jam)
                for later in (0.5, 1.5):  # somebody asks it to go on, before and after
                    world.at(now + later, lambda: device.receive(world.now, stranger(world, random)))
            case "noise byte":
                device.receive(now, random.randbytes(random.randint(1, 40)))
            case "second host":
                device.receive(
                    now, encode("@", "00000000", 1, "hello", {"n": "feedbeef", "v": random.choice((1, 1, 2))})
                )
            case "stranger":
                device.receive(now, stranger(world, random))
            case "disk full":
                world.disk.full_after = len(world.disk.entries)
            case "file changed":
                world.unchanged = False
            case "mute":
                device.faults.mute = True

    return act


def stranger(world: World, random: Random) -> bytes:
    """A whole line of the device's own session with one thing wrong in it, as a host with a fault might send."""
    device = world.device
    session = device._session
    if session is None:
        return encode("@", "12345678", random.randint(2, 9), "clear")
    ms, ball = int(device.clock(world.now)), device._expected
    s, e, a, t, k = SETTINGS["steady"]
    good: dict[str, object] = {"b": ball, "at": ms + 700, "s": s, "e": e + 1, "a": a, "t": t, "k": k}
    last = device._arm.last if device._arm else 0
    kind = random.choice((
        "verb", "words", "cap", "range", "over", "ball", "late", "early", "walk-time", "gap", "not-ready", "busy",
        "arm", "yes", "number", "old-session", "fate", "clear", "hold", "done",
    ))  # fmt: skip
    # Where a rule is seldom met by chance, it is looked for.
    if random.random() < 0.7:
        if device.state == "faulted":
            kind = "clear"
        elif device._pending:
            kind = "busy"
        elif device.state == "live" and device._launched:
            kind = "gap"
        elif (device.state == "connected" and not session.proven) or (
            device.state in ("connected", "held") and device._memory[0]
        ):
            kind = "done"
    arm: dict[str, object] = {"fp": FP, "run": "0f0e0d0c0b0a0908", "from": 1, "of": 1}
    verb, values = {
        "verb": ("fly", {}), "words": ("go", {"b": ball}), "cap": ("ready", good | {"s": 30001}),
        "range": ("ready", good | {"e": -1}), "over": ("go", good | {"b": last + 1}),
        "ball": ("go", good | {"b": ball - 1}),
        "late": ("go", good | {"at": ms}), "early": ("go", good | {"at": ms + 9000}),
        "walk-time": ("go", good | {"at": int(device._not_before) - 1}),
        "gap": ("go", good | {"at": int(device._launched + LIMITS.gap) - 5}), "not-ready": ("go", good),
        "busy": ("go", good),
        "arm": ("arm", arm | {"from": 3}), "done": ("arm", arm), "yes": ("yes", {"c": "aaaa", "w": 3000}),
        "fate": ("fate", {"b": 1}), "clear": ("clear", {}), "hold": ("hold", {}), "number": ("fate", {"b": 1}),
        "old-session": ("fate", {"b": 1}),
    }[kind]  # fmt: skip
    if verb == "ready":
        values = {key: value for key, value in values.items() if key != "at"}  # type: ignore[attr-defined]
    word = "12345678" if kind == "old-session" else session.word
    return encode("@", word, session.next + (2 if kind == "number" else 0), verb, values)  # type: ignore[arg-type]
