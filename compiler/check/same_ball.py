"""Is a feed another ball than the one it is like, though it differs from that in its stance alone?"""

from ...grammar.edits import below
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Speed
from ...grammar.finding import Finding
from ...grammar.syntax import Feed as Head
from ...grammar.syntax import Interval, Note, Same, Stance, Starts
from ..findings.same_ball import NotTheSameBall
from ..model.evaluation import Evaluation
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from .figures import place

APART = 5 / 3.6  # paces that differ by less are those of one ball to a player, m/s. Own choice


def another(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Of two feeds that the session plays."""
    played, found = program.played, list[Finding]()
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        like = _like(feed)
        members = program.families.get(like, ())
        if len(members) != 1 or like not in played or feed.family not in played:
            continue
        other = shots.shots.get(program.version(members[0], feed.player))
        if other is None or len(program.families.get(feed.family, ())) != 1 or abs(other.speed - shot.speed) <= APART:
            continue
        message = NotTheSameBall(BallName(name), BallName(like), Speed(shot.speed), Speed(other.speed))
        remedy = below(feed.line, Same(named(like)))
        found.append(Finding(message, place(feed, "stance"), remedies=(remedy,)))
    return found


def _like(feed: Feed) -> str:
    """The feed that a feed is like but for a stance that is a place, and what does not concern its flight; "" if there
    is none."""
    head, own = feed.line.sentence, [child.sentence for child in feed.line.children]
    stances = [one for one in own if isinstance(one, Stance) and not one.found]
    if not isinstance(head, Head) or head.like is None or not stances or feed.same_as:
        return ""
    return head.like.text if all(isinstance(one, Stance | Interval | Note | Starts) for one in own) else ""
