"""The nearest ball that can be had: values of what fixes a feed that cannot be, tried and only then proposed."""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from . import units
from .aim import aim
from .model.feeder import Axis
from .model.program import Aim, Feed, Program
from .model.shots import Miss, Shot
from .reach import UNITS_SHOWN
from .report.finding import Finding, Remedy
from .source import Span
from .units import RPM, number

# Steps in which a value is proposed, in the unit it is shown in.
STEP = {Aim.OVER_NET: 0.1, Aim.AT_PLAYER: 0.05, Aim.PACE: 1.0, Aim.TIME: 0.05}
TRIES = 6
ELEMENT = re.compile(r"^(height|pace|spin|depth|side) | over net$|, (rising|falling)$")
"""What a line says around one element of its list."""
Judge = Callable[[Program, Feed, Shot], list[Finding]]


def remedies(program: Program, misses: Mapping[str, Miss], judge: Judge) -> dict[str, tuple[Remedy, ...]]:
    """For each missed feed the nearest value that aims and passes `judge`, as source; none where none was found."""
    trials: dict[str, tuple[str, Feed, str, str]] = {}
    for name, miss in misses.items():
        for attribute, text, feed in _candidates(program, program.feeds[name], miss):
            key = f"{name} {len(trials)}"
            trials[key] = (name, replace(feed, name=key), attribute, text)
    shots = aim(program, {key: feed for key, (_, feed, _, _) in trials.items()}).shots
    found: dict[str, dict[str, Remedy]] = {}
    for key, (name, feed, attribute, text) in trials.items():
        if key in shots and attribute not in found.get(name, {}) and not judge(program, feed, shots[key]):
            remedy = _placed(program.feeds[name], attribute, text)
            if remedy:
                found.setdefault(name, {})[attribute] = remedy
    return {name: tuple(by.values()) for name, by in found.items()}


def _candidates(program: Program, feed: Feed, miss: Miss) -> list[tuple[str, str, Feed]]:
    """Altered feeds from the nearest on, each with its attribute and its text."""
    if miss.facts.get("what") in ("topspin", "sidespin") and "of" not in miss.facts:
        return _spin_candidates(program, feed)
    if feed.phase and miss.code == "phase-not-there":
        other = miss.facts["other"]
        head = feed.words["height"].rpartition(",")[0]
        return [("height", f"height {head}, {other}", replace(feed, phase=other))]
    if miss.nearest is None or feed.aim not in STEP:
        return []
    unit, step = UNITS_SHOWN[feed.aim], STEP[feed.aim]
    nearest, asked = units.from_si(miss.nearest, unit), units.from_si(feed.value, unit)
    away = -1 if asked > nearest else 1
    first = math.floor(nearest / step) if away < 0 else math.ceil(nearest / step)
    found = []
    for i in range(TRIES):
        # Close steps first, then wider ones: near a limit the nearest step may still fail once it is rounded.
        value = (first + away * (i if i < 4 else 2 * i)) * step
        if value <= 0:
            break
        text = f"{number(value, 2)} {unit}"
        altered = replace(feed, value=units.to_si(value, unit))
        found.append((*_sentence(feed, text), altered))
    return found


def _sentence(feed: Feed, amount: str) -> tuple[str, str]:
    if feed.aim is Aim.OVER_NET:
        return "height over net", f"height {amount} over net"
    if feed.aim is Aim.AT_PLAYER:
        return "height", f"height {amount}" + (f", {feed.phase}" if feed.phase else "")
    if feed.aim is Aim.PACE:
        return "pace", f"pace {amount}"
    return "time", f"time {amount} to contact"


def _spin_candidates(program: Program, feed: Feed) -> list[tuple[str, str, Feed]]:
    def clamped(axis: Axis | None, value: float) -> float:
        return min(max(value, axis.low_si), axis.high_si) if axis else 0.0

    topspin = clamped(program.feeder.topspin, feed.topspin)
    sidespin = clamped(program.feeder.sidespin, feed.sidespin)
    return [("spin", f"spin {spin_words(topspin, sidespin)}", replace(feed, topspin=topspin, sidespin=sidespin))]


def spin_words(topspin: float, sidespin: float) -> str:
    """Spin as the language writes it."""
    parts = []
    if topspin:
        parts.append(f"{'topspin' if topspin > 0 else 'backspin'} {number(abs(topspin) / RPM, 0)} rpm")
    if sidespin:
        side = "right" if sidespin > 0 else "left"
        parts.append(f"sidespin {number(abs(sidespin) / RPM, 0)} rpm to the {side}")
    return " and ".join(parts) or "flat"


def _placed(feed: Feed, attribute: str, text: str) -> Remedy | None:
    """In the place of the feed's own line, or as a new line under its head where the line was inherited. Of a list
    only the one element is replaced; a line that offers many ways has no single one to replace."""
    span = feed.spans[attribute]
    if attribute in feed.elements:
        element = ELEMENT.sub("", text)
        return Remedy(span, element) if span.text == feed.words[attribute] else None
    source = feed.span.source
    head_end = source.text.find("\n", feed.span.start)
    head_end = len(source.text) if head_end < 0 else head_end
    next_head = next(
        (i + 1 for i in range(head_end, len(source.text) - 1)
         if source.text[i] == "\n" and source.text[i + 1] not in " \t\n#"), len(source.text)
    )  # fmt: skip
    if head_end < span.start < next_head:
        return Remedy(span, text)
    return Remedy(Span(source, head_end, head_end), f"\n    {text}")
