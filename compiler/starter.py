"""A first script from a few answers: one job for the player, two balls that call for it, ten minutes of them."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from ..grammar.syntax import Line, Sentence, Share, Spot


class StarterVariation(NamedTuple):
    """A variation and the two balls that call for it, by how they are fed."""

    variation: str
    balls: dict[str, str]


MACHINES, PERSONS = ("club", "academy", "dials"), ("basket", "racket")
HANDS = ("right", "left")
STATURES = (1.0, 2.3)

HEAD = """\
# One job for the player, two balls that call for it. Change one thing at a time and check again.

program "First script"
    surface hard
    player right-handed
    feeder machine club, on centre, on baseline, behind a screen
    note "Nobody stands in front of the feeder; everybody on court may call stop."
"""
CHILD = "    # Heights such as waist are an adult's; a child's are measured and written in a body line."
FAST = {"club": 96, "academy": 100, "dials": 96, "racket": 85}  # km/h: within what each gives
JOBS = {
    "rally": StarterVariation(
        """\
variation rally "deep and clear of the net"
    when nobody is ahead in the point
    reply deep, at least 1 m over net, topspin 1200 rpm
    goal 8 in a row
""",
        {
            "across": """\
feed steady aims rally
    side backhand wing
    depth 1 to 4 m inside baseline
    stance 2 m behind baseline
    height 1 m over net
    spin topspin 600 rpm
    interval 6 s
feed steady-wide aims rally, like steady
    side forehand wing
""",
            "hand": """\
feed steady aims rally
    side backhand wing
    depth 1.5 to 4 m behind service line
    stance 1 m inside baseline
    time 1.3 s to contact
    spin flat
    interval 6 s
feed steady-wide aims rally, like steady
    side forehand wing
""",
        },
    ),
    "lift": StarterVariation(
        """\
variation lift "high and deep, to win back time"
    when pushed behind the baseline and late
    reply deep, at least 2.5 m over net, topspin 1500 rpm
    goal 8 in a row
""",
        {
            "across": """\
feed kicker aims lift
    side backhand wing
    depth 1 to 4 m inside baseline
    stance 3.5 m behind baseline
    height 1.8 m over net
    spin topspin 1200 rpm
    interval 6 s
feed kicker-wide aims lift, like kicker
    side forehand wing
""",
            "hand": """\
feed kicker aims lift
    side backhand wing
    depth 2 to 5 m behind service line
    stance 0.5 m behind baseline
    time 1.6 s to contact
    spin flat
    interval 6 s
feed kicker-wide aims lift, like kicker
    side forehand wing
""",
        },
    ),
    "early": StarterVariation(
        """\
variation early "taken high and early, deep"
    when the ball sits up above the shoulder
    reply deep, at least 0.6 m over net, topspin 900 rpm, 80 km/h
    goal 6 in a row
""",
        {
            "across": """\
feed sitter aims early
    side backhand wing
    depth 1 to 4 m inside baseline
    stance 0.5 m behind baseline
    height 1.35 m, rising
    spin topspin 900 rpm
    interval 6 s
feed sitter-wide aims early, like sitter
    side forehand wing
""",
        },
    ),
    "drag": StarterVariation(
        """\
variation drag "short and low, to pull the other side forward"
    when the ball is slow and the other side stands deep
    reply short, at least 0.3 m over net, backspin 900 rpm
    goal 6 in a row
""",
        {
            "across": """\
feed floater aims drag
    side backhand wing
    depth midcourt
    stance 1 m inside baseline
    height 1.1 m over net
    spin backspin 300 rpm
    interval 6 s
feed floater-wide aims drag, like floater
    side forehand wing
""",
            "hand": """\
feed floater aims drag
    side backhand wing
    depth 1 to 3 m behind service line
    stance 2 m inside baseline
    time 1.3 s to contact
    spin flat
    interval 6 s
feed floater-wide aims drag, like floater
    side forehand wing
""",
        },
    ),
    "block": StarterVariation(
        """\
variation block "a short swing, back deep"
    when the ball comes too fast for a full swing
    reply deep, at least 0.5 m over net, flat
    goal 8 in a row
""",
        {
            "across": """\
feed rocket aims block
    side backhand wing
    depth 1 to 4 m inside baseline
    stance 1 m behind baseline
    pace 96 km/h
    spin flat
    interval 6 s
feed rocket-wide aims block, like rocket
    side forehand wing
""",
        },
    ),
}


@dataclass(frozen=True, slots=True)
class Answers:
    hand: str = "right"
    stature: float | None = None
    """Metres; None where it is not said."""
    feeder: str = "club"
    job: str = "rally"


def jobs_for(feeder: str) -> tuple[str, ...]:
    """The jobs whose balls this feeder can give."""
    return tuple(name for name, job in JOBS.items() if _way(feeder) in job.balls)


def first_script(answers: Answers) -> str:
    """The script, in canonical form; it compiles without a finding."""
    from ..grammar import syntax as s  # slow to load, as what follows, and completion needs the names above only
    from ..grammar.edits import amount, changed, name, rewritten
    from ..grammar.format import canonical
    from ..grammar.parse import parse
    from ..grammar.source import Source
    from .resolve.head import YOUNGEST_ADULT_STATURE

    adult = answers.stature is not None and answers.stature >= YOUNGEST_ADULT_STATURE

    def answered(said: s.Sentence) -> s.Sentence:
        match said:
            case s.Player():
                hand = s.Hand(s.keyword(f"{answers.hand.upper()}_HANDED"))
                stature = s.Quantity(s.Word("NUMBER", f"{answers.stature or 0:.2f}"), s.Word("UNIT", "m"))
                return s.Player((hand, s.Tall(stature)) if adult else (hand,))
            case s.Feeder() if answers.feeder in PERSONS:
                return s.Feeder(s.keyword("PERSON"), name(answers.feeder), _place(answers.feeder))
            case s.Feeder():
                return changed(said, name=name(answers.feeder))
            case s.Pace():
                return s.Pace((amount(FAST[answers.feeder], 0, "km/h"),))
        return said

    job = JOBS[answers.job]
    tree, _ = parse(Source(answers.job, HEAD + job.variation + job.balls[_way(answers.feeder)]))
    head, *others = rewritten(tree.lines, answered)
    if answers.stature is not None and not adult:
        head = replace(head, children=tuple(_told(line, CHILD, s.Feeder) for line in head.children))
    feed, wide = (s.Share(None, said.name) for _, said in tree.of(s.Feed))
    session = s.Line(
        s.Session(s.Word("TITLE", '"Ten minutes"'), amount(10, 0, "min")),
        tuple(s.Line(sentence) for sentence in _session(answers.feeder, feed, wide)),
    )
    text = canonical(replace(tree, lines=(head, *others, session)))
    assert text
    return text


def _way(feeder: str) -> str:
    return "hand" if feeder == "basket" else "across"


def _told(line: "Line", comment: str, above: "type[Sentence]") -> "Line":
    """The line with a comment above it, where its sentence is of this class."""
    return replace(line, above=(*line.above, comment)) if isinstance(line.sentence, above) else line


def _place(feeder: str) -> "tuple[Spot, ...]":
    """Where a person stands."""
    from ..grammar import syntax as s
    from ..grammar.edits import amount, name

    if feeder == "racket":
        behind = s.FromLine(amount(1, 0, "m"), s.keyword("BEHIND"), s.keyword("SERVICE_LINE"))
        return s.OnCentre(s.keyword("CENTRE")), behind, s.Screen()
    side = s.PlayersSide(s.Word("ON_PLAYERS_SIDE", "on the player's side"))
    near = s.FromNet(amount(3, 0, "m"), s.keyword("FROM_NET"))
    return side, near, s.FromCentre(amount(1, 0, "m"), name("left"), s.keyword("OF_CENTRE")), s.Screen()


def _session(feeder: str, feed: "Share", wide: "Share") -> "tuple[Sentence, ...]":
    from ..grammar import syntax as s
    from ..grammar.edits import amount, at_most

    one, two, three, four = (amount(minutes, 0, "min") for minutes in (1, 2, 3, 4))
    if feeder == "dials":  # set by hand, so nothing changes within a block
        return s.Timed(two, feed), s.Rest(one), s.Timed(two, wide), s.Collect(two), s.Timed(two, feed), s.Rest(one)
    both = (feed, wide)
    return s.Timed(one, feed), s.Timed(three, s.Cycle(both)), s.Collect(two), s.Timed(four, s.Mix(both, at_most(2)))
