"""Scores: counts of a block or of rounds that hits and misses move."""

from ...grammar.facts import Names, Portion
from ...grammar.finding import Hint, Message, OfName, Severity


class ScoreOfRounds(Message):
    says = "the rounds around it have a score, which counts all their blocks on and ends none"
    title = "A score inside a score"
    why = (
        "A score under rounds goes on from block to block and from round to round, and a `goal score` asks what it "
        "should be at the end. A block ends at a score of its own, which begins anew in each round: then the rounds "
        "have none."
    )
    example = "3 rounds\n    score slice 1, drive 2\n    20 balls cycle slice, drive, until score 20"
    instead = "3 rounds\n    20 balls cycle slice, drive, until score 20\n        score slice 1, drive 2"


class ScoreOfNone(OfName):
    name: str
    known: Names
    says = "the score has a number for {name}, which is not played here"
    title = "A score of something that is not played"
    why = (
        "A number in a score stands behind a feed, a point or a variation of the balls that it counts. All others add "
        "what `hit` says, 1 if nothing says it."
    )
    example = "20 balls cycle slice, drive\n    score lob 3"
    instead = "20 balls cycle slice, drive\n    score drive 3"

    def advice(self) -> list[str]:
        return super().advice() or [f"what is played: {', '.join(self.known)}"]


class ScoreDown(Hint):
    says = "a score that goes down begins above its end: score from 5, hit 0, miss -1"


class ScoreAtStart(Message):
    start: int
    says = "the score begins at {start}, so the block would be over before its first ball"
    title = "A score that begins at its end"
    why = "A score begins at 0, or with `from` elsewhere, and the block ends once another score is reached."
    example = "60 balls steady, until score 0"
    instead = "60 balls steady, until score 0\n    score from 5, hit 0, miss -1"
    otherwise = "let it begin elsewhere, or end at another score"


class ScoreOneWay(Message):
    start: int
    near: int
    far: int
    says = "from {start} the score comes to {near} before {far}, so {far} ends nothing"
    title = "Two ends on one side of the start"
    why = "Of two ends one lies above the start and one below it. On one side the nearer one always comes first."
    example = "60 balls steady, until score 10 or 20"
    instead = "60 balls steady, until score 10 or -5\n    score miss -1"


class ScoreOutside(Message):
    start: int
    way: str
    bound: int
    says = "the score begins at {start}, and is {way} {bound}"
    title = "A score that begins beyond its bound"
    why = "A score that is `at most` or `at least` so much begins within that. It begins at 0 if no `from` is said."
    example = "score from 8, miss -1, at most 5"
    instead = "score from 5, miss -1, at most 5"
    otherwise = "change the bound, or where the score begins"


class ScoreTooFar(Message):
    score: int
    best: int
    count: int
    goal: bool = False
    points: bool = False
    says = "{asked} score {score}: no marks of its {count} {what} bring it further than {best}"
    title = "A score that no player can reach"
    why = (
        "All hits together, or all misses, do not move the score so far, or a bound of the score holds it back. Ask "
        "for a nearer score, let marks add more, or give the block more balls."
    )
    example = "20 balls steady, until score 30"
    instead = "20 balls steady, until score 30\n    score hit 2"

    @property
    def asked(self) -> str:
        return "goal" if self.goal else "until"

    @property
    def what(self) -> str:
        return "points" if self.points else "balls"


class ScoreFar(Message):
    score: int
    share: Portion
    chance: Portion
    goal: bool = False
    severity = Severity.NOTE
    says = "replies are good {share:of ten} in ten: {odds} of {asked} score {score}"
    title = "A score that is out of reach"
    why = (
        "How likely a score is follows ball by ball from how many of ten replies are good, each by itself (a Markov "
        "chain, as in Feller, An Introduction to Probability Theory, vol. 1, XIV and XV). The note comes below one "
        "chance in ten, our own choice, and not for an end below the start, which nobody plays for. Few replies are "
        "independent, and the forecast is for a player with the `scatter` of the script."
    )
    example = "20 balls steady, until score 20"
    instead = "20 balls steady, until score 8"
    otherwise = "ask for a nearer score, or let a miss cost less"

    @property
    def asked(self) -> str:
        return "goal" if self.goal else "until"

    @property
    def odds(self) -> str:
        if self.chance <= 0:
            return "no chance"
        return f"a chance of 1 in {1 / self.chance:,.0f}" if self.chance > 1e-6 else "less than 1 chance in a million"


class ResultsByHand(Message):
    results: int
    machine: bool
    severity = Severity.NOTE
    says = "how often in ten is not told: a person says which of {results} results a ball has{screen}"
    title = "Results that a person tells apart"
    why = (
        "A score may have other results than hit and miss, such as two bounces before the line. No flight of a reply "
        "says how often each of them comes. The sheet has a box for each ball to write down what it adds, and the "
        "phone a button for each result of a ball, and counts. On the keys of a replay and in the log a ball is a hit "
        "or a miss: there the score is typed in afterwards, and where it ends a block the key n goes on."
    )
    example = 'score "twice before the line" 3, "in the box" 1'
    instead = "score hit 1, miss -1"

    @property
    def screen(self) -> str:
        return "; the keys of the machine's screen count none of them, paper and phone do" if self.machine else ""


class RecordOfNone(Message):
    says = "a record counts how long a block goes on, and this one has no end, or several"
    title = "A record of a block that nothing ends"
    why = (
        "A record is so many balls, or points, that a block should outlast, or where hits end it, need less than. So "
        "one thing ends the block early: hits, misses, or a score with one end. A game has a winner instead."
    )
    example = "60 balls steady\n    record 30 balls"
    instead = "60 balls steady, until score 0\n    score from 5, hit 0, miss -1\n    record 30 balls"


class RecordTooFar(Message):
    record: int
    count: int
    points: bool
    longer: bool
    says = "the record is {record} {what}, and the block has {count}, so {nobody}"
    title = "A record that nobody can beat, or everybody"
    why = (
        "A block has a last ball. A record that it should outlast lies before that one, and so does one that it should "
        "not need."
    )
    example = "30 balls steady, until score 0\n    score from 5, hit 0, miss -1\n    record 30 balls"
    instead = "60 balls steady, until score 0\n    score from 5, hit 0, miss -1\n    record 30 balls"
    otherwise = "give the block more, or another record"

    @property
    def what(self) -> str:
        return "points" if self.points else "balls"

    @property
    def nobody(self) -> str:
        return "nobody can beat it" if self.longer else "whoever comes to the end beats it"
