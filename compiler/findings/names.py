"""Names and amounts that make no sense where they stand."""

from ...grammar.facts import Between, Measured, Metres, Names, Numbers
from ...grammar.finding import Message, OfName, Severity


class UnknownName(OfName):
    kind: str
    name: str
    known: Names
    says = "there is no {kind} called “{name}”"
    title = "A name that neither the script nor the language has"
    why = "The coach names feeds, variations and zones; the language names the rest, and LANGUAGE.md lists it."
    example = "depth deap"
    instead = "depth deep"

    def advice(self) -> list[str]:
        return super().advice() or ([f"possible: {self.known}"] if self.known else [])


class Duplicate(Message):
    what: str
    says = "{what} appears twice"
    title = "The same thing twice"
    why = (
        "Two lines about the same thing may disagree, so one of them has to go. The message shows the first too. A "
        "second session is a script of its own, which may use the feeds of the first."
    )
    example = "feed steady\n    depth deep\n    depth short"
    instead = "feed steady\n    depth deep"


class WrongUnit(OfName):
    what: str
    found: str
    wanted: Names
    says = "{what} is not measured in {found}; units that fit: {wanted:, }"
    title = "A unit of the wrong kind"
    why = "Heights are lengths, intervals are times, spin is turns in a minute. The units that fit are listed."
    example = "height 4 s over net"
    instead = "height 1.2 m over net"


class ImpossibleNumber(Message):
    what: str
    found: str
    possible: Between | Numbers
    says = "{what}: {found} makes no sense; possible: {possible}"
    title = "A number that makes no sense"
    why = "The range is wide on purpose: it catches typing mistakes. Other checks ask what the feeder can do."
    example = "player right-handed, 17.2 m tall"
    instead = "player right-handed, 1.72 m tall"


class RangeBackwards(Message):
    low: Measured
    high: Measured
    says = "this range runs backwards: {low_figure} is not below {high:6}"
    title = "A range that runs backwards"
    why = "A range goes from the smaller to the larger value."
    example = "depth 3 to 1 m inside baseline"
    instead = "depth 1 to 3 m inside baseline"

    @property
    def low_figure(self) -> str:
        return self.low.figure(6)


class RangeNotHere(Message):
    what: str
    says = "{what} takes one value, not a range"
    title = "A range where one value is needed"
    why = "A place to stand, a spin or a pace is one value."
    example = "stance 1 to 2 m behind baseline"
    instead = "stance 1.5 m behind baseline"


class BeyondTheNet(Message):
    found: str
    line: str | None
    """From which the place is counted, where it is one; then also how far the net is from it."""
    net: Metres | None
    says = "{found} reaches the net or lies beyond it{where}"
    title = "A place at the net or beyond it"
    why = (
        "A stance, a landing and a feeder's place each lie in one half of the court. From the baseline the net is "
        "half a court away; on a smaller court that is less."
    )
    example = "stance 12.5 m inside baseline"
    instead = "stance 2.5 m inside baseline"

    @property
    def where(self) -> str:
        return f"; the net is {self.net:3} inside the {self.line}" if self.net is not None else ""


class SetUnknown(Message):
    name: str
    known: Names
    says = "--set names “{name}”, which this script does not give; it gives {known:, }"
    title = "--set with a name that the script does not give"
    why = "--set can only change amounts to which the script gives a name."
    example = "feedwright check mine.feed --set rythm=5s"
    instead = "feedwright check mine.feed --set rhythm=5s"


class GivenUnknown(OfName):
    name: str
    says = "no line gives an amount called “{name}”"
    title = "An amount that no line gives"
    why = "A line `given` under the program names each amount."
    example = "interval given rythm"
    instead = "interval given rhythm"


class GivenUnused(Message):
    name: str
    severity = Severity.NOTE
    says = "no line uses the amount {name}"
    title = "An amount that no line uses"
    why = "To change such an amount, also with --set, changes no ball."
    example = "given rhythm 6 s"
    instead = "interval given rhythm"


class AcceptUnused(Message):
    name: str
    severity = Severity.NOTE
    says = "the script gives no {name}, so this line switches nothing off"
    title = "accept with a code that the script does not give"
    why = "Such a line would hide the warning if a later change brought it."
    example = "accept zone-small\n...\n    depth 0 to 6 m inside baseline"
    instead = "depth 0 to 6 m inside baseline"


class UseName(Message):
    name: str
    says = "“{name}” cannot be the name of a script to use; it needs small letters, digits, - and _, and ends in .feed"
    title = "A name that a used script cannot have"
    why = "Feedwright looks for a script beside the one that uses it and among the included ones, and nowhere else."
    example = 'use "../elsewhere/feeds.feed"'
    instead = 'use "feeds.feed"'


class UseMissing(OfName):
    name: str
    says = "there is no script “{name}” beside this one or among the included ones"
    title = "A missing script"
    why = "Feedwright looks beside the script first, then among the included ones."
    example = 'use "fedes.feed"'
    instead = 'use "feeds.feed"'


class UseCircle(Message):
    chain: Names
    says = "these scripts use each other in a circle: {chain: uses }"
    title = "Scripts that use each other in a circle"
    why = "A third script can hold what both need."
    example = 'use "a.feed"   (in b.feed, which a.feed uses)'
    instead = 'use "shared.feed"'


class TooManyScripts(Message):
    files: int
    deep: int
    says = "too many scripts are used; the limit is {files} in all and {deep} in a chain"
    title = "Too many scripts used"
    why = "A practice that uses few scripts stays readable."
    example = "(seventeen use lines)"
    instead = 'use "shared.feed"'


class ErrorAccepted(Message):
    name: str
    says = "{name} is an error and cannot be accepted"
    title = "accept with the code of an error"
    why = "A script can switch off warnings and notes. It cannot switch off an error."
    example = "accept net-hit"
    instead = "accept feed-unused"
