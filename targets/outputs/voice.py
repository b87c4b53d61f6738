"""Words spoken by the system's speech, espeak-ng, as samples for the sound track."""

import io
import shutil
import subprocess
import wave
from array import array
from collections.abc import Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from .cues import EDGE_S, PEAK, RATE, WORD_S

SPEAKER = "espeak-ng"
PACES = (160, 220, 300, 400)
"""Words a minute: the slowest at which a word is short enough is taken."""
BAND_HZ = 3600.0
"""What the track's rate can hold (half of it, less the slope of the filter)."""
TAPS = 101
"""Length of the filter: at 22,050 Hz its slope is about 700 Hz."""
SILENT = 0.02
"""Share of the peak under which the ends of a word are cut off."""


class NoVoice(ValueError):
    """There is no speech on this system, or it does not answer; the message is for people."""


def spoken(words: Sequence[str]) -> dict[str, "array[int]"]:
    """Each word at RATE, at most WORD_S long. NoVoice if the system cannot speak."""
    program = shutil.which(SPEAKER)
    if program is None:
        raise NoVoice(
            f"--voice needs {SPEAKER}, which is not installed here (on Debian: apt-get install {SPEAKER}); "
            "without --voice the track has tones"
        )
    return {word: _short(program, word) for word in words}


def _short(program: str, word: str) -> "array[int]":
    for pace in PACES:
        made = _said(program, word, pace)
        if len(made) <= RATE * WORD_S:
            break
    return made[: int(RATE * WORD_S)]


def _said(program: str, word: str, pace: int) -> "array[int]":
    # A letter by its name: the word "A" alone would be read as an article.
    head, figures = word.rstrip("0123456789"), word[len(word.rstrip("0123456789")) :]
    text = f'<say-as interpret-as="characters">{head}</say-as> {figures}' if head.isupper() else escape(word)
    try:
        done = subprocess.run(
            [program, "-v", "en", "-s", str(pace), "-m", "--stdout", text], capture_output=True, timeout=20, check=True
        )
        with wave.open(io.BytesIO(done.stdout)) as file:
            rate, sound = file.getframerate(), np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)
    except (OSError, subprocess.SubprocessError, wave.Error, EOFError) as error:
        raise NoVoice(f"{SPEAKER} does not speak here; without --voice the track has tones") from error
    loud = np.flatnonzero(np.abs(sound) > SILENT * np.abs(sound).max(initial=0.0))
    if not loud.size:
        raise NoVoice(f"{SPEAKER} gives no sound for {word}; without --voice the track has tones")
    return _at_rate(sound[loud[0] : loud[-1] + 1], rate)


def _at_rate(sound: NDArray[np.float64], rate: int) -> "array[int]":
    """The sound at RATE and as loud as a tone: a windowed sinc keeps what the new rate can hold."""
    n = np.arange(TAPS) - TAPS // 2
    taps = np.sinc(2 * BAND_HZ / rate * n) * np.hamming(TAPS)
    kept = np.convolve(sound, taps / taps.sum(), "same")
    times = np.arange(int(len(kept) * RATE / rate)) / RATE
    made = np.interp(times, np.arange(len(kept)) / rate, kept)
    edge = min(round(RATE * EDGE_S), len(made) // 2)
    made[:edge] *= np.arange(1, edge + 1) / edge
    made[len(made) - edge :] *= np.arange(edge, 0, -1) / edge
    return array("h", np.round(made * (32767 * PEAK / max(np.abs(made).max(initial=0.0), 1.0))).astype(int).tolist())
