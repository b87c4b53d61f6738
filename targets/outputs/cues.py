"""A sound for each ball: three short beeps and a higher tone at each launch, a double tone where the player serves,
patterns at changes; a WAV file.

Mono, 16 bit. The track follows the plan's clock after `LEAD_S` of silence: the first sample of the tone of a launch at
second t of the session is sample round(RATE * (LEAD_S + t)).
"""

import io
import wave
from array import array
from functools import cache
from math import pi, sin
from sys import byteorder

from ...compiler.model.plan import Block, Plan

RATE = 8000
LEAD_S = 4.0
BEEPS_S = (1.5, 1.0, 0.5)
"""Seconds before the launch at which the beeps start."""
ROOM_S = 2.2
"""Beeps come only if the last launch was this long ago, so that the ear can separate its tone from the first beep."""
BEEP, TONE = ((880.0, 0.08),), ((1320.0, 0.25),)
# Spoken-style patterns, as a voice rises to ask and falls to rest: syllables as (Hz, s); 0 Hz is a pause.
SERVE = ((990.0, 0.1), (0.0, 0.05), (990.0, 0.25))
NEXT = ((440.0, 0.12), (0.0, 0.04), (550.0, 0.12), (0.0, 0.04), (660.0, 0.24))
PAUSE = ((660.0, 0.12), (0.0, 0.04), (550.0, 0.12), (0.0, 0.04), (440.0, 0.36))
DONE = (*PAUSE, (0.0, 0.2), *PAUSE)
PEAK = 0.6
EDGE_S = 0.005
"""Fade of each syllable, which avoids a click; it starts at the syllable's first sample."""

Sound = tuple[tuple[float, float], ...]


def render(plan: Plan) -> bytes:
    """A WAV file; the same plan gives the same bytes."""
    cues = sounds(plan)
    length = max((first + len(samples(sound)) for first, sound in cues), default=0)
    track = array("h", bytes(2 * (length + RATE)))
    for first, sound in cues:
        made = samples(sound)
        track[first : first + len(made)] = made
    if byteorder == "big":
        track.byteswap()
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(track.tobytes())
    return out.getvalue()


def sounds(plan: Plan) -> list[tuple[int, Sound]]:
    """Each sound with the index of its first sample, in order; none starts before another has ended."""
    times = [ball.at_s for ball in plan.launches]
    cues: list[tuple[int, Sound]] = [(_sample(time), TONE) for time in times]
    last, served = -LEAD_S, dict(plan.serves())
    for launch, time in enumerate(times):
        # Before a ball after a serve the beeps lead to the serve.
        to = served.get(launch, time)
        if to - last >= ROOM_S:
            cues += [(_sample(to - before), BEEP) for before in BEEPS_S]
        if to < time:
            cues.append((_sample(to), SERVE))
        last = time
    cues.sort(key=lambda cue: cue[0])
    for first, sound in [*_changes(plan.blocks), (_sample(plan.totals.duration_s), DONE)]:
        if _free(cues, first, len(samples(sound))):
            cues.append((first, sound))
    return sorted(cues, key=lambda cue: cue[0])


def _changes(blocks: tuple[Block, ...]) -> list[tuple[int, Sound]]:
    """A falling pattern as a rest or collect begins; a rising one before the beeps of a block's first ball."""
    cues: list[tuple[int, Sound]] = []
    for block in blocks:
        if block.kind == "balls":
            spoken = sum(seconds for _, seconds in NEXT)
            cues.append((_sample(block.start_s - BEEPS_S[0] - spoken - 0.2), NEXT))
        else:
            cues.append((_sample(block.start_s), PAUSE))
    return cues


def _free(cues: list[tuple[int, Sound]], first: int, length: int) -> bool:
    return first >= 0 and all(start + len(samples(sound)) <= first or start >= first + length for start, sound in cues)


def _sample(second: float) -> int:
    return round(RATE * (LEAD_S + second))


@cache
def samples(sound: Sound) -> "array[int]":
    """Sine syllables at full scale times PEAK."""
    made = array("h")
    for pitch, seconds in sound:
        count, edge = round(RATE * seconds), round(RATE * EDGE_S)
        for n in range(count):
            loud = min(1.0, (n + 1) / edge, (count - n) / edge)
            made.append(round(32767 * PEAK * loud * sin(2 * pi * pitch * (n + 0.5) / RATE)))
    return made
