"""Air: density from temperature, altitude and humidity; wind."""

from math import exp

from ...grammar.frozen import Frozen

GAS_CONSTANT_DRY = 287.05287  # J/(kg K), ISO 2533:1975
GAS_CONSTANT_VAPOUR = 461.495  # J/(kg K)


class Air(Frozen):
    """The air of a court: kg/m³, the velocity the air moves *towards* in the court frame (m/s), °C; and what else its
    density was computed from: the height above the sea (m) and the relative humidity (0 to 1)."""

    density_kg_m3: float
    wind_mps: tuple[float, float, float] = (0.0, 0.0, 0.0)
    temperature_c: float = 20.0
    altitude_m: float = 0.0
    humidity: float = 0.5


def _standard_temperature_k(altitude_m: float) -> float:
    """ISO 2533:1975, troposphere, by geopotential height."""
    if not -2000.0 <= altitude_m <= 11000.0:
        raise ValueError(f"altitude {altitude_m} m is outside the standard troposphere, -2000 to 11000 m")
    radius = 6356766.0
    return 288.15 - 0.0065 * radius * altitude_m / (radius + altitude_m)


def pressure(altitude_m: float) -> float:
    """Pressure, Pa, at a geometric height in the standard atmosphere: ISO 2533:1975."""
    exponent = 9.80665 / (GAS_CONSTANT_DRY * 0.0065)
    return float(101325.0 * (_standard_temperature_k(altitude_m) / 288.15) ** exponent)


def standard_density(altitude_m: float) -> float:
    """Density, kg/m³, at a geometric height in the standard atmosphere: ISO 2533:1975."""
    return pressure(altitude_m) / (GAS_CONSTANT_DRY * _standard_temperature_k(altitude_m))


def moist_density(temperature_c: float, pressure_pa: float, humidity: float) -> float:
    """Density, kg/m³, of moist air as two ideal gases; relative `humidity` 0 to 1.

    Saturation pressure: Bolton, Mon. Weather Rev. 108, 1046 (1980), eq. 10.
    """
    if not 0.0 <= humidity <= 1.0:
        raise ValueError(f"relative humidity {humidity} is not between 0 and 1")
    if not -35.0 <= temperature_c <= 60.0:
        raise ValueError(f"temperature {temperature_c} °C is not between -35 and 60 °C")
    vapour = humidity * 611.2 * exp(17.67 * temperature_c / (temperature_c + 243.5))
    kelvin = temperature_c + 273.15
    return (pressure_pa - vapour) / (GAS_CONSTANT_DRY * kelvin) + vapour / (GAS_CONSTANT_VAPOUR * kelvin)


def density(temperature_c: float, altitude_m: float, humidity: float = 0.5) -> float:
    """Density, kg/m³, of moist air at a geometric height, with the standard pressure of that height."""
    return moist_density(temperature_c, pressure(altitude_m), humidity)
