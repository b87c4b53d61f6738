"""The cue track, to the sample, and read back with the standard library's reader."""

import io
import itertools
import math
import wave
from array import array

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets import cues

from .plans import make_plan


def read(plan: Plan) -> "array[int]":
    with wave.open(io.BytesIO(cues.render(plan))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, cues.RATE)
        return array("h", file.readframes(file.getnframes()))


def session_times(plan: Plan) -> list[float]:
    """Second of the session of each ball: where its block's stretch starts, and the ball's own time in it."""
    first: dict[int, float] = {}
    for block in plan.blocks:
        if block.kind == "balls":
            first.setdefault(block.stretch, block.start_s)
    return [first[plan.blocks[ball.block].stretch] + ball.at_s for ball in plan.launches]


def pitch(track: "array[int]", first: int, seconds: float) -> float:
    """Frequency from the zero crossings of a tone: two a period, less one at the ends."""
    part = track[first : first + round(cues.RATE * seconds)]
    crossings = sum((a < 0) != (b < 0) for a, b in itertools.pairwise(part))
    return crossings / 2 / seconds


@pytest.mark.parametrize("machine", [False, True])
def test_each_tone_starts_at_its_sample(machine: bool) -> None:
    plan = make_plan(machine)
    track = read(plan)
    times = session_times(plan)
    assert len(times) == 20
    for time in times:
        first = round((cues.LEAD_S + time) * cues.RATE)
        assert track[first - 1] == 0 and track[first] != 0
        # Counting crossings is right to one in the 0.25 s of the tone: 1 / 2 / 0.25 s = 2 Hz.
        assert pitch(track, first, 0.25) == pytest.approx(1320, abs=4)


def test_three_beeps_go_before_where_there_is_room() -> None:
    plan = make_plan(machine=False)
    track = read(plan)
    for time in session_times(plan):
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
    plan = make_plan(machine=False)
    made = {first: sound for first, sound in cues.sounds(plan)}
    for block in plan.blocks:
        first = round((cues.LEAD_S + block.start_s) * cues.RATE)
        if block.kind != "balls":
            assert made[first] == cues.PAUSE
    rising = [[hz for hz, _ in sound if hz] for sound in made.values() if sound == cues.NEXT]
    assert rising and all(tones == sorted(tones) for tones in rising)


def test_never_louder_than_it_can_be_and_no_clicks() -> None:
    track = read(make_plan(machine=False))
    assert max(track) <= 32767 * cues.PEAK and min(track) >= -32767 * cues.PEAK
    # The steepest a 1320 Hz sine of that size can be between two samples.
    steepest = 32767 * cues.PEAK * 2 * math.sin(math.pi * 1320 / cues.RATE)
    assert max(abs(a - b) for a, b in itertools.pairwise(track)) <= steepest + 2  # rounding


def test_same_plan_same_bytes() -> None:
    assert cues.render(make_plan(machine=True)) == cues.render(make_plan(machine=True))
