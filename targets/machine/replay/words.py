"""What a replay says to people: the cautions, and why something ended."""

from collections.abc import Iterable

from ....compiler.model.takers import called
from ....compiler.printable import visible
from ...log.points import PointTally
from ...log.scores import ScoreSoFar
from ...log.until import HoldSoFar
from ...outputs.sheet.words import until

CAUTIONS = (
    "Nobody stands in front of the machine until the code is typed; the walk time is for the player's way to the "
    "baseline.",
    "Stop works only while this program, the computer and the cable work. It is not an emergency stop: keep the "
    "machine's own switch within reach of someone who is not in front of it.",
    "One ball may still come after Stop.",
    "{quiet}",
    "If you play alone, the keyboard is far away: use the machine's own remote or timer too. Never leave minors alone "
    "with a machine.",
    "Wear eye protection for racket sports (ASTM F3164). The maker's manual, local rules and a qualified coach come "
    "first.",
)
AGAIN = (
    "Nobody in front of the machine; its own switch within reach of someone who is not in front; one ball may still "
    "come after Stop."
)
QUIET_SHOWN = (
    "If the link is lost, the machine should stop by itself within half a second. Tested today: it takes no order from "
    "a host that went quiet."
)
QUIET_NOT_SHOWN = "If the link is lost, this machine may go on throwing: NO test showed that it stops by itself."
QUIET_ASKED = (
    "If the link is lost, the machine should stop by itself within half a second. Before it arms, a silence test shows "
    "that it takes no order from a silent host; a machine that takes one is refused."
)
HEARD = "The machine heard its stop line and answered. Whether it obeyed is not known: make sure that it stands still."
SAYS_NOTHING = "This machine does not report a stop: use its own switch."
PLAYED = "All balls are played"
LEFT = "Nothing is left after the last block"
PART_PLAYED = "this part is played"
RECORD_LATE = "the record was not on the disk in time"
OWN_SWITCH = "go to its own switch, from behind"
STOP_UNSENT = "The machine's stop line could not be sent."
SKIPPED = "skipped to the next block"
POINT_LEFT = "After the miss the next point comes."
GOES_ON = "the mark that ended the block is taken back: the block goes on"
NOT_CONFIRMED = "NOT CONFIRMED - use the machine's own switch"

WHY = {
    "garbled": "the line did not arrive whole", "asleep": "the machine is in no session", "number": "a line was lost",
    "old-session": "the machine is in another session", "verb": "the machine does not know the word",
    "words": "a value is missing", "version": "the machine speaks another version", "state": "the machine is not armed",
    "stop-unproven": "stop was not proven", "not-fresh": "the link was quiet for too long",
    "range": "a setting is out of its range", "done-already": "the machine has thrown this ball already",
    "no-question": "there is no question to answer", "wrong-answer": "the answer was wrong",
    "answer-time": "the answer came too early or too late", "cap": "the speed is over the machine's cap",
    "ball": "another ball is next", "busy": "a ball is waiting", "late": "its moment is past",
    "early": "its moment is too far ahead", "walk-time": "the walk time is not over", "gap": "too soon after the last",
    "not-ready": "the machine is not ready", "fault": "the machine reports a fault of its own",
    "quiet": "the link was quiet for too long", "moment": "the machine itself was late",
    "wheels": "the wheels are slow",
    "hold": "held", "jam": "a jam", "byte": "stop was heard", "key": "its own stop key", "stop": "stop was heard",
}  # fmt: skip
"""A device's words, for people."""


def port(baud: int) -> str:
    return f"{baud} baud, 8 data bits, no parity, 1 stop bit"


def game_over(score: PointTally) -> str:
    """The points of the player, or of a pair, first."""
    winner = "this side wins" if score.won > score.lost else "the other side wins"
    return f"the game is over, {score.won} to {score.lost}: {winner}"


def held(holdings: Iterable[HoldSoFar]) -> str:
    return f"the block is over, it went on {visible(' and '.join(until(one.hold) for one in holdings))}"


def ladder_over(rung: str) -> str:
    return f"the ladder is over, its last rung is won: {visible(rung)}"


def score_over(score: ScoreSoFar) -> str:
    return visible(f"the block is over, the score{f' of {called(score.who)}' if score.who else ''} is {score.now}")


def why(word: str) -> str:
    return WHY.get(word, word)


def cautions(quiet: str, again: bool = False) -> list[str]:
    """All of them, with what is known of a lost link; `again`, once they were told in full, the essential."""
    if again:
        return [AGAIN] + [quiet] * (quiet == QUIET_NOT_SHOWN)
    return [text.replace("{quiet}", quiet) for text in CAUTIONS]
