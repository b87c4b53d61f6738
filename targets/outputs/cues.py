"""A sound for each ball: three short beeps and a higher tone at each launch, a double tone where the player serves,
patterns at changes; a WAV file. With a voice the letter of the ball, "change", "rest" and "collect" are spoken.

Mono, 16 bit. The track follows the plan's clock after `LEAD_S` of silence: the first sample of the tone of a launch at
second t of the session is sample round(RATE * (LEAD_S + t)).
"""

import io
import wave
from array import array
from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from math import pi, sin
from sys import byteorder

from ...compiler.model.plan import Block, Plan
from .places import then_moved
from .turns import turns

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
NEXT_S = sum(seconds for _, seconds in NEXT)
PEAK = 0.6
EDGE_S = 0.005
"""Fade of each syllable, which avoids a click; it starts at the syllable's first sample."""

MOVE = "move"
"""The word in place of the pause's in which the feeder goes elsewhere."""
CHANGE = "change"
"""The word with which the next player in line steps up; one with a name is called by it."""
WORD_S = BEEPS_S[0] - BEEPS_S[-1] - 0.05
"""Longest word: it stands where the first beeps are, and ends before the last one."""
APART_S = 0.15
"""Between two words."""

Sound = tuple[tuple[float, float], ...] | str
"""Syllables, or a word for a voice."""
Voice = Mapping[str, "array[int]"]
"""Each word as samples at RATE."""


def render(plan: Plan, voice: Voice | None = None) -> bytes:
    """A WAV file; the same plan and voice give the same bytes."""
    cues = sounds(plan, voice)
    length = max((first + len(_made(sound, voice)) for first, sound in cues), default=0)
    track = array("h", bytes(2 * (length + RATE)))
    for first, sound in cues:
        made = _made(sound, voice)
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


def words(plan: Plan) -> tuple[str, ...]:
    """All that the voice says for a plan, each once: letters of balls, and what is done."""
    kinds = [_pause(plan, block) for block in plan.blocks if block.kind != "balls"] + ["rest"] * bool(_inside(plan))
    return tuple(dict.fromkeys([*filter(None, _letters(plan)), *kinds, CHANGE, *_names(plan)]))


def sounds(plan: Plan, voice: Voice | None = None) -> list[tuple[int, Sound]]:
    """Each sound with the index of its first sample, in order; none starts before another has ended."""
    times = [ball.at_s for ball in plan.launches]
    spoken = _letters(plan) if voice is not None else [""] * len(times)
    untimed = _untimed(plan)
    cues: list[tuple[int, Sound]] = [(_sample(time), TONE) for n, time in enumerate(times) if n not in untimed]
    last, served = -LEAD_S, dict(plan.serves())
    for launch, time in enumerate(times):
        if launch in untimed:
            last = time
            continue
        # Before a ball after a serve the beeps lead to the serve.
        to = served.get(launch, time)
        if to - last >= ROOM_S:
            beeps = BEEPS_S[-1:] if spoken[launch] else BEEPS_S
            cues += [(_sample(to - before), BEEP) for before in beeps]
            if spoken[launch]:
                cues.append((_sample(to - BEEPS_S[0]), spoken[launch]))
        if to < time:
            cues.append((_sample(to), SERVE))
        last = time
    cues.sort(key=lambda cue: cue[0])
    done: tuple[int, Sound] = (_sample(plan.totals.duration_s), DONE)
    for first, sound in [*_changes(plan, voice), done, *_turns(plan, voice)]:
        if _free(cues, first, len(_made(sound, voice)), voice):
            cues.append((first, sound))
    return sorted(cues, key=lambda cue: cue[0])


def _untimed(plan: Plan) -> set[int]:
    """The launches whose second the player's hits decide: on a ladder whose rungs have intervals of their own all but
    the first."""
    blocks = {block.index for block in plan.blocks if block.ladder and block.ladder.intervals_s}
    return {n for n, (one, two) in enumerate(pairwise(plan.launches), start=1) if one.block == two.block in blocks}


def _letters(plan: Plan) -> list[str]:
    """The letter of each launch as the sheet has it; empty where the player's hits decide the ball."""
    from .sheet.letters import letters

    named = letters(plan).of
    climbing = {block.index for block in plan.blocks if block.ladder}
    return ["" if ball.block in climbing else named[ball.first] for ball in plan.launches]


def _inside(plan: Plan) -> list[float]:
    """When the rests inside blocks begin."""
    found = []
    for block in plan.blocks:
        if block.rest:
            at = [ball.at_s for ball in plan.launches if ball.block == block.index]
            found += [at[number] - block.rest.rest_s for number in block.rested]
    return found


def _changes(plan: Plan, voice: Voice | None) -> list[tuple[int, Sound]]:
    """A falling pattern or a word as a rest or collect begins; a rising one before a block's first ball."""
    rests: Sound = PAUSE if voice is None else "rest"
    cues: list[tuple[int, Sound]] = [(_sample(time), rests) for time in _inside(plan)]
    for block in plan.blocks:
        if block.kind == "balls":
            cues.append((_sample(block.start_s - BEEPS_S[0] - NEXT_S - 0.2), NEXT))
        else:
            cues.append((_sample(block.start_s), PAUSE if voice is None else _pause(plan, block)))
    return cues


def _pause(plan: Plan, block: Block) -> str:
    """The word with which a pause begins."""
    return block.kind if then_moved(plan, block) is None else MOVE


def _turns(plan: Plan, voice: Voice | None) -> list[tuple[int, Sound]]:
    """With a voice the word for the next player in line, before the letter of the first ball of each turn; of players
    with names the name, also as a block begins, before its pattern."""
    if voice is None:
        return []
    starts: list[tuple[int, Sound]] = []
    for block in plan.blocks:
        fed = [ball.at_s for ball in plan.launches if ball.block == block.index]
        for turn in turns(plan, block):
            if not turn.first and not turn.named:
                continue
            word = turn.who if turn.named else CHANGE
            pattern = 0.0 if turn.first else NEXT_S + 0.2
            starts.append((_sample(fed[turn.first] - BEEPS_S[0] - pattern - APART_S) - len(voice[word]), word))
    return starts


def _names(plan: Plan) -> list[str]:
    """The names that are called."""
    return [player.name for player in plan.players if player.name] if plan.others else []


def _free(cues: list[tuple[int, Sound]], first: int, length: int, voice: Voice | None) -> bool:
    return first >= 0 and all(
        start + len(_made(sound, voice)) <= first or start >= first + length for start, sound in cues
    )


def _made(sound: Sound, voice: Voice | None) -> "array[int]":
    if isinstance(sound, str):
        assert voice is not None
        return voice[sound]
    return samples(sound)


def _sample(second: float) -> int:
    return round(RATE * (LEAD_S + second))


@cache
def samples(sound: tuple[tuple[float, float], ...]) -> "array[int]":
    """Sine syllables at full scale times PEAK."""
    made = array("h")
    for pitch, seconds in sound:
        count, edge = round(RATE * seconds), round(RATE * EDGE_S)
        for n in range(count):
            loud = min(1.0, (n + 1) / edge, (count - n) / edge)
            made.append(round(32767 * PEAK * loud * sin(2 * pi * pitch * (n + 0.5) / RATE)))
    return made
