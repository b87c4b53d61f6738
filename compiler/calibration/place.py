"""Where balls are thrown, over which court and in which air, as the head of a script says it."""

from collections.abc import Sequence

from ...grammar import syntax as s
from ...grammar.frozen import Frozen
from ...grammar.parse import parse
from ...grammar.source import Source
from ...grammar.units import DEG
from ..conditions import conditions_of
from ..model.court import Court
from ..model.feeder import Feeder, Profiles
from ..model.program import Program
from ..physics.outcome import Conditions
from ..resolve.amounts import Rejections
from ..resolve.head import read_head
from .law import Stand

KEPT = (s.Court, s.Ceiling, s.Ball, s.Surface, s.Air, s.Feeder)
"""Which sentences of a script's head say where its balls are thrown."""
USUAL = {
    "court": "court singles", "surface": "surface hard", "ball": "ball type 2", "air": "air 20 C, sea level, no wind",
}  # fmt: skip
"""What holds where a head says nothing; only a surface has to be said."""


class NoPlace(Exception):
    """Sentences that name no place; one sentence says why."""


class ThrowingPlace(Frozen):
    court: Court
    feeder: Feeder
    stand: Stand
    words: str
    """Of the feeder's place, as the script has them."""
    sentences: tuple[str, ...]
    """Of court, surface, ball and air."""


def sentences_of(text: str, called: str) -> list[s.Sentence]:
    """The sentences of a script that say where its balls are thrown."""
    tree, _ = parse(Source(called, text))
    return [
        line.sentence
        for program in tree.lines if isinstance(program.sentence, s.Program)
        for line in program.children if isinstance(line.sentence, KEPT)
    ]  # fmt: skip


def place_of(sentences: Sequence[str], profiles: Profiles, release_height_m: float | None = None) -> ThrowingPlace:
    """From sentences of a head; without a height the ball leaves at that of the feeder's line."""
    lines = ['program "Place"', *(f"    {line}" for line in (*sentences, "player right-handed"))]
    said = USUAL | {line.partition(" ")[0]: line for line in sentences if not line.startswith("feeder")}
    lines += [f"    {said['surface']}"] if said["surface"] not in sentences else []
    tree, found = parse(Source("place", "\n".join(lines) + "\n"))
    rejections = Rejections(list(found))
    read = read_head(tree.lines[0], rejections, profiles)
    if rejections.findings:
        first = rejections.findings[0]
        raise NoPlace("; ".join([first.headline, *first.advice]))
    assert read.court and read.feeder and read.profile and read.place and read.ball and read.air and read.surface
    court, feeder = read.court, read.feeder
    conditions = Conditions(read.ball, read.air, read.surface, court.net_centre, court.net_post, court.post_x)
    height = feeder.release_height_m if release_height_m is None else release_height_m
    stand = Stand((read.place.x, read.place.y, height), conditions, feeder.measured.roll_deg * DEG)
    return ThrowingPlace(court, read.profile, stand, read.place.words, tuple(said.values()))


def stand_of_program(program: Program) -> Stand:
    """Where the feeder of a resolved script stands."""
    place, feeder = program.place, program.feeder
    return Stand(
        (place.x, place.y, feeder.release_height_m), conditions_of(program), feeder.measured.roll_deg * DEG
    )  # fmt: skip
