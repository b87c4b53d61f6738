"""A first script from a few answers: one variation, two balls that call for it, ten minutes of them."""

from typing import TYPE_CHECKING, NamedTuple

from ..grammar.frozen import Frozen, replace

if TYPE_CHECKING:
    from ..grammar.syntax import Line, Sentence, Share, Spot


class StarterVariation(NamedTuple):
    """The source of a variation, and of the two feeds that call for it, by how they are fed."""

    variation: str
    feeds: dict[str, str]


MACHINES, PERSONS = ("club", "academy", "dials"), ("basket", "racket")
HANDS = ("right", "left")
STATURES = (1.0, 2.3)

HEAD = """\
# For one player of a doubles pair: one variation, two balls that call for it. Change one thing, and check again.

program "First script"
    court doubles
    surface hard
    player right-handed
    feeder machine club, on centre, on baseline, behind a screen
    note "Nobody stands in front of the feeder; everybody on court may call stop."
"""
CHILD = "    # Heights such as waist are an adult's; a child's are measured and written in a body line."
COURTS = ("singles", "doubles")
GROUNDS = ("hard", "clay", "grass")
GRADES = ("club", "beginner", "improver", "tournament")
"""How widely a player's strokes scatter, by the player's level; the first where nothing is said."""
VARIATIONS = {
    "past": StarterVariation(
        """\
variation past "low and deep, past the player at the net"
    when the player at the net stands still
    reply 0.5 to 6 m inside baseline, at least 0.3 m over net, topspin 900 rpm, 75 km/h
    goal 5 in a row
""",
        {
            "across": """\
feed return aims past
    side 1 to 2.5 m right of centre
    depth 2 to 5 m inside baseline
    stance 0.5 m behind baseline
    height 1 m over net
    spin flat
    interval 6 s
feed return-middle aims past, like return
    side middle
""",
            "hand": """\
feed return aims past
    side 1 to 2.5 m right of centre
    depth 1.5 to 4 m behind service line
    stance 1 m inside baseline
    time 1.3 s to contact
    spin flat
    interval 6 s
feed return-middle aims past, like return
    side middle
""",
        },
    ),
    "over": StarterVariation(
        """\
variation over "high over the player at the net, deep"
    when the player at the net stands close
    reply 0.3 to 5 m inside baseline, at least 3.5 m over net, topspin 300 rpm
    goal 4 in a row
""",
        {
            "across": """\
feed drive aims over
    side 1 to 2.5 m right of centre
    depth 1 to 4 m inside baseline
    stance 1.5 m behind baseline
    height 0.9 m over net
    spin topspin 600 rpm
    interval 6 s
feed drive-middle aims over, like drive
    side middle
""",
            "hand": """\
feed drive aims over
    side 1 to 2.5 m right of centre
    depth 2 to 5 m behind service line
    stance 0.5 m behind baseline
    time 1.6 s to contact
    spin flat
    interval 6 s
feed drive-middle aims over, like drive
    side middle
""",
        },
    ),
    "between": StarterVariation(
        """\
variation between "a volley between the two players"
    when the partner serves, and the return comes high over the net
    reply 1 to 9 m inside baseline, to middle, at least 0.1 m over net, flat, 60 km/h
    goal 6 in a row
""",
        {
            "across": """\
feed floating aims between
    side 0.5 to 1.5 m left of centre
    stance 3 m from net
    height 1.4 m, on the full
    pace 64 km/h
    spin flat
    interval 5 s
feed floating-other aims between, like floating
    side 0.5 to 1.5 m right of centre
""",
        },
    ),
}


PLACES = ("", "baseline", "service line", "from net")
"""Where a feeder stands across the net: where it usually does, on a line, or so many metres from the net."""
USUAL = {"racket": "1 m behind the service line", "basket": "on the player's side, 3 m from the net"}
"""Where it usually stands, in words; any other on the baseline."""
MOST_PLAYERS = 8


COARSE_FEEDERS = ("racket", "dials")
SCATTERS = "# This feeder sends more than one ball in ten beside its zone, or higher or lower than asked."
"""For feeders that scatter their balls more than a first script asks."""


class Answers(Frozen):
    hand: str = "right"
    stature: float | None = None
    """Metres; None where it is not said."""
    feeder: str = "club"
    variation: str = "past"
    """Empty for a script that has no ball yet."""
    title: str = "First script"
    court: str = "doubles"
    """What is played; the variations are those of a doubles player."""
    place: str = PLACES[0]
    metres: float = 11.0
    """From the net, where `place` says so."""
    screen: bool = True
    players: int = 1
    """Who take turns; they change every so many balls."""
    turns: int = 1
    surface: str = GROUNDS[0]
    level: str = GRADES[0]


def variations_for(feeder: str) -> tuple[str, ...]:
    """The variations whose balls this feeder can give."""
    return tuple(name for name, variation in VARIATIONS.items() if _way(feeder) in variation.feeds)


def first_script(answers: Answers) -> str:
    """The script, in canonical form; it compiles without a finding, unless it has no ball yet."""
    from ..grammar import syntax as s  # slow to load, as what follows, and completion needs the names above only
    from ..grammar.edits import amount, changed, counted, launches, name, rewritten
    from ..grammar.format import canonical
    from ..grammar.parse import parse
    from ..grammar.source import Source
    from .model.player import YOUNGEST_ADULT_STATURE

    adult = answers.stature is not None and answers.stature >= YOUNGEST_ADULT_STATURE

    def answered(said: s.Sentence) -> s.Sentence:
        match said:
            case s.Player():
                hand = s.Hand(s.keyword(f"{answers.hand.upper()}_HANDED"))
                stature = s.Quantity(s.Word("NUMBER", f"{answers.stature or 0:.2f}"), s.Word("UNIT", "m"))
                every = launches("BALLS", answers.turns)
                many = (s.TakingTurns(counted(answers.players)), s.ChangingEvery(counted(answers.turns), every))
                level = (s.ScatterLevel(name(answers.level)),) if answers.level != GRADES[0] else ()
                tall = (s.Tall(stature),) if adult else ()
                return s.Player((hand, *tall, *level, *(many if answers.players > 1 else ())))
            case s.Program():
                return s.Program(s.Word("TITLE", f'"{answers.title}"'))
            case s.Court():
                return changed(said, name=name(answers.court))
            case s.SurfaceNamed():
                return changed(said, name=name(answers.surface))
            case s.Feeder():
                sort = s.keyword("PERSON") if answers.feeder in PERSONS else said.sort
                spots = _spots(answers) or said.spots
                wanted = spots if answers.screen else tuple(spot for spot in spots if not isinstance(spot, s.Screen))
                return s.Feeder(sort, name(answers.feeder), wanted)
        return said

    chosen = VARIATIONS.get(answers.variation)
    balls = chosen.variation + chosen.feeds[_way(answers.feeder)] if chosen else ""
    tree, _ = parse(Source(answers.variation, HEAD + balls))
    head, *others = rewritten(tree.lines, answered)
    if answers.stature is not None and not adult:
        head = replace(head, children=tuple(_told(line, CHILD, s.Feeder) for line in head.children))
    coarse = answers.feeder in COARSE_FEEDERS
    accepted = s.Line(s.Accept(name("height-varies" if answers.variation == "between" else "zone-small")))
    beside = (replace(accepted, above=("", SCATTERS)),) if coarse else ()
    if chosen is None:
        text = canonical(replace(tree, lines=(replace(head, above=()), *beside)))
        assert text
        return text
    feed, wide = (s.Share(None, said.name) for _, said in tree.of(s.Feed))
    session = s.Line(
        s.Session(s.Word("TITLE", '"Ten minutes"'), amount(10, 0, "min")),
        tuple(s.Line(sentence) for sentence in _session(answers.feeder, feed, wide)),
    )
    text = canonical(replace(tree, lines=(head, *beside, *others, session)))
    assert text
    return text


def _way(feeder: str) -> str:
    return "hand" if feeder == "basket" else "across"


def _told(line: "Line", comment: str, above: "type[Sentence]") -> "Line":
    """The line with a comment above it, where its sentence is of this class."""
    return replace(line, above=(*line.above, comment)) if isinstance(line.sentence, above) else line


def _spots(answers: Answers) -> "tuple[Spot, ...]":
    """Where the feeder stands; nothing for where a first script has it."""
    from ..grammar import syntax as s
    from ..grammar.edits import amount, name

    def across(place: s.Distance) -> "tuple[Spot, ...]":
        return s.OnCentre(s.keyword("CENTRE")), place, s.Screen()

    match answers.place:
        case "baseline":
            return across(s.OnLine(s.keyword("BASELINE")))
        case "service line":
            return across(s.OnLine(s.keyword("SERVICE_LINE")))
        case "from net":
            return across(s.FromNet(amount(answers.metres, 1, "m"), s.keyword("FROM_NET")))
    if answers.feeder == "racket":
        return across(s.FromLine(amount(1, 0, "m"), s.keyword("BEHIND"), s.keyword("SERVICE_LINE")))
    if answers.feeder in PERSONS:
        side = s.PlayersSide(s.Word("ON_PLAYERS_SIDE", "on the player's side"))
        near = s.FromNet(amount(3, 0, "m"), s.keyword("FROM_NET"))
        return side, near, s.FromCentre(amount(1, 0, "m"), name("left"), s.keyword("OF_CENTRE")), s.Screen()
    return ()


def _session(feeder: str, feed: "Share", wide: "Share") -> "tuple[Sentence, ...]":
    from ..grammar import syntax as s
    from ..grammar.edits import amount, at_most

    one, two, three, four = (amount(minutes, 0, "min") for minutes in (1, 2, 3, 4))
    if feeder == "dials":  # set by hand, so nothing changes within a block
        return s.Timed(two, feed), s.Rest(one), s.Timed(two, wide), s.Collect(two), s.Timed(two, feed), s.Rest(one)
    both = (feed, wide)
    return s.Timed(one, feed), s.Timed(three, s.Cycle(both)), s.Collect(two), s.Timed(four, s.Mix(both, (at_most(2),)))
