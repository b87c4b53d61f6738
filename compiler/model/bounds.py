"""The bounds of a plan's entries: what a script may ask for and a profile may state, with some room.

Inside these ranges every figure can be flown, drawn and counted, so a reader of a plan need not check.
"""

from typing import Annotated

from pydantic import Field, ValidationError

# On and over the court, m.
Coordinate = Annotated[float, Field(ge=-40, le=40)]
Pair = tuple[Coordinate, Coordinate]
Triple = tuple[Coordinate, Coordinate, Coordinate]
Area = tuple[Coordinate, Coordinate, Coordinate, Coordinate]
"""x from, x to, y from, y to."""
Height = Annotated[float, Field(ge=0, le=300)]
Clearance = Annotated[float, Field(ge=0, le=300)]
ReleaseHeight = Annotated[float, Field(gt=0, le=4)]
HalfLength = Annotated[float, Field(ge=5, le=12)]
HalfWidth = Annotated[float, Field(ge=2, le=6)]
ServiceLine = Annotated[float, Field(ge=2, le=7)]
Cord = Annotated[float, Field(ge=0.7, le=1.2)]
Post = Annotated[float, Field(ge=2, le=8)]
Ceiling = Annotated[float, Field(ge=3, le=30)]
HalfAxis = Annotated[float, Field(ge=0, le=100)]
Stature = Annotated[float, Field(ge=0.8, le=2.4)]
Reach = Annotated[float, Field(ge=0.2, le=1.5)]

# Ball, air and surface.
Mass = Annotated[float, Field(ge=0.03, le=0.07)]
Diameter = Annotated[float, Field(ge=0.06, le=0.08)]
Drag = Annotated[float, Field(ge=0.4, le=0.7)]
Inertia = Annotated[float, Field(ge=0.4, le=0.7)]
Density = Annotated[float, Field(ge=0.5, le=1.5)]
Wind = Annotated[float, Field(ge=-20, le=20)]
Temperature = Annotated[float, Field(ge=-15, le=50)]
Altitude = Annotated[float, Field(ge=-430, le=5000)]
Friction = Annotated[float, Field(ge=0.1, le=1.5)]
Restitution = Annotated[float, Field(ge=0.1, le=1)]
Share = Annotated[float, Field(ge=0, le=1)]

# How a ball moves: m/s, degrees, turns a minute, s; a setting is in the feeder's own unit.
Speed = Annotated[float, Field(ge=0, le=100)]
Elevation = Annotated[float, Field(ge=-90, le=90)]
Azimuth = Annotated[float, Field(ge=-180, le=180)]
ReplyAzimuth = Annotated[float, Field(ge=0, le=360)]
Deviation = Annotated[float, Field(gt=0, le=45)]
Window = Annotated[float, Field(ge=0, le=180)]
Spin = Annotated[float, Field(ge=-6000, le=6000)]
Flight = Annotated[float, Field(ge=0, le=60)]
Setting = Annotated[float, Field(ge=-10_000, le=10_000)]

# When and how often.
AfterServe = Annotated[float, Field(ge=0.3, le=10)]
Interval = Annotated[float, Field(ge=0.5, le=120)]
Clock = Annotated[float, Field(ge=0, le=30_000)]
Count = Annotated[int, Field(ge=0, le=20_000)]
Bounces = Annotated[int, Field(ge=0, le=2)]
InLine = Annotated[int, Field(ge=1, le=30)]
Turn = Annotated[int, Field(ge=1, le=20_000)]
Goal = Annotated[int, Field(ge=1, le=500)]
Misses = Annotated[int, Field(ge=1, le=100)]
Round = Annotated[int, Field(ge=1, le=200)]
Hopper = Annotated[int, Field(ge=1, le=2000)]
Cap = Annotated[int, Field(ge=1, le=1_000_000)]
Gap = Annotated[int, Field(ge=1, le=60_000)]

# Text: names lead to something, words are shown and never run.
Name = Annotated[str, Field(min_length=1, max_length=400, pattern=r"^[^\x00-\x1f\x7f]+$")]
FileName = Annotated[str, Field(min_length=1, max_length=400, pattern=r"^[^/\x00]+$")]
Words = Annotated[str, Field(max_length=1000)]
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Fingerprint = Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]
Checksum = Annotated[str, Field(pattern=r"^[0-9a-f]{8}$")]


def unfit(error: ValidationError) -> str:
    """The first thing that is wrong with a plan, in words and without a full stop."""
    first = error.errors(include_url=False)[0]
    place, limits = ".".join(str(part) for part in first["loc"]), first.get("ctx", {})
    for limit, words in (("ge", "below"), ("gt", "not above"), ("le", "above")):
        if limit in limits:
            return f"at {place}, {str(first['input'])[:16]} is {words} {limits[limit]:g}"
    if first["type"] == "value_error":
        return f"at {place}, {limits['error']}" if place else str(limits["error"])
    return f"at {place or 'the top'}"


def in_order(area: Area | None) -> None:
    """Raises ValueError for a zone whose edges are the wrong way round."""
    if area is not None and not (area[0] <= area[1] and area[2] <= area[3]):
        raise ValueError("a zone goes from the lower to the higher number")
