"""A forged plan, its digest computed anew, is refused in one sentence: what it says of the world is not believed."""

import re
import warnings
from typing import Any

import pytest

from feedwright.compiler.model import bounds
from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.resolve.amounts import PLAIN, SENSE
from feedwright.compiler.verify import _too_late, verify
from feedwright.compiler.world import GIVEN_RESTITUTION
from feedwright.grammar.source import Source
from feedwright.grammar.units import RPM, to_si
from feedwright.targets.machine.feeders import ProfileShelf

from .forged import PROGRAMS, document, judged, unchecked


def refused(name: str, changes: dict[str, Any]) -> list[str]:
    """What speaks against a plan after some entries were changed, given by path."""
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
    assert all(sentence.endswith(".") and "\n" not in sentence for sentence in wrong)
    return wrong


def found(name: str, changes: dict[str, Any]) -> str:
    """The one sentence with which a replay refuses such a plan; "" where it would play it."""
    return next(iter(refused(name, changes)), "")


@pytest.mark.parametrize("name", ["02", "04"])
def test_a_program_as_it_is_built_is_played(name: str) -> None:
    """Balls that bounce, and volleys; all included ones: tests/test_programs_flown.py."""
    assert found(name, {}) == ""


def test_a_ball_bounces_twice_only_for_a_player_who_may_let_it() -> None:
    """Two bounces are allowed in wheelchair tennis alone: the two bounce rule, in the ITF Rules of Tennis, from
    memory."""
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
    "ice": ({"surface.friction": 0.1}, "surface hard does not bounce this ball as the plan says"),
    "a trampoline": ({"surface.restitution": 1.0}, "surface hard does not bounce this ball as the plan says"),
    "a surface nobody knows": ({"surface.name": "gravel"}, "surface gravel does not bounce"),
    "a surface of one's own": ({"surface.name": "as given", "surface.restitution": 0.2}, "as given does not bounce"),
}
FEEDER = {
    "an origin at 3.9 m": ({"shots.0.launch.origin_m.2": 3.9}, "does not start where the feeder releases it"),
    "the feeder's release height with it": (
        {"shots.0.launch.origin_m.2": 3.9, "shots.1.launch.origin_m.2": 3.9, "feeder.release_height_m": 3.9},
        "feeder's release height",
    ),
    "an origin a step aside": ({"shots.0.launch.origin_m.0": 0.5}, "does not start where the feeder releases it"),
    "a feeder across the net": ({"feeder.players_side": True}, "on the side of the net that the plan says"),
    "an interval that is too short": ({"shots.0.interval_s": 0.6}, "comes every 0.6 s; the feeder needs 2.1 s"),
    "another title": ({"feeder.title": "harmless"}, "feeder's title"),
    "a hopper without end": ({"feeder.hopper": 2000}, "feeder's hopper"),
    "another unit": ({"feeder.setting_units.speed": "m/s"}, "feeder's setting units"),
    "a higher cap": ({"feeder.device.cap": 90000}, "feeder's device"),
    "no device": ({"feeder.device": None}, "feeder's device"),
    "a person": ({"feeder.kind": "person"}, "feeder's kind"),
    "a setting between two steps": ({"shots.0.settings.elevation": 17.1}, "elevation cannot be set to 17.1"),
    "a launch a little faster": ({"shots.0.launch.speed_mps": 24.445}, "speed does not give the launch"),
    "sidespin where there is none": ({"shots.0.launch.sidespin_rpm": 300.0}, "has a sidespin; the feeder has none"),
    "a setting beyond the machine": (
        {"shots.0.settings.speed": 160.0, "shots.0.launch.speed_mps": 160 / 3.6},
        "its speed is outside the profile",
    ),
}
FLIGHT = {
    "a landing that is not": ({"shots.0.predicted.landing_m.1": 10.0}, "landing along as 10.0"),
    "a peak that is not": ({"shots.0.predicted.peak_m": 9.0}, "greatest height as 9.0"),
    "a landing speed that is not": ({"shots.0.predicted.landing_speed_mps": 5.0}, "landing speed as 5.0"),
    "a phase that is not": ({"shots.0.predicted.contact_phase": "rising"}, "contact is rising, but the flight"),
    "another stance": ({"shots.0.stance_y_m": 13.0}, "contact across as"),
    "a zone elsewhere": ({"shots.0.zone_m": [2.0, 3.0, 8.0, 10.0]}, "lands outside its zone"),
    "no zone": ({"shots.0.zone_m": None}, "lands outside its zone"),
    "a zone backwards": ({"shots.0.zone_m": [3.0, 2.0, 8.0, 10.0]}, "from the lower to the higher"),
    "more balls": ({"totals.balls": 91}, "gives its total of balls as 91, but it is 90"),
    "another variety": ({"totals.variety": 0.5}, "its total of variety"),
    "a part of its own": ({"blocks.2.part": 1}, "parts are not those of its blocks"),
    "a rest that ends no part": (
        {
            "blocks.2.part": 1,
            "parts": [{"index": 0, "start_s": 0.0, "end_s": 300.0}, {"index": 1, "start_s": 300.0, "end_s": 600.0}],
        },
        "The plan puts block 3 in part 1, but it is in part 0.",
    ),
}


@pytest.mark.parametrize(("changes", "said"), [*WORLD.values(), *FEEDER.values(), *FLIGHT.values()],
                         ids=[*WORLD, *FEEDER, *FLIGHT])  # fmt: skip
def test_what_is_not_so_is_refused(changes: dict[str, Any], said: str) -> None:
    assert said in found("02", changes)


ON_THE_FULL = {
    "a place elsewhere": ({"shots.3.place_m": [-3.0, -1.0, 0.75, 1.45]}, "is not met in its place"),
    "a place above it": ({"shots.3.place_m": [-0.75, 0.75, 1.2, 1.9]}, "is not met in its place"),
    "no place": ({"shots.3.place_m": None}, "is met on the full, and has no place for that"),
    "a place backwards": ({"shots.3.place_m": [-0.75, 0.75, 1.45, 0.75]}, "from the lower to the higher"),
}


@pytest.mark.parametrize(("changes", "said"), ON_THE_FULL.values(), ids=ON_THE_FULL)
def test_a_ball_on_the_full_is_met_in_its_place(changes: dict[str, Any], said: str) -> None:
    assert said in found("04", changes)
    other = {"shots.0.place_m": [-4.0, 4.0, 0.0, 2.0]}
    assert "is met after a bounce, and has a place for that" in found("02", other)


UNSAFE = {
    "into the net": ({"elevation": 8.0}, "it does not clear the net between the posts"),
    "short of the net": ({"elevation": 2.0}, "it lands outside the lines"),
    "over the baseline": ({"elevation": 30.0}, "it lands outside the lines"),
    "short in the court": ({"elevation": 13.0}, "it lands outside its zone"),
    "against the ceiling": ({"elevation": 30.0, "court.ceiling_m": 3.0}, "it strikes the ceiling"),
    "to nobody": ({"shots.0.stance_y_m": 40.0}, "it does not reach the stance"),
    "to somebody behind the feeder": ({"shots.0.stance_y_m": -5.0}, "it does not reach the stance"),
}


@pytest.mark.parametrize(("changes", "said"), UNSAFE.values(), ids=UNSAFE)
def test_a_ball_that_is_not_safe_is_refused_for_that_too(changes: dict[str, Any], said: str) -> None:
    if elevation := changes.get("elevation"):
        launch = {"shots.0.settings.elevation": elevation, "shots.0.launch.elevation_deg": elevation}
        changes = launch | {path: value for path, value in changes.items() if path != "elevation"}
    assert f"Ball high: {said}." in refused("02", changes)


@pytest.mark.parametrize(("elevation", "outside"), [(5.5, True), (6.5, False)])
def test_the_players_half_begins_at_the_net(elevation: float, outside: bool) -> None:
    """A ball that comes down on the feeder's side, and one that comes down behind the net. That both would go through
    the net is told besides."""
    wrong = refused("02", {"shots.0.settings.elevation": elevation, "shots.0.launch.elevation_deg": elevation})
    landing = next(re.search(r"flight gives (\S+)\.$", words) for words in wrong if "landing along" in words)
    assert landing and abs(float(landing[1])) < 1 and (float(landing[1]) < 0) == outside
    assert ("Ball high: it lands outside the lines." in wrong) == outside


def test_a_contact_is_said_to_five_milliseconds_and_nothing_is_left_unsaid() -> None:
    met = document("02")["shots"][0]["predicted"]["contact_s"]
    for later, told in ((0.004, False), (0.01, True), (0.5, True)):
        wrong = refused("02", {"shots.0.predicted.contact_s": met + later})
        assert any("contact time" in words for words in wrong) is told
    wrong = refused("02", {"shots.0.predicted.net_clearance_m": None})
    assert any("net clearance as None" in words for words in wrong)  # of a ball that crosses the net


def test_a_volley_half_a_metre_from_the_net_is_on_the_players_side() -> None:
    said = "Ball dipper: it does not reach the stance."
    assert said not in refused("04", {"shots.0.stance_y_m": 0.5})
    assert said in refused("04", {"shots.0.stance_y_m": -0.5})


def test_within_a_hair_of_the_top_a_ball_may_be_said_to_rise_or_to_fall() -> None:
    """A plan is rounded: at 5 cm/s up or down its own figures no longer tell which. That is 5 ms from the top, in which
    the ball, at about 10 m/s, comes 5 cm further."""

    def wrong(way: str, stance: float) -> bool:
        told = refused("02", {"shots.0.stance_y_m": stance, "shots.0.predicted.contact_phase": way})
        return any("says that its contact is" in words for words in told)

    rises, falls = 10.5, 18.0  # m from the net: after the bounce, and late in the arc
    while falls - rises > 0.01:
        middle = (rises + falls) / 2
        rises, falls = (rises, middle) if wrong("rising", middle) else (middle, falls)
    assert not wrong("rising", rises - 0.04) and not wrong("falling", rises - 0.04)
    assert wrong("falling", rises - 1.0) and wrong("rising", rises + 1.0)
    assert not wrong("top", rises) and wrong("top", rises - 1.0) and wrong("top", rises + 1.0)  # 0.1 s, so 1 m/s


@pytest.mark.parametrize("change", [{"feeder.fingerprint": "0" * 16}, {"feeder.name": "academy"}])
def test_a_plan_for_another_profile_is_refused(change: dict[str, Any]) -> None:
    assert "the profile is not the same now" in found("02", change)


@pytest.mark.parametrize("position", [0.0, 7.5, 11.0])
def test_a_dial_has_whole_positions_and_no_others_than_its_own(position: float) -> None:
    said = found("05", {"shots.0.settings.speed": position})  # 1 to 10
    assert said == f"Ball plain: speed cannot be set to {position:g}."


LADDERS = {
    "no labels": ({"labels": []}, "labels"),
    "a label too few": ({"labels": ["one", "two"]}, "a label for each rung"),
    "no rungs": ({"rungs": []}, "rungs"),
    "an unknown rung": ({"rungs.0": ["rocket"]}, "the rungs of a ladder are the shots of its block"),
    "a rung twice": ({"rungs.1": "RUNG"}, "no rung twice"),
    "up after none": ({"up": {"hits": 0, "among": 1}}, "up.hits, 0 is below 1"),
    "down after more misses than balls": ({"down_misses": 9, "down_in": 3}, "goes down after a number of misses"),
    "down among no balls": ({"down_misses": 2, "down_in": None}, "goes down after a number of misses"),
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
    (first,) = document(name)["blocks"][block]["ladder"]["rungs"][0]
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
        ({"blocks.0.balls": 3}, "does not have as many balls as it says"),
        ({"blocks.0.order": "ladder"}, "the rungs of a ladder are the shots"),
        ({"blocks.0.round": [3, 2]}, "a round has a number from 1"),
        ({"launches.0.at_s": 1e300}, "launches.0.at_s, 1e+300 is above 30000"),
        ({"source.name": "/home/somebody/mine.feed"}, "at source.name"),
        ({"source.set": ["rhythm"]}, "an amount was set that the script does not give"),
    ],
)
def test_a_plan_that_is_not_whole_is_refused_when_read(changes: dict[str, Any], said: str) -> None:
    assert said in found("02", changes)


def test_a_plan_that_was_never_read_is_not_believed_either() -> None:
    """`verify` takes what a program hands it; a changed copy is not checked."""
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
    limits: dict[str, dict[str, Any]] = {
        "its speed is outside": {"speed": unchecked(feeder.speed, high=80.0)},
        "cannot be set": {"elevation": unchecked(feeder.elevation, step=7.0)},
        "wheels would run": {"wheels": unchecked(feeder.wheels, high_mps=20.0)},
        "machine's cap of 10 m/s": {"device": unchecked(feeder.device, cap_mps=10.0)},
        "the feeder needs 9.1 s": {"shortest_interval_s": 9.0},
        "releases it": {"release_height_m": 0.9},
        "s to change, and there are": {"elevation": unchecked(feeder.elevation, rate=0.2)},
        "and the profile never changes it": {"elevation": unchecked(feeder.elevation, changes="never")},
        "by hand between blocks, in 20 s": {"elevation": unchecked(feeder.elevation, changes="between blocks")},
    }
    for said, change in limits.items():
        assert said in moved(plan, feeder, **change)


def test_wheels_may_run_at_their_limits_and_not_beyond() -> None:
    plan, _ = judged(document("02"))
    feeder = ProfileShelf().load("club")
    assert isinstance(plan, Plan) and feeder and feeder.wheels
    rims = [
        rim
        for one in (shot.launch for shot in plan.shots)
        for rim in feeder.rims(one.speed_mps, one.topspin_rpm * RPM, one.sidespin_rpm * RPM, plan.ball.diameter_m)
    ]
    for low, high, allowed in ((0, 0, True), (0.001, 0, False), (0, -0.001, False)):
        wheels = unchecked(feeder.wheels, low_mps=min(rims) + low, high_mps=max(rims) + high)
        assert ("wheels would run" not in moved(plan, feeder, wheels=wheels)) is allowed


def test_what_is_set_by_hand_between_blocks_needs_the_time_for_it() -> None:
    club = ProfileShelf().load("club")
    assert club
    feeder = unchecked(club, elevation=unchecked(club.elevation, changes="between blocks"), by_hand_s=20.0)
    before = {name: axis.low for name, axis in feeder.axes().items()}
    after = {**before, "elevation": before["elevation"] + 1}
    for same_block, room, late in ((False, 20.0, False), (False, 60.0, False), (False, 19.9, True), (True, 60.0, True)):
        why = _too_late(feeder, before, after, same_block, room)
        assert (why is not None and "sets it by hand between blocks, in 20 s" in why) is late


def moved(plan: Plan, feeder: Feeder, **change: Any) -> str:
    """What speaks against a plan whose profile was changed, though it claims to be of the changed profile."""
    other = unchecked(feeder, **change)
    record = {"fingerprint": other.fingerprint, "release_height_m": other.release_height_m}
    if limits := other.limits:
        assert plan.feeder.device
        of_line = {"id": limits.id, "cap": limits.cap, "gap": limits.gap, "limits": limits.checksum}
        record["device"] = plan.feeder.device.model_copy(update=of_line)
    return " ".join(verify(plan.model_copy(update={"feeder": plan.feeder.model_copy(update=record)}).sealed(), other))


def test_a_ladder_has_the_time_for_each_step_between_two_rungs() -> None:
    """Whatever the player hits: the order that the plan states stays on the first rung."""
    (path,) = (path for path in PROGRAMS if path.stem.startswith("01"))
    balls, _, _ = path.read_text().partition("\nsession ")
    ladder = '\nsession "Climb"\n    ladder  body-faster, up to 12 balls, pace 84, 96 km/h\n'
    plan = compile_source(Source("climb.feed", balls + ladder), ProfileShelf(None)).plan
    assert plan
    feeder = ProfileShelf().load(plan.feeder.name)
    assert feeder and verify(plan, feeder) == []
    assert re.search("follows .* needs 12.* s to change", moved(plan, feeder, speed=unchecked(feeder.speed, rate=1.0)))


def test_what_a_script_may_say_lies_within_the_bounds_of_a_plan() -> None:
    """Else a sound script would give a plan that nobody reads."""

    def span(kind: Any) -> tuple[float, float]:
        (limits,) = kind.__metadata__
        return limits.ge, limits.le

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
