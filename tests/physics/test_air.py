"""Air density against the standard atmosphere, CIPM-2007 and two independent libraries."""

import ambiance
import psychrolib
import pytest

from feedwright.compiler.physics.air import Air, density, moist_density, pressure, standard_density

# ISO 2533:1975, geometric height in m, kg/m³.
STANDARD = {0: 1.225000, 500: 1.167273, 1000: 1.111660, 1500: 1.058104, 2000: 1.006554}


@pytest.mark.parametrize("height", STANDARD)
def test_standard_density_is_the_table_of_iso_2533(height: int) -> None:
    assert standard_density(height) == pytest.approx(STANDARD[height], abs=6e-7)  # half of the last printed digit


@pytest.mark.parametrize("height", [-400, 0, 250, 1234, 3000, 5000])
def test_pressure_and_density_are_those_of_ambiance(height: int) -> None:
    """ambiance is an independent implementation of the ICAO standard atmosphere; the gas constant it derives has more
    digits than the standard's rounded 287.05287, which shows in the eighth digit."""
    reference = ambiance.Atmosphere(height)
    assert pressure(height) == pytest.approx(float(reference.pressure[0]), rel=1e-6)
    assert standard_density(height) == pytest.approx(float(reference.density[0]), rel=1e-6)


@pytest.mark.parametrize(
    ("celsius", "pascal", "humidity", "printed"),
    [(20, 101325, 0.5, 1.199314), (30, 101325, 0.8, 1.150012), (35, 84000, 0.3, 0.942617)],
)
def test_moist_density_is_that_of_cipm_2007(celsius: float, pascal: float, humidity: float, printed: float) -> None:
    """Picard et al., Metrologia 45, 149 (2008). Two ideal gases leave out the compressibility (Z ≈ 0.9996) and the
    carbon dioxide: .04 %."""
    assert moist_density(celsius, pascal, humidity) == pytest.approx(printed, rel=4.5e-4)


@pytest.mark.parametrize("celsius", [2.0, 10.0, 20.0, 30.0, 40.0])
@pytest.mark.parametrize("humidity", [0.0, 0.3, 0.6, 1.0])
@pytest.mark.parametrize("height", [0.0, 1000.0, 2500.0])
def test_density_is_that_of_psychrolib(celsius: float, humidity: float, height: float) -> None:
    """psychrolib follows the ASHRAE Handbook, Fundamentals 2017, with its own saturation pressure: Bolton's is within
    .3 % of it, on at most 7 % of vapour that counts 3/8 as much; its gas constants have fewer digits: 2e-4 together."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure(height))
    reference = psychrolib.GetMoistAirDensity(celsius, ratio, pressure(height))
    assert density(celsius, height, humidity) == pytest.approx(reference, rel=2e-4)


def test_half_humid_is_the_default_and_damp_air_is_lighter() -> None:
    assert density(25, 100) == density(25, 100, 0.5)
    assert density(25, 100, 0.9) < density(25, 100, 0.1)


def test_values_outside_the_formulas_are_refused() -> None:
    for altitude in (-2001, 11001):
        with pytest.raises(ValueError, match="troposphere"):
            pressure(altitude)
    for humidity in (-0.01, 1.01, 50):
        with pytest.raises(ValueError, match="humidity"):
            density(20, 0, humidity)
    for celsius in (-36, 61, 293):
        with pytest.raises(ValueError, match="temperature"):
            density(celsius, 0)


def test_still_air_is_the_default() -> None:
    assert Air(1.2).wind_mps == (0.0, 0.0, 0.0)
