"""`fly`: where a ball goes at given settings, from any place a feeder can stand at, and how sure that is."""

import re
from pathlib import Path

import numpy as np
import pytest

import feedwright
from feedwright.targets.command.cli import main

SCRIPT = Path(__file__).parents[2] / "programs" / "02-first-script.feed"


def test_a_setting_is_flown_as_the_library_flies_it(capsys: pytest.CaptureFixture[str]) -> None:
    """`import feedwright` flies the same launch from the same place by its own call."""
    assert main(["fly", "club", "speed", "90", "km/h", "elevation", "12", "deg", "topspin", "900", "rpm"]) == 0
    said = capsys.readouterr().out
    flown = feedwright.fly((0, -11.885, 0.6), 25.0, np.radians(12), topspin=900 * 2 * np.pi / 60)
    assert re.search(rf"lands past the net +{flown.landing.position[1, 0]:.2f} m", said)
    assert f"{flown.clearance[0]:.2f} m" in said and "doubt of the profile" in said
    assert "singles" in said and "0.60 m high" in said
    assert (
        main(["fly", "machine", "club", *["speed", "90", "km/h", "elevation", "12", "deg", "topspin", "900", "rpm"]])
        == 0
    )
    assert capsys.readouterr().out == said
    assert main(["fly", "club", "speed", "56", "mph", "elevation", "12"]) == 2
    assert "goes in steps of 1 km/h" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("club sped 90", "did you mean speed?"),
        ("person club speed 90", "club is a machine, not a person"),
        ("club speed 90 elevation", "elevation needs a number"),
        ("club speed 90", "elevation is missing"),
        ("club speed 900 elevation 10", "speed goes from 30 to 110 km/h"),
        ("club speed 90 deg elevation 10", "speed is in km/h, not in deg"),
        ("club speed 90 speed 80 elevation 10", "set twice"),
        ("dials speed 50 elevation 10", "a dial with the positions 1 to 10"),
        ("club speed 90 elevation 12 from 3 m from the moon", "does not fit here"),
        ("club speed 90 elevation 12 from 9 m high", "between 0.05 and 4 m"),
        ("club speed 90 elevation 12 from 1 kg high", "is no height"),
        ("club speed 90 elevation 12 --surface mud", "there is no surface called"),
        ("clubb speed 30 elevation 10", "did you mean club?"),
    ],
)
def test_a_setting_that_is_none_is_refused(words: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fly", *words.split()]) == 2
    assert said in capsys.readouterr().err


def landing(said: str) -> float:
    found = re.search(r"lands past the net +([-\d.]+) m", said)
    assert found
    return float(found[1])


def test_it_flies_from_another_place_and_height(capsys: pytest.CaptureFixture[str]) -> None:
    words = "club speed 70 km/h elevation 10 from 1.5 m left of centre, 6 m from net, 90 cm high"
    assert main(["fly", *words.split()]) == 0
    said = capsys.readouterr().out
    flown = feedwright.fly((1.5, -6.0, 0.9), 70 / 3.6, np.radians(10))
    assert landing(said) == pytest.approx(flown.landing.position[1, 0], abs=0.005)
    assert "1.5 m left of centre, 6 m from net, 0.90 m high" in said


def test_a_person_is_flown_with_the_doubt_of_ball_and_court_alone(capsys: pytest.CaptureFixture[str]) -> None:
    words = "basket speed 25 elevation 20 from on player's side, 4 m from net"
    assert main(["fly", *words.split()]) == 0
    said = capsys.readouterr().out
    assert "doubt of ball, court" in said and "It does not pass the net" not in said
    assert re.search(r"lands past the net +8\.\d+ m +± 0\.0\d", said)


def test_it_flies_where_a_script_has_its_feeder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    text = SCRIPT.read_text("utf-8").replace("on baseline,", "2 m behind baseline,")
    text = text.replace("surface   hard", "surface   clay\n    air       35 C, altitude 1500 m")
    (tmp_path / "mine.feed").write_text(text, "utf-8")
    words = "academy speed 80 elevation 16"
    assert main(["fly", *words.split(), "--for", "mine.feed"]) == 0
    high = capsys.readouterr().out
    assert "academy, on centre, 2 m behind baseline" in high and "surface clay" in high and "altitude 1500 m" in high
    assert main(["fly", *words.split(), *"from 2 m behind baseline".split()]) == 0  # noqa: SIM905
    assert landing(high) > landing(capsys.readouterr().out) + 0.3  # thin air
