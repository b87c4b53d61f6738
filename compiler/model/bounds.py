"""The bounds of a plan's entries: what a script may ask for and a profile may state, with some room.

Inside these ranges every figure can be flown, drawn and counted, so a reader of a plan need not check.
"""

from typing import Annotated

from .record import Spelled, Unsound, Within

# On and over the court, m.
Coordinate = Annotated[float, Within(ge=-40, le=40)]
Pair = tuple[Coordinate, Coordinate]
Triple = tuple[Coordinate, Coordinate, Coordinate]
Area = tuple[Coordinate, Coordinate, Coordinate, Coordinate]
"""x from, x to, y from, y to."""
Height = Annotated[float, Within(ge=0, le=300)]
Clearance = Annotated[float, Within(ge=0, le=300)]
ReleaseHeight = Annotated[float, Within(gt=0, le=4)]
HalfLength = Annotated[float, Within(ge=5, le=12)]
HalfWidth = Annotated[float, Within(ge=2, le=6)]
ServiceLine = Annotated[float, Within(ge=2, le=7)]
Cord = Annotated[float, Within(ge=0.7, le=1.2)]
Post = Annotated[float, Within(ge=2, le=8)]
Ceiling = Annotated[float, Within(ge=3, le=30)]
HalfAxis = Annotated[float, Within(ge=0, le=100)]
Stature = Annotated[float, Within(ge=0.8, le=2.4)]
Reach = Annotated[float, Within(ge=0.2, le=1.5)]

# Ball, air and surface.
Mass = Annotated[float, Within(ge=0.03, le=0.07)]
Diameter = Annotated[float, Within(ge=0.06, le=0.08)]
Drag = Annotated[float, Within(ge=0.4, le=0.7)]
Inertia = Annotated[float, Within(ge=0.4, le=0.7)]
Density = Annotated[float, Within(ge=0.5, le=1.5)]
Wind = Annotated[float, Within(ge=-20, le=20)]
Temperature = Annotated[float, Within(ge=-15, le=50)]
Altitude = Annotated[float, Within(ge=-430, le=5000)]
Friction = Annotated[float, Within(ge=0.1, le=1.5)]
Restitution = Annotated[float, Within(ge=0.1, le=1)]
Share = Annotated[float, Within(ge=0, le=1)]

# How a ball moves: m/s, degrees, turns a minute, s; a setting is in the feeder's own unit.
Speed = Annotated[float, Within(ge=0, le=100)]
Elevation = Annotated[float, Within(ge=-90, le=90)]
Azimuth = Annotated[float, Within(ge=-180, le=180)]
ReplyAzimuth = Annotated[float, Within(ge=0, le=360)]
Deviation = Annotated[float, Within(gt=0, le=45)]
Window = Annotated[float, Within(ge=0, le=180)]
Spin = Annotated[float, Within(ge=-6000, le=6000)]
Flight = Annotated[float, Within(ge=0, le=60)]
Setting = Annotated[float, Within(ge=-10_000, le=10_000)]

# When and how often.
AfterServe = Annotated[float, Within(ge=0.3, le=10)]
BlockRest = Annotated[float, Within(ge=1, le=120)]
RestEvery = Annotated[int, Within(ge=1, le=20_000)]
Interval = Annotated[float, Within(ge=0.5, le=120)]
Clock = Annotated[float, Within(ge=0, le=30_000)]
Count = Annotated[int, Within(ge=0, le=20_000)]
Bounces = Annotated[int, Within(ge=0, le=2)]
InLine = Annotated[int, Within(ge=1, le=30)]
Turn = Annotated[int, Within(ge=1, le=20_000)]
Goal = Annotated[int, Within(ge=1, le=500)]
BroadGoal = Annotated[int, Within(ge=1, le=20_000)]
Score = Annotated[int, Within(ge=-10_000, le=10_000)]
Adds = Annotated[int, Within(ge=-100, le=100)]
Misses = Annotated[int, Within(ge=1, le=100)]
Serves = Annotated[int, Within(ge=1, le=200)]
Round = Annotated[int, Within(ge=1, le=200)]
Hopper = Annotated[int, Within(ge=1, le=2000)]
Cap = Annotated[int, Within(ge=1, le=1_000_000)]
Gap = Annotated[int, Within(ge=1, le=60_000)]

# Text: names lead to something, words are shown and never run.
Name = Annotated[str, Spelled(1, 400, r"^[^\x00-\x1f\x7f]+$", "text without control characters")]
FileName = Annotated[str, Spelled(1, 400, r"^[^/\x00]+$", "a file name")]
Words = Annotated[str, Spelled(0, 1000)]
Sha256 = Annotated[str, Spelled(pattern=r"^[0-9a-f]{64}$", words="64 hexadecimal digits")]
Fingerprint = Annotated[str, Spelled(pattern=r"^[0-9a-f]{16}$", words="16 hexadecimal digits")]
Checksum = Annotated[str, Spelled(pattern=r"^[0-9a-f]{8}$", words="8 hexadecimal digits")]


def unfit(unsound: Unsound) -> str:
    """The first thing that is wrong with a plan, in words and without a full stop."""
    first = unsound.slips[0]
    place = ".".join(map(str, first.place))
    if first.bounds and isinstance(first.value, int | float):
        return f"at {place}, {str(first.value)[:16]} is {first.bounds.missed(first.value)}"
    if first.kind == "words":
        return f"at {place}, {first.words}" if place else first.words
    return f"at {place or 'the top'}"


def in_order(area: Area | None) -> None:
    """Raises ValueError for a zone whose edges are the wrong way round."""
    if area is not None and not (area[0] <= area[1] and area[2] <= area[3]):
        raise ValueError("a zone goes from the lower to the higher number")
