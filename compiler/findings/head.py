"""The head of a script."""

from ...grammar.facts import Metres
from ...grammar.finding import Message, Severity


class ProgramMissing(Message):
    says = "the script has no program line"
    title = "No program line"
    why = "Court, surface, player and feeder hold for the whole script and stand under its program line."
    example = "feed steady"
    instead = 'program "Backhand wing"'


class HeadIncomplete(Message):
    what: str
    says = "the program does not say its {what}"
    title = "Something the program has to say"
    why = "How the ball bounces, who plays and who feeds decide every flight, so they are never assumed."
    example = 'program "Backhand wing"\n    surface hard'
    instead = 'program "Backhand wing"\n    surface hard\n    player right-handed, 1.72 m tall\n    feeder machine club'


class HandMissing(Message):
    says = "the player's line does not say right-handed or left-handed"
    title = "The player's hand is missing"
    why = "Forehand and backhand sides follow from it."
    example = "player 1.72 m tall"
    instead = "player right-handed, 1.72 m tall"


class ProfileBroken(Message):
    name: str
    reason: str
    says = "the feeder profile {name} cannot be used: {reason}"
    title = "A feeder profile that cannot be used"
    why = (
        "A profile states limits that keep people safe, so a broken one is refused whole. If you wrote it, the "
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
    title = "Machine and person confused"
    why = "The profile says which of the two it describes."
    example = "feeder person club"
    instead = "feeder machine club"


class AdultHeights(Message):
    stature: Metres
    severity = Severity.WARNING
    says = "body heights are shares of an adult's stature; {stature:.2 m} is small for an adult"
    title = "Body heights of an adult for somebody small"
    why = (
        "Knee, waist and shoulder are computed as shares of an adult's stature. For children, and for players in "
        "a wheelchair, heights are better measured and written in a body line."
    )
    example = "player right-handed, 1.30 m tall"
    instead = "player right-handed, 1.30 m tall\n    body knee 0.36 m, waist 0.78 m, shoulder 1.02 m"


class StatureMissing(Message):
    part: str
    says = "the height of the {part} is not known: neither the player's stature nor a body line gives it"
    title = "A body height without a body"
    why = "A height such as waist needs the player's stature, or a body line."
    example = "player right-handed"
    instead = "player right-handed, 1.72 m tall"
