"""A device on the bench: lines in by hand, answers out, at times of the test's choosing."""

from random import Random

from feedwright.compiler.model.device import Limits
from feedwright.targets.machine.replay.device import SimulatedDevice
from feedwright.targets.machine.replay.mechanism import Faults
from feedwright.targets.machine.wire.frames import Frame, decode, encode

LIMITS = Limits(
    "bench-1", cap=30000, gap=500,
    ranges={"s": (8000, 31000), "e": (0, 45000), "a": (-12000, 12000), "t": (-12000, 18000), "k": (0, 0)},
)  # fmt: skip
STEADY = {"s": 20000, "e": 12000, "a": 1500, "t": 9000, "k": 0}
FP, RUN = "00112233445566aa", "0f0e0d0c0b0a0908"


class Bench:
    """Times are ms on the device's clock, which starts with the test."""

    def __init__(self, device: type[SimulatedDevice] = SimulatedDevice, **faults: object) -> None:
        self.device = device(LIMITS, Random(7), Faults(**faults))  # type: ignore[arg-type]
        self.ms = 0.0
        self.session, self.number, self.word = "00000000", 1, "00000000"
        self.heard: list[Frame] = []

    @property
    def now(self) -> float:
        return self.ms / 1000

    def wait(self, ms: float, ticks: bool = True) -> None:
        """Let time pass, a tick each 100 ms or none at all."""
        end = self.ms + ms
        while self.ms < end:
            self.ms = min(self.ms + (100 if ticks else 10), end)
            self.device.advance(self.now)
            self.listen()
            if ticks:
                self.tick()

    def tick(self, word: str | None = None) -> None:
        self.raw(encode("@", self.session, 0, "tick", {"k": word or self.word, "q": 1, "saw": 0}))

    def listen(self) -> list[Frame]:
        frames = []
        for line in self.device.send().split(b"\n")[:-1]:
            frame = decode(":", line)
            assert frame is not None, line
            frames.append(frame)
            self.word = frame.values.get("k", self.word)
        self.heard += frames
        return frames

    def raw(self, data: bytes) -> list[Frame]:
        self.device.receive(self.now, data)
        return self.listen()

    def line(self, verb: str, number: int | None = None, session: str | None = None, **values: object) -> bytes:
        at = {key.replace("_", "-"): value for key, value in values.items()}
        return encode("@", session or self.session, self.number if number is None else number, verb, at)

    def say(self, verb: str, **values: object) -> Frame:
        """A numbered line, its answer, and the next number."""
        answers = [f for f in self.raw(self.line(verb, **values)) if f.number == self.number]
        self.number += 1
        return answers[-1]

    def why(self, verb: str, **values: object) -> str:
        """The refusal a line meets; "ok" where there is none."""
        answer = self.say(verb, **values)
        return answer.values.get("why", answer.word)

    # ---- the usual way, step by step

    def hello(self, nonce: str = "abcdef01", number: int = 1, version: int = 1) -> Frame:
        (answer, *_) = self.raw(encode("@", "00000000", number, "hello", {"n": nonce, "v": version}))
        if answer.word == "hi":
            self.session, self.number = answer.session, 2
        return answer

    def prove(self) -> None:
        assert [f.word for f in self.raw(b"\x07")] == ["stopped"]
        assert self.why("clear") == "ok"

    def arm(self, first: int = 1, last: int = 3, warning: int = 3000, run: str = RUN) -> int:
        """Armed and live; gives the first moment at which a ball may go."""
        self.tick()
        question = self.say("arm", fp=FP, run=run, **{"from": first, "of": last}).values["c"]
        self.wait(500)
        return int(self.say("yes", c=question, w=warning).values["not-before"])

    def up_to_arm(self) -> None:
        self.hello()
        self.prove()

    def armed(self, **how: object) -> int:
        self.up_to_arm()
        not_before = self.arm(**how)  # type: ignore[arg-type]
        self.wait(not_before - self.ms - 300)
        return not_before

    def ready(self, ball: int, **changes: int) -> str:
        return self.why("ready", b=ball, **(STEADY | changes))

    def go(self, ball: int, at: int, **changes: int) -> str:
        return self.why("go", b=ball, at=at, **(STEADY | changes))

    def fly(self, ball: int, at: int) -> str:
        assert self.ready(ball) == "ok"
        return self.go(ball, at)

    @property
    def thrown(self) -> list[int]:
        return [fact.about[2].number for fact in self.device.log if fact.what == "throw"]  # type: ignore[attr-defined]

    @property
    def state(self) -> str:
        return self.device.state
