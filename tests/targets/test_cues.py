"""The cue track, to the sample, and read back with the standard library's reader."""

import io
import itertools
import math
import shutil
import wave
from array import array
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs import cues, voice
from feedwright.targets.outputs.sheet.letters import letters

from .more_plans import ladder
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


def speaker(plan: Plan) -> dict[str, "array[int]"]:
    """A voice that takes the longest time for each word."""
    return {word: array("h", [1000] * int(cues.RATE * cues.WORD_S)) for word in cues.words(plan)}


def test_a_voice_says_the_letter_in_place_of_the_first_beeps_and_the_pauses_by_name() -> None:
    plan = make_plan(machine=False)
    made = cues.sounds(plan, said := speaker(plan))
    at = {(first, sound) for first, sound in made}
    named = letters(plan).of
    for ball, time in zip(plan.launches, LAUNCHED_S, strict=True):
        tone = round((cues.LEAD_S + time) * cues.RATE)
        assert (tone, cues.TONE) in at and (tone - cues.RATE // 2, cues.BEEP) in at
        assert (tone - 3 * cues.RATE // 2, named[ball.first]) in at and (tone - cues.RATE, cues.BEEP) not in at
    for block in plan.blocks:
        if block.kind != "balls":
            assert (round((cues.LEAD_S + block.start_s) * cues.RATE), block.kind) in at
    ends = [first + (len(said[s]) if isinstance(s, str) else len(cues.samples(s))) for first, s in made]
    assert all(end <= first for end, (first, _) in zip(ends, made[1:], strict=False))
    with wave.open(io.BytesIO(cues.render(plan, said))) as file:
        assert file.getnframes() > ends[-1]


def test_a_voice_calls_the_next_player_and_knows_no_letter_on_a_ladder() -> None:
    plan = make_plan(machine=False)
    in_line = plan.player.model_copy(update={"in_line": 2, "rotate_every": 2})
    turns = plan.model_copy(update={"player": in_line})
    made = cues.sounds(turns, speaker(turns))
    changes = [n for n, (_, sound) in enumerate(made) if sound == cues.CHANGE]
    fed = [sum(ball.block == block.index for ball in plan.launches) for block in plan.blocks]
    assert len(changes) == sum((balls - 1) // 2 for balls in fed if balls)
    of = set(letters(plan).of.values())
    assert all(made[n + 1][1] in of for n in changes)  # then the letter of the ball
    climbing = cues.sounds(plan := ladder(machine=True), speaker(plan))
    assert {sound for _, sound in climbing if isinstance(sound, str)} <= {cues.CHANGE}
    assert sum(sound == cues.BEEP for _, sound in climbing) == 3 * len(plan.launches)


@pytest.mark.skipif(not shutil.which(voice.SPEAKER), reason="no espeak-ng here (Debian: apt-get install espeak-ng)")
def test_words_are_short_enough_as_loud_as_a_tone_and_different() -> None:
    said = voice.spoken(["A", "A1", "B", "C12", "rest", "collect", "change"])
    for word, sound in said.items():
        assert 0.1 < len(sound) / cues.RATE <= cues.WORD_S, word
        loudest = max(map(abs, sound)) / 32767
        assert loudest == pytest.approx(cues.PEAK, abs=0.01)
        assert abs(sound[0]) < 400 and abs(sound[-1]) < 400  # faded in and out: no click
    assert len(said["A1"]) > 1.4 * len(said["A"])  # "A one", two syllables
    assert len({sound.tobytes() for sound in said.values()}) == len(said)


@pytest.mark.parametrize("answer", ["exit 1", "echo no sound", "true"])
def test_a_speaker_that_does_not_speak_is_told_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, answer: str
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(voice.NoVoice, match="needs espeak-ng, which is not installed here"):
        voice.spoken(["A"])
    (tmp_path / voice.SPEAKER).write_text(f"#!/bin/sh\n{answer}\n")
    (tmp_path / voice.SPEAKER).chmod(0o755)
    with pytest.raises(voice.NoVoice, match="without --voice the track has tones"):
        voice.spoken(["A"])
