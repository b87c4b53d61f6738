"""The head of a script."""

from collections.abc import Sequence

from ...grammar.facts import Metres, Names
from ...grammar.finding import Hint, Message, Severity
from ...grammar.frozen import Frozen


class ProgramMissing(Message):
    says = "the script has no program line"
    title = "No program line"
    why = "Court, surface, player and feeder are lines under the program line and hold for the whole script."
    example = "feed steady"
    instead = 'program "Tuesday pairs"'


class HeadIncomplete(Message):
    what: str
    says = "the program does not say its {what}"
    title = "A line that the program lacks"
    why = "Surface, player and feeder decide every flight, so Feedwright never assumes them."
    example = 'program "Tuesday pairs"\n    surface hard'
    instead = 'program "Tuesday pairs"\n    surface hard\n    player right-handed, 1.72 m tall\n    feeder machine club'


class HandMissing(Message):
    says = "the player's line does not say right-handed or left-handed"
    title = "The player's hand is missing"
    why = "The hand decides which side is the forehand."
    example = "player 1.72 m tall"
    instead = "player right-handed, 1.72 m tall"


class OneFeeder(Hint):
    says = "a script has one feeder: write a script for each of them, and let one use the feeds of the other"


class ProfileBroken(Message):
    name: str
    reason: str
    says = "the feeder profile {name} cannot be used: {reason}"
    title = "A feeder profile that cannot be used"
    why = (
        "A profile states limits that keep people safe, so a broken one is refused as a whole. If you wrote it, the "
        "message says what is wrong and in which line, and FEEDERS.md has every key; if not, take an included "
        "profile."
    )
    example = "feeder machine mine"
    instead = "feeder machine club"


class FeederKind(Message):
    name: str
    found: str
    kind: str
    says = "{name} is a {kind}, not a {found}"
    title = "A machine called a person, or a person a machine"
    why = "The profile says which of the two it describes."
    example = "feeder person club"
    instead = "feeder machine club"


class AdultHeights(Message):
    stature: Metres
    severity = Severity.WARNING
    says = "body heights are computed as for an adult; {stature:.2 m} is small for an adult"
    title = "An adult's body heights for a small player"
    why = (
        "Knee, waist and shoulder are computed as shares of an adult's stature. For children, and for players in "
        "a wheelchair, it is better to measure the heights and write them in a body line."
    )
    example = "player right-handed, 1.30 m tall"
    instead = "player right-handed, 1.30 m tall\n    body knee 0.36 m, waist 0.78 m, shoulder 1.02 m"


class StatureMissing(Message):
    part: str
    says = "the height of the {part} is unknown: a body line has to say it"
    title = "A body height that nothing tells"
    why = (
        "A height such as waist is a share of the player's stature, or is measured and written in a body line. Where "
        "nothing is said, Feedwright takes a stature (stature-taken), but not where other heights were measured, since "
        "such a player is not like most, and not for the legs of a player in a chair."
    )
    example = "player right-handed\nbody knee 0.4 m\n...\nheight waist, falling"
    instead = "player right-handed\nbody knee 0.4 m, waist 0.9 m"
    otherwise = "measure it, in the chair if the player has one, and write it in the body line"


class BodyHeight(Frozen):
    part: str
    height: Metres


class HeightsTaken(Message):
    """Heights of a player's body that no line says."""

    player: str
    """The name, where the script gives one."""
    stature: Metres
    heights: tuple[BodyHeight, ...]

    @property
    def of(self) -> str:
        return f" of {self.player}" if self.player else ""

    @property
    def parts(self) -> str:
        return _all_of([f"the {one.part} at {one.height:.2 m}" for one in self.heights])


def _all_of(each: Sequence[str]) -> str:
    """`a, b and c`."""
    return " and ".join([", ".join(each[:-1]), each[-1]] if each[1:] else each)


class StatureTaken(HeightsTaken):
    child: bool
    others: Names = Names()
    """Those of whom the same is taken."""
    severity = Severity.NOTE
    says = "no stature{of} is written: {stature:.2 m} is taken, with {parts}"
    title = "A stature that is taken, since none is written"
    why = (
        "A height such as waist is a share of the player's stature. Where no line says it, Feedwright takes 1.63 m, "
        "the median of women of 19 years; on a red court 1.27 m, on an orange one 1.33 m and on a green one 1.38 m, "
        "the medians of children of 8, 9 and 10 years (WHO growth reference 2007, from memory). So for most adults the "
        "ball comes rather too low than too high. Write the stature of the player who comes; of a child measure the "
        "heights and write them in a body line."
    )
    example = "player right-handed\n...\nheight waist, falling"
    instead = "player right-handed, 1.72 m tall"

    @property
    def of(self) -> str:
        return f" of {_all_of((self.player, *self.others))}" if self.player else ""

    def advice(self) -> list[str]:
        if self.child:
            whom = "each child" if self.others else "the child"
            return [f"measure {whom}, and write those heights: these are an adult's shares of that stature"]
        return [f"write {'each' if self.others else 'the'} player's own stature in its place"]


class SeatedHeights(HeightsTaken):
    seat: Metres
    severity = Severity.NOTE
    says = "the chair{of} is not measured: taken {are} {parts}, as of {stature:.2 m} on a seat {seat:.1 m} high"
    title = "Heights in a chair that nobody measured"
    why = (
        "A player with two bounces sits. Where a line names a part of the body and no body line says how high it is, "
        "Feedwright takes a seat of 0.5 m, with the knees as high (common practice, no source), above it the shares "
        "of a seated adult: the head 0.520 of the stature over the seat (Drillis and Contini 1966, from memory), "
        "without a written stature that of stature-taken. Chair, cushion and player decide, so measure them and write "
        "a body line."
    )
    example = "player right-handed, two bounces\n...\nheight waist, falling"
    instead = "player right-handed, two bounces\nbody waist 0.75 m"

    @property
    def are(self) -> str:
        return "are" if self.heights[1:] else "is"

    def advice(self) -> list[str]:
        return ["measure the player in the chair, and write those heights"]


class PlayerNameless(Message):
    says = "of several players each needs a name, on the player's line and on the body line"
    title = "Several players, and one without a name"
    why = "Blocks, body heights and totals are for one of the players, and only a name tells the players apart."
    example = "player right-handed, 1.72 m tall\nplayer left-handed, 1.80 m tall"
    instead = "player called anna, right-handed, 1.72 m tall\nplayer called ben, left-handed, 1.80 m tall"


class TurnsOfNamed(Message):
    says = "players with names take turns as the rotation line says, not as a player's line does"
    title = "Turns on the line of one of several players"
    why = "How players change over holds for all of them, so it has a line of its own."
    example = "player called anna, right-handed, changing every 8 balls\nplayer called ben, left-handed"
    instead = (
        "player called anna, right-handed\nplayer called ben, left-handed\nrotation changing every 8 balls, "
        "changeover 15 s"
    )
