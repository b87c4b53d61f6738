"""What a remedy gives up: what the ball, its replies and the practice come to with it, measured by the trial of it."""

from collections.abc import Iterator
from math import isfinite

from ..grammar.edits import from_baseline
from ..grammar.facts import Difference, Measured, Metres, Names, Portion, Seconds, Speed
from ..grammar.finding import Finding, OfBall
from ..grammar.print import text
from ..grammar.units import RPM, of_ten
from .check.ball import LOB_M
from .check.figures import measured
from .check.met import APART_M
from .findings.bounce import BounceMoved
from .findings.flight import MetLow, OverTheHead
from .findings.player import FarToRun, NoTimeToSee
from .findings.scatter import HeightVaries, ZoneSmall
from .model.compiled import Compiled
from .model.program import Feed, FixedBy
from .model.shots import SolvedShot
from .model.way import gone
from .worth import FLAT, HELD

BOUNCES = "bounces before the player"
KIND, IN_FRONT = "another kind of ball", "from bounce to stance"
FASTER, SPUN = 1.5, 600 * RPM
"""A ball that is faster by such a factor, or one asked flat that has so much spin, is another kind of ball: a throw in
place of a toss. Own choice."""
SPOILED, LEAST = 0.25, 3.0
"""A best ball that is worse by more than this share, and by more widths of `HELD`, is no longer what is asked. Own
choice."""
NOTICED = {Metres: 0.05, Speed: 1 / 3.6, Portion: 0.02}
"""What differs by less is not told, SI. Own choice."""
ELSEWHERE_M = 0.5  # the same of where a player stands who follows the ball. Own choice


def cost(before: Compiled, after: Compiled, finding: Finding) -> tuple[Difference, ...]:
    """What is no longer as it was: the lines of the ball that the finding is about, what the ball then does, and the
    whole practice. Of a ball that was impossible, all that it does."""
    message = finding.message
    ball = message.ball if isinstance(message, OfBall) else message.after if isinstance(message, FarToRun) else None
    told = list(_of_ball(before, after, finding, ball)) if ball else []
    return (*told, *_of_heirs(before, after, finding), *_of_practice(before, after))


def defeats(before: Compiled, after: Compiled, finding: Finding) -> bool:
    """Whether a remedy takes from a ball much of what its feed asks the most or the least of, or brings a lob where the
    fastest ball, the lowest over the net or the shortest is asked. A feed that then asks for a figure is another wish,
    and a ball that is met too low or too high has to be met elsewhere."""
    message = finding.message
    if not isinstance(message, OfBall) or before.program is None or after.program is None:
        return False
    for ball in (message.ball, *finding.balls):
        feed, then, shot = before.program.feeds.get(ball), after.program.feeds.get(ball), _shot(after, ball)
        if feed is None or then is None or shot is None or feed.best is None or then.best != feed.best:
            continue
        best, old = feed.best, _shot(before, ball)
        if old is None:
            if best in FLAT and shot.predicted.peak > LOB_M:
                return True
            continue
        was, now = measured(old)[best.what], measured(shot)[best.what]
        if was is None or now is None or (best.what is FixedBy.AT_PLAYER and isinstance(message, MetLow | OverTheHead)):
            continue
        if (was - now) * (best.sign or 1) > max(SPOILED * was, LEAST * HELD[best.what]):
            return True
    return False


def _of_ball(before: Compiled, after: Compiled, finding: Finding, ball: str) -> Iterator[Difference]:
    shot = _shot(after, ball)
    feed, was = (each.program.feeds.get(ball) if each.program else None for each in (after, before))
    if shot is None or feed is None:
        return
    lines = {word: said for word, said in feed.words.items() if said != was.words.get(word)} if was else {}
    for word, said in lines.items():
        replaced = was.words.get(word) if was else None
        yield Difference(word, replaced and _beside(replaced), _beside(said), written=True)
    old = _shot(before, ball)
    if old and was and was.best is None and (words := _other_kind(old, shot, _to_be_met_there(finding, feed))):
        yield Difference(KIND, None, words)
    of_zone = isinstance(finding.message, ZoneSmall)
    if old and isinstance(finding.message, BounceMoved):
        yield Difference(IN_FRONT, Metres(_in_front(old)), Metres(_in_front(shot)))
    then = _figures(old, was) | _shares(before, ball, of_zone) if old else {}
    for what, now in (_figures(shot, feed) | (_shares(after, ball, of_zone) if old else {})).items():
        known = then.get(what)
        if what not in lines and (known is None or abs(now - known) >= NOTICED[type(now)]):
            yield Difference(what, known, now)
    if old and was and feed.follows and abs(old.predicted.contact[1] - shot.predicted.contact[1]) >= ELSEWHERE_M:
        yield Difference("met", _from_baseline(before, old), _from_baseline(after, shot))
    if old and old.predicted.bounces != shot.predicted.bounces:
        yield Difference(BOUNCES, f"{old.predicted.bounces}", f"{shot.predicted.bounces}")
    yield from _replies(before, after, ball)


def _beside(words: str) -> str:
    """What a line says, beside its name: that has already where a height is."""
    return words.removesuffix(" over net").removesuffix(" at the top")


def _from_baseline(compiled: Compiled, shot: SolvedShot) -> str:
    """Where a ball is met."""
    assert compiled.program
    return text(from_baseline(shot.predicted.contact[1] - compiled.program.court.half_length, 1))


def _to_be_met_there(finding: Finding, feed: Feed) -> bool:
    """Whether the height of the contact is what the coach wants, and is not itself at fault."""
    full = feed.depth is None and isinstance(finding.message, NoTimeToSee)
    return full or isinstance(finding.message, HeightVaries)


def _other_kind(old: SolvedShot, new: SolvedShot, as_high: bool) -> str:
    """What makes of a ball another kind, also that it is met elsewhere if it is to be met `as_high` as it is."""
    higher = new.predicted.contact[2] - old.predicted.contact[2]
    if as_high and abs(higher) > APART_M:
        return f"(met {abs(higher):.1f} m {'higher' if higher > 0 else 'lower'})"
    if new.speed > FASTER * old.speed:
        return f"({new.speed / old.speed:.1f} times as fast)"
    turned = new.topspin * old.topspin < 0 or (round(old.topspin / RPM) == 0 and abs(new.topspin) > SPUN)
    return f"({'topspin' if new.topspin > 0 else 'backspin'})" if turned and abs(new.topspin) > RPM else ""


def _shot(compiled: Compiled, ball: str) -> SolvedShot | None:
    found = compiled.shots.shots.get(ball) if compiled.shots else None
    return found if found and isfinite(found.predicted.contact_time) else None


def _figures(shot: SolvedShot, feed: Feed | None) -> dict[str, Measured]:
    """What a coach sees of a ball."""
    way = gone(feed.wait if feed else None, shot.predicted.contact)
    flown = shot.predicted
    over = {} if flown.clearance is None else {"height over net": Metres(flown.clearance)}
    met = {"height at the player": Metres(flown.contact[2])} if flown.contact[2] > 0 else {}
    return {"pace": Speed(shot.speed), **over, **met, **({} if way is None else {"way": Metres(way)})}


def _in_front(shot: SolvedShot) -> float:
    """How far along the court from its bounce a ball is met, m."""
    landing, contact = shot.predicted.landing, shot.predicted.contact
    return contact[1] - landing[1] if landing else 0.0


def _shares(compiled: Compiled, ball: str, of_zone: bool) -> dict[str, Measured]:
    """How many of the balls do what is asked; `of_zone`: also how many land in the zone with balls of another make, on
    the full in its place how many come to their side."""
    found = compiled.evaluation.scatterings.get(ball) if compiled.evaluation else None
    if found is None:
        return {}
    kept = (
        {"balls that keep their bounds": Portion(min(share for share, _ in found.kept.values()))} if found.kept else {}
    )
    over, zone = Portion(found.over_net), Portion(found.in_zone)
    if of_zone and compiled.program and compiled.program.feeds[ball].depth is None:
        return {"balls over the net": over, "balls that come to the side": Portion(found.at_side), **kept}
    other = {"with balls of another make": Portion(found.in_zone_band[0])} if of_zone else {}
    return {"balls over the net": over, "balls in the zone": zone, **other, **kept}


def _replies(before: Compiled, after: Compiled, ball: str) -> Iterator[Difference]:
    told = [
        of_ten(good.share) if (good := each.evaluation.replies.get(ball)) else None
        for each in (before, after)
        if each.evaluation
    ]
    if len(told) == 2 and told[1] is not None and told[0] != told[1]:
        yield Difference("good replies in ten", told[0], told[1])


def _of_heirs(before: Compiled, after: Compiled, finding: Finding) -> Iterator[Difference]:
    """The other feeds whose lines the same edit changes, beside those that the finding is about, and the same feed as
    another player gets it."""
    if before.program is None or after.program is None or not isinstance(finding.message, OfBall):
        return
    was, now = before.program.feeds, after.program.feeds
    about = [was[ball] for ball in (finding.message.ball, *finding.balls) if ball in was]
    own, players = {feed.family for feed in about}, {feed.player for feed in about}
    changed = [feed for name, feed in was.items() if name in now and feed.words != now[name].words]
    others = [feed for feed in changed if feed.family not in own or feed.player not in players]
    if heirs := Names(dict.fromkeys(feed.name if feed.family in own else feed.family for feed in others)):
        yield Difference("also changes", None, f"{heirs: and }")


def _of_practice(before: Compiled, after: Compiled) -> Iterator[Difference]:
    if before.totals and after.totals:
        if before.totals.balls != after.totals.balls:
            yield Difference("balls in the practice", f"{before.totals.balls}", f"{after.totals.balls}")
        was, now = Seconds(before.totals.duration_s), Seconds(after.totals.duration_s)
        if abs(was - now) >= 1:
            yield Difference("length", f"{was:clock}", f"{now:clock}")
