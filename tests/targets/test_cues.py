"""The cue track, to the sample, and read back with the standard library's reader."""

import io
import itertools
import math
import wave
from array import array

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs import cues

from .plans import make_plan


def read(plan: Plan) -> "array[int]":
    with wave.open(io.BytesIO(cues.render(plan))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, cues.RATE)
        return array("h", file.readframes(file.getnframes()))


# The balls of `make_plan`, as its first line says them: 4 s apart (after a kicker 4.5 s), the mix from 36 s on, what
# comes after the collect from 122 s on.
LAUNCHED_S = (
    0, 4, 8, 12, 36, 40, 44.5, 48.5, 52.5, 57.0005, 122, 126, 130, 134, 138.5, 143, 147, 151, 155, 159.5,
)  # fmt: skip


def pitch(track: "array[int]", first: int, seconds: float) -> float:
    """Frequency from the zero crossings of a tone: two a period, less one at the ends."""
    part = track[first : first + round(cues.RATE * seconds)]
    crossings = sum((a < 0) != (b < 0) for a, b in itertools.pairwise(part))
    return crossings / 2 / seconds


@pytest.mark.parametrize("machine", [False, True])
def test_each_tone_starts_at_its_sample(machine: bool) -> None:
    track = read(make_plan(machine))
    for time in LAUNCHED_S:
        first = round((cues.LEAD_S + time) * cues.RATE)
        assert track[first - 1] == 0 and track[first] != 0
        # Counting crossings is right to one in the 0.25 s of the tone: 1 / 2 / 0.25 s = 2 Hz.
        assert pitch(track, first, 0.25) == pytest.approx(1320, abs=4)


def test_three_beeps_go_before_where_there_is_room() -> None:
    track = read(make_plan(machine=False))
    for time in LAUNCHED_S:
        for before in (1.5, 1.0, 0.5):
            first = round((cues.LEAD_S + time - before) * cues.RATE)
            assert track[first - 1] == 0 and track[first] != 0
            assert pitch(track, first, 0.08) == pytest.approx(880, abs=13)  # one crossing in 0.08 s is 6.3 Hz


def test_no_beeps_where_balls_follow_fast_and_nothing_sounds_at_once() -> None:
    plan = make_plan(machine=True)
    fast = tuple(ball.model_copy(update={"at_s": 1.2 * n, "block": 0}) for n, ball in enumerate(plan.launches[:4]))
    hurried = plan.model_copy(update={"launches": fast})
    made = cues.sounds(hurried)
    assert sum(sound == cues.BEEP for _, sound in made) == 3  # before the first ball only
    ends = [first + len(cues.samples(sound)) for first, sound in made]
    assert all(end <= first for end, (first, _) in zip(ends, made[1:], strict=False))


def test_changes_have_their_own_patterns() -> None:
    """The rest at 16 s and the collect at 62 s fall, each change to balls rises, the end at 164 s falls twice."""
    made = {first: sound for first, sound in cues.sounds(make_plan(machine=False))}

    def at(second: float) -> int:
        return round((cues.LEAD_S + second) * cues.RATE)

    assert [first for first, sound in made.items() if sound == cues.PAUSE] == [at(16), at(62)]
    assert [first for first, sound in made.items() if sound == cues.DONE] == [at(164)]
    # 0.56 s long, and over 0.2 s before the first beep, which comes 1.5 s before the ball.
    rising = [first for first, sound in made.items() if sound == cues.NEXT]
    assert rising == [at(second - 1.5 - 0.2 - 0.56) for second in (0, 36, 122, 134, 143, 155)]
    for sound, up in ((cues.NEXT, True), (cues.PAUSE, False)):
        tones = [hz for hz, _ in sound if hz]
        assert tones == sorted(tones, reverse=not up)


def test_never_louder_than_it_can_be_and_no_clicks() -> None:
    track = read(make_plan(machine=False))
    assert max(track) <= 32767 * cues.PEAK and min(track) >= -32767 * cues.PEAK
    # The steepest a 1320 Hz sine of that size can be between two samples.
    steepest = 32767 * cues.PEAK * 2 * math.sin(math.pi * 1320 / cues.RATE)
    assert max(abs(a - b) for a, b in itertools.pairwise(track)) <= steepest + 2  # rounding


def test_same_plan_same_bytes() -> None:
    assert cues.render(make_plan(machine=True)) == cues.render(make_plan(machine=True))
