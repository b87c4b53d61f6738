"""A block with an interval or a place of the feeder of its own: its balls once more, so far apart or from there."""

from collections.abc import Callable

from ...grammar import syntax as s
from ...grammar.facts import BallName
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.session import IntervalOfPoints
from ..findings.stands import PlaceOfPoints, TwoPlaces
from ..model.program import Feed, FeederPlace, Play, Point
from .amounts import Rejected, launch_to_launch
from .members import Family
from .stands import own_place
from .turns import Known

Change = Callable[[Feed], Feed]


def paced(line: Line, play: Play, known: Known) -> Play:
    """The block, with balls of that interval and from that place if lines under it say one; the place may stand under
    rounds around it. A reader then has them beside the feeds of the script, for each of the players."""
    said = [sentence for _, sentence in sentences(line.children, s.Interval)]
    point = next((name for _, name in play.shares if name in known.points), None)
    if said:
        if said[1:]:
            raise Rejected(Duplicate("interval"), said[1].span, (("first here", said[0].span),))
        if point:
            raise Rejected(IntervalOfPoints(point), said[0].span)
        seconds = launch_to_launch(said[0])
        play = _again(play, known, lambda ball: every(ball, said[0], seconds))
        play = replace(play, words=f"{play.words}, {text(said[0])}")
    return _placed(line, play, known, point)


def _placed(line: Line, play: Play, known: Known, point: str | None) -> Play:
    if stands := own_place(line.children, known.feeder) or known.stands:
        if point:
            raise Rejected(PlaceOfPoints(point), stands[0].span)
        return _again(play, known, lambda ball: fed_from(ball, *stands, known))
    reader, own = next(iter(known.readers.values())), known.feeder and known.feeder.place
    points = [known.points.get(name, name) for _, name in play.shares]
    names = [name for one in points for name in (one.feeds if isinstance(one, Point) else (one,))]
    balls = [family.members[0] for name in names if (family := reader.read.get(str(name)))]
    first = balls[0].place or own if balls else None
    for ball in balls:
        here = ball.place or own
        if first and here and first.there != here.there:
            message = TwoPlaces(BallName(balls[0].name), first.spot, BallName(ball.name), here.spot)
            raise Rejected(message, line.span)
    return play


def _again(play: Play, known: Known, changed: Change) -> Play:
    """The block of the balls that its own are changed into."""
    own = dict[str, str]()
    for reader in known.readers.values():
        for _, name in play.shares:
            if family := reader.read.get(name):
                members = tuple(map(changed, family.members))
                mark = members[0].name.removeprefix(family.members[0].name)
                own[name] = f"{name}{mark}"
                reader.read.setdefault(own[name], Family(own[name], members))
    return replace(play, shares=tuple((weight, own.get(name, name)) for weight, name in play.shares))


def every(ball: Feed, said: s.Interval, seconds: float) -> Feed:
    """The ball with another interval."""
    return replace(
        ball,
        name=f"{ball.name} every {seconds:g} s{' between contacts' if said.between else ''}",
        interval=seconds,
        between_contacts=said.between is not None,
        words={**ball.words, "interval": said.said},
        said={**ball.said, "interval": said},
    )


def fed_from(ball: Feed, said: s.Stands, place: FeederPlace, known: Known) -> Feed:
    """The ball from another place; itself where it is fed from there anyway."""
    here = ball.place or (known.feeder and known.feeder.place)
    if here and here.there == place.there:
        return ball
    _, _, words = text(said).partition(" ")
    return replace(
        ball,
        name=f"{ball.name} fed {words}",
        place=place,
        same_as=ball.same_as and replace(ball.same_as, place=place),
        words={**ball.words, "feeder": words},
        said={**ball.said, "feeder": said},
    )
