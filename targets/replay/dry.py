"""What a replay would do, second by second, without a port."""

from collections.abc import Iterator

from ...compiler.model.command import Template
from ..printable import visible
from ..stream.template import fill
from ..stream.text import written
from . import words
from .explain import shown
from .picture import ball_words, summary
from .places import Place, Shelf, arming


def dry_run(shelf: Shelf, places: tuple[Place, ...], warning_s: float, template: Template | None) -> Iterator[str]:
    """Seconds count from each answer; every line that would go out, a ladder's first rung standing for all."""
    rest = places
    while rest:
        covered = arming(rest)
        rest = rest[len(covered) :]
        yield ""
        yield f"A person arms: {summary(shelf, covered)}"
        quiet = words.QUIET_NOT_SHOWN if template else words.QUIET_ASKED
        for caution in words.cautions(quiet, again=covered[0] != places[0]):
            yield f"  - {caution}"
        yield f"   0.000 s  the four signs are typed; {warning_s:g} s to walk"
        block = None
        for place in covered:
            if place.block != block:
                block = place.block
                yield f"            {visible(shelf.blocks[block].words)}"
            at = warning_s + place.at_s - covered[0].at_s
            shot = shelf.shots[place.shots[0]]
            yield f"{at:8.3f} s  ball {place.number}: {ball_words(shot)}"
            yield from (f"            {line}" for line in _lines(shelf, place, template))
    yield ""
    yield "Nothing was sent."


def _lines(shelf: Shelf, place: Place, template: Template | None) -> Iterator[str]:
    for shot in place.shots:
        rung = f"  (rung {place.shots.index(shot) + 1})" if len(place.shots) > 1 else ""
        if template is None:
            yield f"go b={place.number} {written(shelf.settings[shot])}{rung}"
            continue
        settings = shelf.shots[shot].settings
        if template.ready is not None:
            yield f"{_bytes(fill(template, template.ready, settings))}{rung}"
        yield f"{_bytes(fill(template, template.throw, settings))}{rung}"


def _bytes(data: bytes) -> str:
    """Each byte that is sent, the ending too."""
    return shown(data).replace("\\x0d", "\\r").replace("\\x0a", "\\n")
