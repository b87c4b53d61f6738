"""`fly`: where a ball goes at given settings, and how sure that is; the other way round than a script."""

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import say
from ...compiler.scripts import Refusal
from . import CLEAN, Commands, command, meant
from .measuring import profile

if TYPE_CHECKING:
    from ...compiler.calibration.place import ThrowingPlace
    from ...compiler.model.feeder import Axis, Feeder

_HIGH = re.compile(r"([\d.]+) ?(\S+) high")


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "fly",
        "tell where a ball lands at given settings",
        (
            ("feedwright fly club speed 90 km/h elevation 12 deg topspin 900 rpm", "from the middle of the baseline"),
            (
                "feedwright fly club speed 70 km/h elevation 12 deg from 1 m left of centre, 6 m from net, 0.9 m high",
                "from elsewhere; what is not said is as in the profile",
            ),
            (
                "feedwright fly dials speed 5 elevation 14 --for mine.feed",
                "positions of dials, on the court of a script",
            ),
        ),
    )
    parser.add_argument("machine", metavar="FEEDER", help="a profile, such as club, basket or your own")
    parser.add_argument(
        "settings", metavar="SETTING", nargs="+",
        help="name, number and unit, such as speed 90 km/h; then from and a place in the words of a script",
    )  # fmt: skip
    parser.add_argument("--surface", default="", metavar="NAME", help="in the words of a script, such as clay (hard)")
    parser.add_argument("--for", dest="script", metavar="SCRIPT", help="the court, ball, air and place of this script")
    parser.set_defaults(run=_fly)


def _fly(options: argparse.Namespace) -> int:
    import numpy as np

    from ...compiler.calibration import law

    feeder, given = _feeder([*options.machine.split(), *options.settings])
    said, _, place_words = f" {' '.join(given)} ".partition(" from ")
    settings = settings_of(said.split(), feeder)
    place = _place(feeder, place_words.strip(), options.surface, options.script)
    court, stand = place.court, place.stand
    balls = law.balls_of(feeder, [settings], [court.half_length])
    now, by, scattered = law.slopes(balls, np.zeros(10), stand)
    prior, deviations = law.prior(feeder.doubt), law.scatter(feeder.repeatability)
    if feeder.kind == "person":  # who is asked for a ball and not told a setting: only ball and court are in doubt
        prior[:6] = prior[:, :6] = 0
    same, scatter = (
        np.sqrt(((scattered[:, :, 0] * part) ** 2).sum(axis=1)) for part in (law.unexplained(feeder), deviations)
    )
    doubt = np.sqrt(np.einsum("kp,pq,kq->k", by[:, :, 0], prior, by[:, :, 0]) + same**2)
    say(f"{feeder.name}, {place.words}, {stand.origin[2]:.2f} m high; {', '.join(place.sentences)}")
    if not np.isfinite(now[law.DEPTH, 0]):
        raise Refusal("the ball does not land within 8 s")
    say(f"what leaves  {balls.speed[0] * 3.6:.1f} km/h, {balls.elevation[0] / law.DEG:.1f} deg up")
    rows = ((law.OVER_NET, "over the net", "m"), (law.DEPTH, "lands past the net", "m"),
            (law.SIDE, "to the feeder's right", "m"), (law.TIME, "after", "s"),
            (law.HEIGHT, "at the baseline", "m high"), (law.SECOND, "bounces again past the net", "m"))  # fmt: skip
    known = "doubt of the profile" if feeder.kind == "machine" else "doubt of ball, court"
    say(f"{'':27} figure  {known}  scatter of the {feeder.kind}  (one standard deviation each)")
    for row, words, unit in rows:
        if np.isfinite(now[row, 0]) and not (row == law.HEIGHT and now[law.SECOND, 0] < court.half_length):
            say(f"{words:27} {now[row, 0]:6.2f} {unit:7} ± {doubt[row]:.2f} {'':14} ± {scatter[row]:.2f}")
    over, past = now[law.OVER_NET, 0], now[law.DEPTH, 0]
    if stand.origin[1] < 0 and (past <= 0 or not over > 0):
        say("It does not pass the net.")
    elif past > court.half_length or abs(now[law.SIDE, 0]) > court.half_width:
        say(f"It lands outside the {court.name} court.")
    say("Computed, not thrown. Nobody stands in front of a machine to find out.")
    return CLEAN


def _feeder(words: list[str]) -> "tuple[Feeder, list[str]]":
    """The profile that the first word names, also after `machine` or `person`, as a script has it, and the rest."""
    kind = words.pop(0) if words[0] in ("machine", "person") and len(words) > 1 else None
    feeder = profile(words[0], Path.cwd())
    if kind and kind != feeder.kind:
        raise Refusal(f"{feeder.name} is a {feeder.kind}, not a {kind}")
    return feeder, words[1:]


def _place(feeder: "Feeder", words: str, surface: str, script: str | None) -> "ThrowingPlace":
    """Where the ball is thrown: as a script says, or from the middle of the baseline of a singles court on a hard
    surface, with type 2 balls at 20 C at sea level in still air; `words` and `surface` go before both."""
    from ...compiler.calibration.place import NoPlace, place_of
    from ...compiler.calibration.script import plain_head
    from ...compiler.scripts import read_script
    from ...grammar.units import SPELLINGS, UNITS
    from .scripts import Instead, head_of

    head = head_of(read_script(script), feeder) if script else plain_head(feeder)
    height = None
    spots = list[str]()
    for spot in filter(None, (part.strip() for part in words.split(","))):
        if high := _HIGH.fullmatch(spot):
            unit = SPELLINGS.get(high[2], high[2])
            try:
                height = float(high[1]) * UNITS[unit].factor
            except (KeyError, ValueError):
                raise Refusal(f"{spot} is no height, such as 0.9 m high") from None
            if UNITS[unit].dimension != "length" or not 0.05 <= height <= 4:
                raise Refusal(f"a ball leaves between 0.05 and 4 m over the ground, not {spot}")
        else:
            spots.append(spot)
    if spots:
        head = [line for line in head if not line.startswith("feeder")]
        head.append(f"feeder {feeder.kind} {feeder.name}, {', '.join(spots)}")
    if surface:
        head = [line for line in head if not line.startswith("surface")] + [" ".join(("surface", surface))]
    try:
        return place_of(head, Instead(Path.cwd(), {feeder.name: feeder}), height)
    except NoPlace as none:
        raise Refusal(str(none)) from none


def settings_of(words: list[str], feeder: "Feeder") -> dict[str, float]:
    """What the words set, in the axes' own units, the rest straight ahead and without spin; Refusal if it cannot be."""
    axes, found = feeder.axes(), dict[str, float]()
    rest = " ".join(words).split()
    while rest:
        name = rest.pop(0)
        if name not in axes:
            raise Refusal(f"the {feeder.kind} {feeder.name} has no setting {name}{meant(name, axes)}")
        if name in found:
            raise Refusal(f"{name} is set twice")
        try:
            value = float(rest.pop(0))
        except (IndexError, ValueError):
            raise Refusal(f"{name} needs a number, such as {name} {axes[name].low:g}") from None
        unit = rest.pop(0) if rest and rest[0] not in axes else ""
        found[name] = _setting(name, axes[name], value, unit)
    for name in ("speed", "elevation"):
        if name not in found:
            raise Refusal(f"{name} is missing, such as {name} {axes[name].low:g} {axes[name].unit}")
    return {name: found[name] if name in found else _still(axis) for name, axis in axes.items()}


def _setting(name: str, axis: "Axis", value: float, unit: str) -> float:
    from ...grammar.units import SPELLINGS, UNITS, from_si, to_si

    if axis.dial is not None:
        if unit or value != int(value) or not 1 <= value <= len(axis.dial):
            raise Refusal(f"{name} is a dial with the positions 1 to {len(axis.dial)}, not {value:g} {unit}".rstrip())
        return value
    unit = SPELLINGS.get(unit, unit) or axis.unit
    if unit not in UNITS or UNITS[unit].dimension != UNITS[axis.unit].dimension:
        raise Refusal(f"{name} is in {axis.unit}, not in {unit}")
    given = value if unit == axis.unit else from_si(to_si(value, unit), axis.unit)
    if not axis.low - 1e-9 <= given <= axis.high + 1e-9:
        raise Refusal(f"{name} goes from {axis.low:g} to {axis.high:g} {axis.unit}, not to {given:g}")
    if axis.step and abs((given - axis.low) / axis.step - round((given - axis.low) / axis.step)) > 1e-6:
        near = axis.low + round((given - axis.low) / axis.step) * axis.step
        raise Refusal(f"{name} goes in steps of {axis.step:g} {axis.unit}; the nearest is {near:g}")
    return given


def _still(axis: "Axis") -> float:
    """The setting nearest to straight ahead or to no spin."""
    if axis.dial is not None:
        return float(min(range(1, len(axis.dial) + 1), key=lambda i: abs(axis.dial[i - 1])))  # type: ignore[index]
    return min(max(0.0, axis.low), axis.high)
