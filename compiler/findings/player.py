"""The player: time to see and to move, the pace that suits, the way from ball to ball."""

from math import floor

from ...grammar.facts import BallName, Metres, Names, Portion, Seconds, Speed
from ...grammar.finding import Message, OfBall, Severity


class NoTimeToSee(OfBall):
    time: Seconds
    see: Seconds
    move: Seconds
    known: bool = False
    """Whether the player knows that this ball comes next."""
    severity = Severity.WARNING
    says = "{ball} reaches the player {arrives} after its launch; {seeing} it takes about {sees}, getting to it {moves}"
    title = "No time to see a ball and get to it"
    why = (
        "A player who does not know which ball comes needs about 0.38 s to recognise it, and about 0.22 s where one "
        "ball or a cycle leaves no doubt (Laming 1968, as quoted in reviews); a child of eight to ten takes up to "
        "twice as long (Kail 1991). Then the player has to bring the racket "
        "to the ball, on foot or in a chair, from the middle of all balls of the block; backwards it takes longer "
        "(Uthoff and others 2018, from memory). A slower or a higher ball "
        "gives time, and so does one that is met later, where it has fallen lower; a deeper stance does only while the "
        "way does not grow as much."
    )
    otherwise = "a slower ball, a higher one, or balls that come nearer to each other give time"
    example = "stance 1 m from net"
    instead = "stance 4 m from net"

    @property
    def decimals(self) -> int:
        """Of the figures, as many as show that the last two come to more than the first."""
        told = ((many, [round(one, many) for one in (self.time, self.see, self.move)]) for many in (2, 3))
        return next((many for many, (time, see, move) in told if see + move > time + 1e-9), 4)

    @property
    def arrives(self) -> str:
        return f"{self.time:.{self.decimals} s}"

    @property
    def sees(self) -> str:
        return f"{self.see:.{self.decimals} s}"

    @property
    def moves(self) -> str:
        return f"{self.move:.{self.decimals} s}"

    @property
    def seeing(self) -> str:
        return "seeing" if self.known else "recognising"


class NotFromTheMiddle(OfBall):
    time: Seconds
    see: Seconds
    move: Seconds
    known: bool = False
    """Whether the player knows that this ball comes next."""
    severity = Severity.NOTE
    says = (
        "{ball} reaches the player {time:.2 s} after its launch, who waits near it; for one in the middle of the court "
        "{seeing} it takes about {see:.2 s}, getting to it {move:.2 s}"
    )
    title = "A ball that is out of reach from the middle of the court"
    why = (
        "A player waits in the middle of all balls of the block, so where they all come to one side, on that side. "
        "The note comes of the fastest ball there is where a player in the middle of the court would be late, by the "
        "times of no-time-to-see. If the player comes from the middle, the line `starts on centre` of the feed says "
        "so: the fastest ball is then one that leaves the time for that way, and of any other the check warns."
    )
    example = "side backhand corner\npace fastest"
    instead = "side backhand corner\npace fastest\nstarts on centre"

    @property
    def seeing(self) -> str:
        return "seeing" if self.known else "recognising"


class MetFartherOut(OfBall):
    lands: Metres
    met: Metres
    way: Metres
    severity = Severity.NOTE
    says = "{ball} lands {lands:.1 m} from the centre and is met {met:.1 m} from it; the player goes {way:.1 m}"
    title = "A ball that is met farther out than it lands"
    why = (
        "A wide ball goes on outward after its bounce: the farther behind its bounce it is met, the farther "
        "out. The note comes where a line says from where the player starts, or bounds the way, and the two are "
        "more than 0.5 m apart, our own choice. A bound of the way aims the ball so that the player reaches it."
    )
    example = "side 2.6 to 4 m right of centre\nstance 3 m behind baseline\nstarts on centre"
    instead = "side 1.6 to 4 m right of centre\nstance 3 m behind baseline\nstarts on centre\nway at most 2.5 m"


class RunRound(OfBall):
    stroke: str
    other: str
    told: bool
    """Whether a line says where the player waits."""
    way: Metres
    severity = Severity.NOTE
    says = "{ball} comes to the {other} side of {where}; for a {stroke} the player goes {way:.1 m} round it"
    title = "A ball that is run round"
    why = (
        "`stroke` says with which stroke the ball is to be taken. The ball comes to the other side of where the player "
        "waits, or of the centre where no line says that, so the player has to run round it. That takes longer than "
        "the stroke of that side: the ball has to be 0.3 m beside the body, our own choice. If it is not meant, leave "
        "the line out, or change the `side` or `starts`."
    )
    example = "side backhand wing\nstroke forehand"
    instead = "side forehand wing\nstroke forehand"

    @property
    def where(self) -> str:
        return "where the player waits" if self.told else "the centre"


class MetFarBack(OfBall):
    found: Names
    """What its lines leave open, the stance among that."""
    beyond: Metres
    short: bool
    """Whether the ball comes down short of the service line, and the player has to go back for it."""
    severity = Severity.NOTE
    says = "{ball}: {found:, }; that is {beyond:.1 m} behind its bounce{gone}"
    title = "A ball that is met far back"
    why = (
        "Where the stance is open, the player stands where the ball is at the height asked. On its way down that is "
        "four to eight metres behind its bounce. The note comes where it is more than 3 m behind the baseline, less on "
        "a smaller court; also where a line says from where the player starts, and a ball short of the service line is "
        "met behind that. Both are our own choice. On its way up, or higher, the same ball is met nearer to the net. "
        "Without `falling`, Feedwright chooses the way by these."
    )
    example = "pace 70 km/h\n    stance where it is hip high, falling"
    instead = "pace 70 km/h\n    stance where it is hip high, rising"

    @property
    def gone(self) -> str:
        return ", though it comes down short of the service line; the player goes back for it" if self.short else ""


class BelowTheKnee(OfBall):
    height: Metres
    knee: Metres
    severity = Severity.NOTE
    says = "{ball} is met {height:.2 m} high, below the knee at {knee:.2 m}; no line asks for that"
    title = "A ball that is met below the knee"
    why = (
        "Where a height over the net, a pace or a time decides the flight, the player takes the ball as high as it "
        "comes at the stance. Below the knee that is a low volley or nearly a half-volley. Where that is meant, a "
        "height at the player asks for it."
    )
    example = "height 0.5 m over net\n    stance on baseline"
    instead = "height 0.5 m over net\n    stance where it is waist high"


class OverTheShoulder(OfBall):
    height: Metres
    shoulder: Metres
    severity = Severity.NOTE
    says = "{ball} is met {height:.2 m} high, over the shoulder at {shoulder:.2 m}; no line asks for that"
    title = "A ball that is met over the shoulder"
    why = (
        "Where a height over the net, a pace or a time decides the flight, the player takes the ball as high as it "
        "comes at the stance. A soft ball that has just bounced may still rise past the shoulder there. Farther back, "
        "or with less height over the net, it comes lower. Where a high ball is meant, a height at the player asks for "
        "it."
    )
    example = "height 2 m over net\n    stance 1 m behind service line"
    instead = "height 2 m over net\n    stance where it is waist high"


class HeightsApart(Message):
    name: str
    low: Metres
    high: Metres
    severity = Severity.NOTE
    says = "the balls of {name} are met between {low:.2 m} and {high:.2 m} high, all from one stance"
    title = "Balls of a family that are met at very different heights"
    why = (
        "A short ball has fallen farther than a deep one when it comes to the same stance. The note comes if the "
        "heights differ by more than 0.5 m, our own choice. A player steps forward and back instead: a stance that "
        "follows the ball, or no stance beside a height at the player, says so."
    )
    example = "depth 1 to 5 m inside baseline, in 5 steps\n    stance 2 m behind baseline"
    instead = "depth 1 to 5 m inside baseline, in 5 steps\n    stance where it is waist high"


class FastForLevel(OfBall):
    pace: Speed
    level: str
    usual: Speed
    small: Metres | None = None
    """The player's stature, where it is why the pace is less."""
    severity = Severity.WARNING
    says = "{ball} leaves at {pace}; a player of the level {level}{smaller} seldom meets more than {usual}"
    title = "A ball faster than the player's level usually meets"
    why = (
        "No line asks for this pace: it follows from the height, the place and the spin. Up to 90 km/h for a beginner, "
        "110 km/h for an improver and 130 km/h for a club player are our own choice; `scatter` in the player's line "
        "says the level. For a player under 1.63 m, or on a junior court, it is as much less as the time to recognise "
        "a ball and to run 3 m is longer, our own choice "
        "too. Where so fast a ball is meant, a pace says so, and the warning does not come."
    )
    example = "height 0.5 m over net\n    spin topspin 1500 rpm"
    instead = "height 1.2 m over net\n    spin topspin 1500 rpm"

    @property
    def smaller(self) -> str:
        return f" and {self.small:.2 m} tall" if self.small else ""


class NoTimeAfterServe(OfBall):
    time: Seconds
    needed: Seconds
    severity = Severity.WARNING
    says = "{ball} reaches the player {time:.1 s} after the serve; landing and getting to it take about {needed:.1 s}"
    title = "No time after the serve"
    why = (
        "A server lands inside the court and has to stand ready before the next stroke: about 0.7 s, our own choice. "
        "Then comes the way from the middle of the baseline to the ball."
    )
    example = "player serves, then 0.3 s"
    instead = "player serves, then 1.5 s"


class FarToRun(Message):
    before: BallName
    after: BallName
    way: Metres
    time: Seconds
    start: bool = False
    """Whether the way ends where a line says that the player starts for the next ball, and the time at its launch."""
    straight: bool = False
    """Whether the player comes straight to the net behind the ball before."""
    severity = Severity.WARNING
    says = "from {before} to {goal}"
    title = "Far to run"
    why = (
        "In matches a player runs about 3 m for a stroke, and hits four in five within 2.5 m of the ready position "
        "(Fernandez and others, 2006). The warning comes where the way is longer than 3 m and the time too "
        "short for it: each run from ball to middle and from middle to ball has 2.5 m/s on average over its first 3 m, "
        "with start and stop, and 5 m/s where it is longer, less for small players and backwards (common practice, no "
        "source). To a ball on the full that is met more than 3 m nearer to the net the player comes straight. Where "
        "`starts` says from where the player starts for the next ball, the way ends there and the time "
        "at its launch; of the way on from there no-time-to-see tells. A longer "
        "interval gives the player time, and so does a stance nearer to where the ball before is met."
    )
    example = "interval 2.5 s"
    instead = "interval 5 s"

    @property
    def goal(self) -> str:
        if not self.start:
            apart = f"the two are met {self.time:.1 s} apart"
            how = "straight to the net" if self.straight else "through the middle"
            return f"{self.after} the player runs {self.way:.1 m} {how}; {apart}"
        launched = f"{self.after} is launched {self.time:.1 s} after {self.before} is met"
        return f"where {self.after} starts the player runs {self.way:.1 m}; {launched}"


class ChangeoverShort(OfBall):
    time: Seconds
    needed: Seconds
    alone: bool = False
    """Whether players with names have no rotation, so that a line of its own says it."""
    severity = Severity.WARNING
    says = "the players change over within {time:.1 s}, before {ball}; the least is {needed}"
    title = "No time to change over"
    why = (
        "One player has to leave and the next has to be ready before the ball comes. Five seconds are our own choice, "
        "for players who stand close by. A longer interval gives them time, and so does a changeover. One that is "
        "written is meant, also a shorter one. Without a rotation, two whose balls of a block are met more than 2 m "
        "apart are both on court, our own choice, and nobody changes over."
    )
    example = "player right-handed, 2 taking turns, changing every 6 balls\n...\n    interval 3 s"
    instead = "player right-handed, 2 taking turns, changing every 6 balls\n...\n    interval 6 s"

    def advice(self) -> list[str]:
        enough = floor(self.time * 10) / 10
        line = f"a line of its own may say it: rotation changeover {enough:g} s"
        line = line if self.alone else f"their line may say it: changeover {enough:g} s"
        return [f"if so little is enough, {line}"] if enough >= 1 else []


class NoBallFor(Message):
    block: str
    players: Names
    without: Names
    turn: int
    severity = Severity.NOTE
    says = "`{block}` is for {players:, }, but {without: and } {get} no ball: a turn is {turn} balls"
    title = "A block in which somebody gets no ball"
    why = (
        "Each block begins with the first player, and a turn is as long as the rotation says. A block with fewer balls "
        "than that for all ends before everybody had a turn."
    )
    example = "rotation changing every 4 balls\n...\n    4 balls steady"
    instead = "rotation changing every 4 balls\n...\n    2 balls steady for anna\n    2 balls steady for ben"

    @property
    def get(self) -> str:
        return "gets" if len(self.without) == 1 else "get"


class SharesApart(Message):
    block: str
    ball: BallName
    most: str
    share: Portion
    least: str
    other: Portion
    turn: int
    round: int
    severity = Severity.NOTE
    says = (
        "of `{block}`, {share} of the balls of {most} are {ball}, but {other} of those of {least}: changing "
        "every {turn} cuts a cycle of {round}"
    )
    title = "Players who get different shares of a cycle"
    why = (
        "A turn that is no whole number of cycles ends in the middle of one, and the next player goes on from there. "
        "The note comes if the shares of a ball differ by 15 % or more, our own choice."
    )
    example = "rotation changing every 5 balls\n...\n    20 balls cycle steady, high"
    instead = "rotation changing every 4 balls\n...\n    20 balls cycle steady, high"
