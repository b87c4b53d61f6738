"""A forged plan, its digest computed anew, is refused in one sentence: what it says of the world is not believed."""

import warnings
from typing import Any

import pytest

from feedwright.compiler.model import bounds
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.resolve.amounts import PLAIN, SENSE
from feedwright.compiler.verify import verify
from feedwright.compiler.world import GIVEN_RESTITUTION
from feedwright.grammar.units import to_si
from feedwright.targets.machine.feeders import ProfileShelf

from .forged import PROGRAMS, document, judged


def found(name: str, changes: dict[str, Any]) -> str:
    """The one sentence with which a replay refuses a plan after some entries were changed, given by path; "" where it
    would play it."""
    plan = document(name)
    for path, value in changes.items():
        place: Any = plan
        *way, last = (int(step) if step.isdecimal() else step for step in path.split("."))
        for step in way:
            place = place[step]
        place[last] = value
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        _, wrong = judged(plan)
    if wrong:
        assert wrong[0].endswith(".") and "\n" not in wrong[0]
    return wrong[0] if wrong else ""


def test_a_program_as_it_is_built_is_played() -> None:
    """All included ones: tests/test_programs_flown.py."""
    assert found("02", {}) == ""


def test_a_ball_bounces_twice_only_for_a_player_who_may_let_it() -> None:
    """Two bounces are allowed in wheelchair tennis alone: the two bounce rule, in the ITF Rules of Tennis. The source
    is given from memory."""
    assert found("23", {}) == ""
    assert found("23", {"player.two_bounces": False}) != ""


WORLD = {
    # A tennis court is 23.77 m long (ITF Rules of Tennis, rule 1).
    "a court of 400 m": ({"court.half_length_m": 200.0}, "court.half_length_m, 200.0 is above 12"),
    "a court a foot too long": ({"court.half_length_m": 12.0}, "no doubles court with these lines"),
    "a net a hand lower": ({"court.net_centre_m": 0.8}, "no doubles court with these lines"),
    "another court's name": ({"court.name": "singles"}, "no singles court with these lines"),
    "a court nobody knows": ({"court.name": "paddock"}, "no paddock court"),
    "posts far out": ({"court.post_x_m": 8.0}, "no doubles court"),
    "a ceiling under the net": ({"court.ceiling_m": 0.5}, "court.ceiling_m, 0.5 is below 3"),
    # At sea level air has 1.225 kg/m3 (ISO 2533).
    "air of 8 kg/m3": ({"air.density_kg_m3": 8.0}, "air.density_kg_m3, 8.0 is above 1.5"),
    "air a little thin": ({"air.density_kg_m3": 1.1}, "density of the air does not follow"),
    "air of another height": ({"air.altitude_m": 1500.0}, "density of the air does not follow"),
    "air dry as none": ({"air.humidity": 0.0}, "density of the air does not follow"),
    "air without density": ({"air.density_kg_m3": 0.0}, "0.0 is below 0.5"),
    "a storm": ({"air.wind_mps.1": 40.0}, "air.wind_mps.1, 40.0 is above 20"),
    "wind from below": ({"air.wind_mps.2": 5.0}, "wind does not blow along the ground"),
    # 56.0 to 59.4 g and 6.54 to 6.86 cm (ITF Rules of Tennis, appendix I).
    "a ball of 12 g": ({"ball.mass_kg": 0.012}, "ball.mass_kg, 0.012 is below 0.03"),
    "a ball of 50 g": ({"ball.mass_kg": 0.05}, "no type 2 ball of this mass"),
    "a ball without mass": ({"ball.mass_kg": 0.0}, "ball.mass_kg, 0.0 is below"),
    "a drag of 2.5": ({"ball.drag_offset": 2.5}, "ball.drag_offset, 2.5 is above 0.7"),
    "a drag of a wind tunnel": ({"ball.drag_offset": 0.6}, "no type 2 ball of this mass"),
    "an inertia below nothing": ({"ball.inertia_factor": -0.55}, "ball.inertia_factor, -0.55 is below"),
    "a ball as wide as a door": ({"ball.diameter_m": 1.0}, "ball.diameter_m, 1.0 is above"),
    "a ball nobody knows": ({"ball.name": "type 9"}, "no type 9 ball"),
    "ice": ({"surface.friction": 0.1}, "surface hard does not bounce this ball so"),
    "a trampoline": ({"surface.restitution": 1.0}, "surface hard does not bounce this ball so"),
    "a surface nobody knows": ({"surface.name": "gravel"}, "surface gravel does not bounce"),
    "a surface of one's own": ({"surface.name": "as given", "surface.restitution": 0.2}, "as given does not bounce"),
}
FEEDER = {
    "an origin at 3.9 m": ({"shots.0.launch.origin_m.2": 3.9}, "does not start where the feeder lets go"),
    "the feeder's release height with it": (
        {"shots.0.launch.origin_m.2": 3.9, "shots.1.launch.origin_m.2": 3.9, "feeder.release_height_m": 3.9},
        "feeder's release height",
    ),
    "an origin a step aside": ({"shots.0.launch.origin_m.0": 0.5}, "does not start where the feeder lets go"),
    "a feeder across the net": ({"feeder.players_side": True}, "other side of the net"),
    "an interval that is too short": ({"shots.0.interval_s": 0.6}, "comes every 0.6 s; the feeder needs 2.1 s"),
    "another title": ({"feeder.title": "harmless"}, "feeder's title"),
    "a hopper without end": ({"feeder.hopper": 2000}, "feeder's hopper"),
    "another unit": ({"feeder.setting_units.speed": "m/s"}, "feeder's setting units"),
    "a higher cap": ({"feeder.device.cap": 90000}, "feeder's device"),
    "no device": ({"feeder.device": None}, "feeder's device"),
    "a person": ({"feeder.kind": "person"}, "feeder's kind"),
    "a setting between two steps": ({"shots.0.settings.elevation": 17.1}, "elevation cannot be set to 17.1"),
    "a launch a little faster": ({"shots.0.launch.speed_mps": 24.445}, "speed gives another launch"),
    "sidespin where there is none": ({"shots.0.launch.sidespin_rpm": 300.0}, "has a sidespin, and the feeder none"),
    "a setting beyond the machine": (
        {"shots.0.settings.speed": 160.0, "shots.0.launch.speed_mps": 160 / 3.6},
        "its speed is outside the profile",
    ),
}
FLIGHT = {
    "a landing that is not": ({"shots.0.predicted.landing_m.1": 10.0}, "landing along is told as 10.0"),
    "a peak that is not": ({"shots.0.predicted.peak_m": 9.0}, "greatest height is told as 9.0"),
    "a landing speed that is not": ({"shots.0.predicted.landing_speed_mps": 5.0}, "landing speed is told as 5.0"),
    "a phase that is not": ({"shots.0.predicted.contact_phase": "rising"}, "met rising, and flown it is not"),
    "another stance": ({"shots.0.stance_y_m": 13.0}, "contact across is told as"),
    "a zone elsewhere": ({"shots.0.zone_m": [2.0, 3.0, 8.0, 10.0]}, "lands outside its zone"),
    "no zone": ({"shots.0.zone_m": None}, "lands outside its zone"),
    "a zone backwards": ({"shots.0.zone_m": [3.0, 2.0, 8.0, 10.0]}, "from the lower to the higher"),
    "more balls": ({"totals.balls": 91}, "says 91 in all of its balls, and there are 90"),
    "another variety": ({"totals.variety": 0.5}, "in all of its variety"),
    "a part of its own": ({"blocks.2.part": 1}, "parts are not those of its blocks"),
}


@pytest.mark.parametrize(("changes", "said"), [*WORLD.values(), *FEEDER.values(), *FLIGHT.values()],
                         ids=[*WORLD, *FEEDER, *FLIGHT])  # fmt: skip
def test_what_is_not_so_is_refused(changes: dict[str, Any], said: str) -> None:
    assert said in found("02", changes)


LADDERS = {
    "no labels": ({"labels": []}, "labels"),
    "a label too few": ({"labels": ["one", "two"]}, "a label for each rung"),
    "no rungs": ({"rungs": []}, "rungs"),
    "an unknown rung": ({"rungs.0": "rocket"}, "the rungs of a ladder are the shots of its block"),
    "a rung twice": ({"rungs.1": "RUNG"}, "no rung twice"),
    "up after none": ({"up_in_a_row": 0}, "up_in_a_row, 0 is below 1"),
    "down after more misses than balls": ({"down_misses": 9, "down_in": 3}, "goes down after so many misses"),
    "down among no balls": ({"down_misses": 2, "down_in": None}, "goes down after so many misses"),
}


def laddered() -> tuple[str, int, int]:
    """A program with a ladder, the index of its block and of the block's first ball."""
    for path in PROGRAMS:
        plan = document(path.stem)
        for block in plan["blocks"]:
            if block["ladder"] and block["ladder"]["down_in"]:
                ball = next(n for n, ball in enumerate(plan["launches"]) if ball["block"] == block["index"])
                return path.stem, block["index"], ball
    raise AssertionError("no program has a ladder that goes down")


@pytest.mark.parametrize(("changes", "said"), LADDERS.values(), ids=list(LADDERS))
def test_a_ladder_that_is_not_whole_is_refused_when_read(changes: dict[str, Any], said: str) -> None:
    name, block, _ = laddered()
    rung = document(name)["blocks"][block]["ladder"]["rungs"][0]
    put = {f"blocks.{block}.ladder.{key}": rung if value == "RUNG" else value for key, value in changes.items()}
    assert said in found(name, put)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"any_of": []}, "names one shot, or the rungs"),
        ({"any_of": ["rocket"]}, "names a shot or a block that the plan does not hold"),
        ({"any_of": ["the first rung"]}, "names a shot that its block does not"),
        ({"any_of": [], "shot": "the first rung"}, "names a shot that its block does not"),
        ({"block": 1999}, "names a shot or a block that the plan does not hold"),
    ],
)
def test_a_ball_of_a_ladder_names_all_rungs(change: dict[str, Any], said: str) -> None:
    name, block, ball = laddered()
    first = document(name)["blocks"][block]["ladder"]["rungs"][0]
    rung = {"the first rung": first}
    put = {key: [rung.get(v, v) for v in value] if isinstance(value, list) else rung.get(value, value)
           for key, value in change.items()}  # fmt: skip
    assert said in found(name, {f"launches.{ball}.{key}": value for key, value in put.items()})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"shots.0.id": "rocket"}, "names a shot that the plan does not hold"),
        ({"shots.1.id": "high"}, "two shots or two variations have one name"),
        ({"shots.0.variation": "smash"}, "a variation that the plan does not hold"),
        ({"shots.0.settings": {}}, "does not set what the feeder has"),
        ({"blocks.0.index": 7}, "not numbered in order"),
        ({"blocks.0.shots": []}, "a block of balls has balls, shots and an order"),
        ({"blocks.0.balls": 3}, "another number of balls than it says"),
        ({"blocks.0.order": "ladder"}, "the rungs of a ladder are the shots"),
        ({"blocks.0.round": [3, 2]}, "a round is one of so many"),
        ({"launches.0.at_s": 1e300}, "launches.0.at_s, 1e+300 is above 30000"),
        ({"source.name": "/home/somebody/wing.feed"}, "at source.name"),
        ({"source.set": ["rhythm"]}, "an amount was set that the script does not give"),
    ],
)
def test_a_plan_that_is_not_whole_is_refused_when_read(changes: dict[str, Any], said: str) -> None:
    assert said in found("02", changes)


def test_a_plan_that_was_never_read_is_not_believed_either() -> None:
    """`verify` takes what a program hands it; pydantic's copies are not checked."""
    plan, _ = judged(document("02"))
    feeder = ProfileShelf().load("club")
    assert isinstance(plan, Plan) and feeder
    heavy = plan.model_copy(update={"ball": plan.ball.model_copy(update={"mass_kg": 0.0})}).sealed()
    assert verify(heavy, feeder) == ["The plan does not have the form of a plan: at ball.mass_kg, 0.0 is below 0.03."]


def test_the_limits_are_those_of_the_profile_at_that_moment() -> None:
    """The invariant "the profile's own limits": each limit of a profile, moved, speaks against a plan made before."""
    plan, _ = judged(document("02"))
    feeder = ProfileShelf().load("club")
    assert isinstance(plan, Plan) and feeder and feeder.wheels and feeder.device
    moved: dict[str, dict[str, Any]] = {
        "its speed is outside": {"speed": feeder.speed.model_copy(update={"high": 80.0})},
        "cannot be set": {"elevation": feeder.elevation.model_copy(update={"step": 7.0})},
        "wheels would run": {"wheels": feeder.wheels.model_copy(update={"high_mps": 20.0})},
        "machine's cap of 10 m/s": {"device": feeder.device.model_copy(update={"cap_mps": 10.0})},
        "the feeder needs 9.1 s": {"shortest_interval_s": 9.0},
        "lets go of it": {"release_height_m": 0.9},
    }
    for said, change in moved.items():
        other = feeder.model_copy(update=change)
        limits = other.limits
        assert limits
        device = plan.feeder.device.model_copy(  # type: ignore[union-attr]
            update={"id": limits.id, "cap": limits.cap, "gap": limits.gap, "limits": limits.checksum}
        )
        record = {"fingerprint": other.fingerprint, "device": device, "release_height_m": other.release_height_m}
        forged = plan.model_copy(update={"feeder": plan.feeder.model_copy(update=record)}).sealed()
        assert any(said in sentence for sentence in verify(forged, other)), said


def test_what_a_script_may_say_lies_within_the_bounds_of_a_plan() -> None:
    """Else a sound script would give a plan that nobody reads."""

    def span(kind: Any) -> tuple[float, float]:
        limits = {type(m).__name__: m for m in kind.__metadata__[0].metadata}
        return limits["Ge"].ge, limits["Le"].le

    for what, kind in {
        "stature": bounds.Stature, "reach": bounds.Reach, "pace limit": bounds.Speed, "temperature": bounds.Temperature,
        "altitude": bounds.Altitude, "humidity": bounds.Share, "ceiling": bounds.Ceiling, "wind": bounds.Wind,
        "topspin": bounds.Spin, "pace": bounds.Speed, "interval": bounds.Interval, "height over net": bounds.Height,
    }.items():  # fmt: skip
        sense, (low, high) = SENSE[what], span(kind)
        assert low <= to_si(sense.low, sense.unit) or what == "topspin", what
        assert to_si(sense.high, sense.unit) <= high + 1e-9 or what == "topspin", what
    for what, kind in {
        "friction": bounds.Friction, "grip": bounds.Share, "goal": bounds.Goal, "misses": bounds.Misses,
        "players": bounds.InLine, "rounds": bounds.Round, "balls": bounds.Turn,
    }.items():  # fmt: skip
        low, high = span(kind)
        assert low <= PLAIN[what][0] and PLAIN[what][1] <= high, what
    assert PLAIN["restitution"] == GIVEN_RESTITUTION
    assert span(bounds.Spin)[1] == SENSE["topspin"].high  # a turn a minute is the unit of both
