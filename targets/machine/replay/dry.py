"""What a replay would send, second by second, without a port."""

from collections.abc import Iterable, Iterator

from ....compiler.model.command import Template
from ....compiler.model.feeder import Feeder
from ....compiler.printable import visible
from ...outputs.stream import written
from ..wire.template import fill
from . import words
from .explain import shown
from .picture import ball_words, limits, summary
from .places import Ladders, Place, RunShelf, arming


def dry_run(
    shelf: RunShelf, runs: Iterable[tuple[str, tuple[Place, ...]]], walk_s: float, feeder: Feeder
) -> Iterator[str]:
    """Every line that would be sent, in seconds from each arming. A ladder's rungs are alternatives."""
    quiet = words.QUIET_NOT_SHOWN if feeder.template else words.QUIET_ASKED
    if feeder.template:
        yield ""
        yield from _manners(feeder.template)
    again = False
    for title, rest in runs:
        while rest:
            covered = arming(rest)
            rest = rest[len(covered) :]
            yield ""
            yield from [visible(title)] * bool(title)
            if covered[0].by_hand:
                yield f"Set by hand: {covered[0].by_hand}"
            yield f"A person arms: {summary(shelf, covered)}"
            for caution in words.cautions(quiet, again):
                yield f"  - {caution}"
            yield from (f"  - {visible(line)}" for line in ([] if again else limits(shelf, covered)))
            again = True
            yield f"   0.000 s  the four-character code is typed; {walk_s:g} s to walk"
            yield from _part(shelf, covered, walk_s, feeder)
    yield ""
    yield "Nothing was sent."


def _manners(template: Template) -> Iterator[str]:
    """What holds for every line of a machine with commands of its own."""
    waits = f"waits for `{template.reply}`, up to {template.reply_s:g} s" if template.reply else "waits for no answer"
    yield f"Port: {words.port(template.baud)}"
    yield f"After each line: {waits}"
    if template.stop is None:
        yield "On stop: no line; the machine's own switch"
    else:
        yield f"On stop, and at the end: `{_bytes(template.stop.encode('ascii') + template.end)}`, {waits}"


def _part(shelf: RunShelf, covered: tuple[Place, ...], walk_s: float, feeder: Feeder) -> Iterator[str]:
    template, block, free_s, ladders = feeder.template, None, 0.0, Ladders(shelf)
    latest = False
    for place in covered:
        if template and template.ready is not None:
            begin = "" if free_s else "; wheels begin to turn when the four-character code is typed"
            yield f"{free_s:8.3f} s  set for ball {place.number}{begin}"
            yield from _filled(shelf, place, template, template.ready)
        if place.block != block:
            block = place.block
            yield f"            {visible(shelf.blocks[block].words)}"
        at = walk_s + place.at_s - covered[0].at_s
        said, ladder = f"{at:8.3f} s{' at the latest' * latest}", shelf.blocks[block].ladder
        latest = latest or bool(ladder and ladder.intervals_s)  # from here on the marks decide the second
        yield f"{said}  ball {place.number}: {ball_words(shelf.shots[ladders.choose(place)])}"
        if template:
            free_s = at + max(feeder.slowest_feed_s, template.pause_s)
            yield from _filled(shelf, place, template, template.throw)
        else:
            for shot in place.shots:
                yield f"            go b={place.number} {written(shelf.settings[shot])}{_rung(place, shot)}"


def _filled(shelf: RunShelf, place: Place, template: Template, text: str) -> Iterator[str]:
    """A line with fields appears once for each rung, a line without fields once."""
    for shot in place.shots if "{" in text else place.shots[:1]:
        line = _bytes(fill(template, text, shelf.shots[shot].settings))
        yield f"            {line}{_rung(place, shot) if '{' in text else ''}"


def _rung(place: Place, shot: str) -> str:
    return f"  (rung {place.shots.index(shot) + 1})" if len(place.shots) > 1 else ""


def _bytes(data: bytes) -> str:
    """Every byte that is sent, the line ending included."""
    return shown(data).replace("\\x0d", "\\r").replace("\\x0a", "\\n")
