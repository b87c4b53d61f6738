"""A block with an interval of its own: its balls once more, so far apart."""

from ...grammar import syntax as s
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.session import IntervalOfPoints
from ..model.program import Feed, Play
from .amounts import Rejected, launch_to_launch
from .members import Family
from .turns import Known


def paced(line: Line, play: Play, known: Known) -> Play:
    """The block, with balls of that interval if a line under it says one. A reader then has them beside the feeds of
    the script, for each of the players."""
    said = [sentence for _, sentence in sentences(line.children, s.Interval)]
    if not said:
        return play
    if said[1:]:
        raise Rejected(Duplicate("interval"), said[1].span, (("first here", said[0].span),))
    if point := next((name for _, name in play.shares if name in known.points), None):
        raise Rejected(IntervalOfPoints(point), said[0].span)
    seconds = launch_to_launch(said[0])
    own = {name: f"{name} {_often(said[0], seconds)}" for _, name in play.shares}
    for reader in known.readers.values():
        for name, again in own.items():
            if family := reader.read.get(name):
                members = (every(ball, said[0], seconds) for ball in family.members)
                reader.read.setdefault(again, Family(again, tuple(members)))
    shares = tuple((weight, own[name]) for weight, name in play.shares)
    return replace(play, shares=shares, words=f"{play.words}, {text(said[0])}")


def every(ball: Feed, said: s.Interval, seconds: float) -> Feed:
    """The ball with another interval."""
    return replace(
        ball,
        name=f"{ball.name} {_often(said, seconds)}",
        interval=seconds,
        between_contacts=said.between is not None,
        words={**ball.words, "interval": said.said},
        said={**ball.said, "interval": said},
    )


def _often(said: s.Interval, seconds: float) -> str:
    return f"every {seconds:g} s{' between contacts' if said.between else ''}"
