"""`fly`: where a ball goes at given settings, and how sure that is; the other way round than a script."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ...compiler.printable import say
from ...compiler.scripts import Refusal
from . import CLEAN, Commands, command, meant
from .measuring import machine

if TYPE_CHECKING:
    from ...compiler.model.feeder import Axis, Feeder


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "fly",
        "tell where a ball lands at given settings",
        (
            ("feedwright fly club speed 90 km/h elevation 12 deg topspin 900 rpm", "from the middle of the baseline"),
            ("feedwright fly dials speed 5 elevation 14 topspin 4", "positions of dials"),
        ),
    )
    parser.add_argument("machine", metavar="MACHINE", help="a profile, such as club")
    parser.add_argument("settings", metavar="SETTING", nargs="+", help="name, number and unit, such as speed 90 km/h")
    parser.add_argument("--surface", default="hard", metavar="NAME", help="hard, clay or grass (hard)")
    parser.set_defaults(run=_fly)


def _fly(options: argparse.Namespace) -> int:
    import numpy as np

    from ...compiler.calibration import law
    from ...compiler.model.court import courts
    from ...compiler.physics.bounce import SURFACES

    feeder = machine(options.machine, Path.cwd())
    settings = settings_of(options.settings, feeder)
    if options.surface not in SURFACES:
        raise Refusal(f"there is no surface {options.surface}{meant(options.surface, SURFACES)}")
    court, stand = courts(False)["singles"], law.usual_stand(feeder, options.surface)
    balls = law.balls_of(feeder, [settings], [court.half_length])
    now, by, scattered = law.slopes(balls, np.zeros(10), stand)
    prior, deviations = law.prior(feeder.doubt), law.scatter(feeder.repeatability)
    doubt = np.sqrt(np.einsum("kp,pq,kq->k", by[:, :, 0], prior, by[:, :, 0]))
    scatter = np.sqrt(((scattered[:, :, 0] * deviations) ** 2).sum(axis=1))
    say(f"{feeder.name}, on centre, on baseline; {options.surface}, type 2 ball, 20 C, sea level, no wind")
    if not np.isfinite(now[law.DEPTH, 0]):
        raise Refusal("the ball does not land within 8 s")
    say(f"what leaves  {balls.speed[0] * 3.6:.1f} km/h, {balls.elevation[0] / law.DEG:.1f} deg up")
    rows = ((law.OVER_NET, "over the net", "m"), (law.DEPTH, "lands past the net", "m"),
            (law.SIDE, "lands to the right", "m"), (law.TIME, "after", "s"),
            (law.HEIGHT, "at the baseline", "m high"), (law.SECOND, "bounces again past the net", "m"))  # fmt: skip
    say(f"{'':27} figure  doubt of the profile  scatter of the machine  (one standard deviation each)")
    for row, words, unit in rows:
        if np.isfinite(now[row, 0]):
            say(f"{words:27} {now[row, 0]:6.2f} {unit:7} ± {doubt[row]:.2f} {'':14} ± {scatter[row]:.2f}")
    over, past = now[law.OVER_NET, 0], now[law.DEPTH, 0]
    if past <= 0 or not over > 0:
        say("It does not pass the net.")
    elif past > court.half_length or abs(now[law.SIDE, 0]) > court.half_width:
        say("It lands outside the singles court.")
    say("Computed, not thrown. Nobody stands in front of a machine to find out.")
    return CLEAN


def settings_of(words: list[str], feeder: "Feeder") -> dict[str, float]:
    """What the words set, in the axes' own units, the rest straight ahead and without spin; Refusal if it cannot be."""
    axes, found = feeder.axes(), dict[str, float]()
    rest = " ".join(words).split()
    while rest:
        name = rest.pop(0)
        if name not in axes:
            raise Refusal(f"the machine {feeder.name} has no setting {name}{meant(name, axes)}")
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
