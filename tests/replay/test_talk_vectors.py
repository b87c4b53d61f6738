"""The conversation of vectors.txt, written from PROTOCOL.md: the simulated machine answers word for word."""

from itertools import groupby
from random import Random

from feedwright.targets.machine.replay.device import SimulatedDevice
from feedwright.targets.machine.wire.frames import decode

from .test_wire import VECTORS, profile

TALK = [(kind.split()[1], int(ms), text) for kind, ms, text in VECTORS if kind.startswith("talk")]
FRAMES = [(who, ms, decode("@" if who == "host" else ":", text.encode())) for who, ms, text in TALK if text != "stop"]


class Drawn(Random):
    """Draws what the conversation says that was drawn: the session's word, each k, the question."""

    def __init__(self) -> None:
        super().__init__(0)
        said = [frame for who, _, frame in FRAMES if who == "device" and frame]
        words = [frame.values["k"] for frame in said if "k" in frame.values]
        self._words, (self._code,) = iter([said[0].session, *words]), (f.values["c"] for f in said if "c" in f.values)

    def getrandbits(self, bits: int, /) -> int:
        assert bits == 32
        return int(next(self._words), 16)

    def choices(self, population: object, *_: object, k: int = 1, **__: object) -> list[str]:  # type: ignore[override]
        return list(self._code)


def test_each_line_is_a_frame_and_times_never_run_backwards() -> None:
    assert all(frame is not None for _, _, frame in FRAMES)
    assert [ms for _, ms, _ in TALK] == sorted(ms for _, ms, _ in TALK)


def test_the_device_answers_the_conversation_word_for_word() -> None:
    limits = profile("club").limits
    assert limits
    device = SimulatedDevice(limits, Drawn())
    for ms, lines in groupby(TALK, key=lambda row: row[1]):
        spoken = list(lines)
        now = (ms + 1e-6) / 1000  # just after the ms has begun, so that no rounding puts it into the one before
        for who, _, text in spoken:
            if who == "host":
                device.receive(now, b"\x07" if text == "stop" else text.encode() + b"\n")
        device.advance(now)
        assert device.send().decode().splitlines() == [text for who, _, text in spoken if who == "device"], ms
    assert [fact.about[2].number for fact in device.log if fact.what == "throw"] == [1]  # type: ignore[attr-defined]
