"""What a plan was computed in: court, ball, air and surface, as it states them. Frame, signs and units: see plan.py."""

from . import bounds
from .record import Record


class CourtRecord(Record):
    name: bounds.Name
    half_length_m: bounds.HalfLength
    half_width_m: bounds.HalfWidth
    service_m: bounds.ServiceLine
    net_centre_m: bounds.Cord
    net_post_m: bounds.Cord
    post_x_m: bounds.Post
    doubles_half_width_m: bounds.HalfWidth
    ceiling_m: bounds.Ceiling | None = None
    """Height of the lowest thing over the court; None in the open."""


class BallRecord(Record):
    name: bounds.Name
    mass_kg: bounds.Mass
    diameter_m: bounds.Diameter
    drag_offset: bounds.Drag
    """Drag coefficient without spin."""
    spin_drag: bounds.Share
    """How much of Štěpánek's growth of drag with spin comes on top, 0 to 1."""
    inertia_factor: bounds.Inertia


class AirRecord(Record):
    density_kg_m3: bounds.Density
    """Follows from temperature, altitude and humidity."""
    wind_mps: tuple[bounds.Wind, bounds.Wind, bounds.Wind]
    temperature_c: bounds.Temperature
    altitude_m: bounds.Altitude
    humidity: bounds.Share


class SurfaceRecord(Record):
    name: bounds.Name
    """For this ball in this air: what a bounce leaves of the speed of the fall depends on speed and angle."""

    friction: bounds.Friction
    restitution: bounds.Restitution
    """At 30 m/s and 16°, the laboratory test of ITF CS 01/02."""
    drop_restitution: bounds.Restitution
    """Straight down at 6.9 m/s, the drop test of the ITF Rules of Tennis."""
    loss_growth: bounds.Share
    """The loss grows with the speed of the fall to this power."""
    grip: bounds.Share
