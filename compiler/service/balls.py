"""Which feed a place of a script is about, where a feed is made, and what its balls do: a ball to draw, where to write
on, and what to tell at a word."""

from collections.abc import Set

from ...grammar import syntax as s
from ...grammar.syntax import Line
from ...grammar.units import KMH, number, of_ten
from ..model.compiled import Compiled
from ..verdicts import BallVerdict, rows
from .script import NameKind, Script, lines_of

MOST_TOLD = 6
"""Of the balls of one feed."""


def feed_at(script: Script, place: int) -> str | None:
    """The feed that is made or named where a place is; in a variation or zone the first feed that takes it; None where
    nothing is about one feed."""
    if (name := script.name_at(place)) and name.kind is NameKind.FEED and not _made_around(script, place):
        return name.name
    around = [line for line in lines_of(script.tree) if line.place and line.sentence and _holds(line, place)]
    for line in reversed(around):
        match line.sentence:
            case s.Feed(made):
                return made.text
            case s.Variation(made):
                return _first_with(script, NameKind.VARIATION, made.text)
            case s.Zone(made):
                return _first_with(script, NameKind.ZONE, made.text)
        if isinstance(line.sentence, s.Session) and line is not around[-1]:
            return None  # a rest is about no ball
        start, end = line.span.start, _end(line)
        named = (n for n in script.names if n.kind is NameKind.FEED and n.span.source is script.source)
        if first := next((n.name for n in named if start <= n.span.start < end), None):
            return first
    return None


def speaks_of(script: Script, feeds: Set[str]) -> bool:
    """Does the script make or name one of these feeds?"""
    return any(name.kind in (NameKind.FEED, NameKind.POINT) and name.name in feeds for name in script.names)


def told_at(script: Script, compiled: Compiled | None, place: int) -> tuple[str, ...]:
    """What the balls of a feed do, a line each, where its name stands or in its own lines; nothing elsewhere."""
    name = script.name_at(place)
    if name is None or name.kind is NameKind.FEED:
        feed = name.name if name else feed_at(script, place) if _made_around(script, place) else None
        balls = [row for row in rows(compiled) if row.feed == feed] if compiled and feed else []
        more = len(balls) - MOST_TOLD
        return (*map(_told, balls[:MOST_TOLD]), *([f"and {more} more"] if more > 0 else []))
    return ()


def _told(row: BallVerdict) -> str:
    """All that the table of a check says of a ball, in words."""
    who, shot, found = f"{row.letter} {row.ball}:".lstrip(), row.shot, row.scattering
    if shot is None:
        return f"{who} impossible, or met by nobody"
    flown = shot.predicted
    parts = [f"{number(shot.speed / KMH, 0)} km/h"]
    if flown.clearance is not None:
        parts.append(f"{flown.clearance:.2f} m over the net" + (f" ({found.over_net:.0%} pass)" if found else ""))
    if flown.landing is not None:
        x, y = flown.landing
        aside = f", {abs(x):.1f} m to the feeder's {'left' if x < 0 else 'right'}" if abs(x) >= 0.05 else ""
        parts.append(f"lands {y:.1f} m from the net{aside}")
    if found:
        parts.append(
            f"{found.in_zone:.0%} in the zone"
            if flown.landing is not None
            else f"{found.at_height:.0%} near the height asked"
        )
    phase = "after two bounces" if flown.bounces == 2 else flown.phase
    parts.append(f"met {flown.contact[2]:.2f} m high, {phase}, {flown.contact_time:.2f} s after the launch")
    if row.good is not None:
        parts.append(f"{of_ten(row.good.share)} of ten replies are good")
    parts += dict.fromkeys(f"{severity.value}: {code}" for severity, code in row.marks)
    return f"{who} {'; '.join(parts)}"


def made_at(script: Script, feed: str) -> int | None:
    """The place of the feed's name where the script itself makes it; None if it does not."""
    for name in script.names:
        if name.made and (name.kind, name.name) == (NameKind.FEED, feed) and name.span.source is script.source:
            return name.span.start
    return None


def _made_around(script: Script, place: int) -> bool:
    """Is the place in the lines of a feed? There another feed's name, as after `like`, is not what is meant."""
    return any(line.place and isinstance(line.sentence, s.Feed) and _holds(line, place) for line in script.tree.lines)


def _holds(line: Line, place: int) -> bool:
    """From the beginning of its row to the end of its last row."""
    text, last = line.span.source.text, line
    while last.children:
        last = last.children[-1]
    start = text.rfind("\n", 0, line.span.start) + 1
    end = text.find("\n", last.span.end)
    return start <= place <= (len(text) if end < 0 else end)


def _first_with(script: Script, kind: NameKind, name: str) -> str | None:
    for line in script.tree.lines:
        if isinstance(line.sentence, s.Feed):
            start, end = line.span.start, _end(line)
            for use in script.names:
                inside = use.span.source is script.source and start <= use.span.start <= end
                if inside and not use.made and (use.kind, use.name) == (kind, name):
                    return line.sentence.name.text
    return None


def _end(line: Line) -> int:
    return _end(line.children[-1]) if line.children else line.span.end
