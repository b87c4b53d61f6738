"""What the player is shown of a host, in virtual time."""

from collections.abc import Mapping

from feedwright.compiler.model.device import Settings
from feedwright.targets.machine.replay import words
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.picture import picture, summary
from feedwright.targets.machine.replay.places import Place, RunShelf

from .club import built
from .world import BLOCKS, SETTINGS, World

RUNGS = tuple(Place(n, n - 1.0, ("slow", "steady", "fast"), 1, 0) for n in range(1, 5))


def test_a_ball_is_shown_as_next_until_it_has_left_and_with_the_rung_it_is_on() -> None:
    world = World(3, places=RUNGS)
    host = world.forward(RunPhase.LIVE)
    seen = []
    while world.now < 60.0 and host.phase is RunPhase.LIVE:
        coming = host.coming()
        # Never further on than the ball after the last that was thrown; a ladder steps from the ball after the next.
        assert coming is not None and coming[0].number <= len(world.thrown) + 1
        if not seen or coming != seen[-1]:
            seen.append(coming)
            if coming[0].number == 2:
                while not host.state.aimed:
                    world.step(60.0)
                host.mark(world.now, True)
        world.step(60.0)
    assert [(place.number, shot) for place, shot in seen] == [(1, "slow"), (2, "slow"), (3, "steady"), (4, "steady")]


def flying(settings: Mapping[str, Settings]) -> RunShelf:
    """Shots that leave as they are set."""
    (like, *_) = built()[0].shots
    leaving = {
        name: like.model_copy(update={"launch": like.launch.model_copy(update={
            "speed_mps": of[0] / 1000, "elevation_deg": of[1] / 1000, "azimuth_deg": of[2] / 1000,
        })})
        for name, of in settings.items()
    }  # fmt: skip
    return RunShelf(leaving, settings, BLOCKS)


def test_after_wrong_signs_one_line_reminds_and_the_signs_are_shown_without_gaps() -> None:
    world = World(3, balls=4, shelf=flying(SETTINGS))
    host = world.forward(RunPhase.ANSWERING)
    asked = picture(host, world.now)
    assert asked.headline == "Nobody in front? Own switch in reach?"
    assert f"To arm, type without spaces   {host.question.upper()}" in asked.lines
    host.answer(world.now, "no")
    again = picture(host, world.now).lines
    assert host.phase is RunPhase.READY and words.AGAIN in again and words.CAUTIONS[0] not in again


def test_the_summary_of_an_arming_names_all_balls_the_top_speed_and_where_the_first_goes() -> None:
    settings = {"left": (20_000, 9000, -4200, 0, 0), "right": (25_000, 9000, 6100, 0, 0)}
    covered = (Place(3, 0.0, ("left",), 0, 0), Place(4, 4.0, ("right",), 0, 0))
    told = summary(flying(settings), covered)
    assert told == "2 balls, 3 to 4; up to 90 km/h; the first goes 4.2 deg to the machine's left"


def test_next_block_in_the_last_one_ends_and_says_that_nothing_is_left() -> None:
    world = World(3, places=RUNGS)
    host = world.forward(RunPhase.READY)
    host.skip(world.now)
    assert host.why == "Nothing is left after the last block"


def test_the_cautions_are_told_in_full_until_a_person_has_armed_and_then_in_one_line() -> None:
    world = World(3, balls=4, shelf=flying(SETTINGS))
    first = picture(world.forward(RunPhase.READY), world.now).lines
    assert all(caution in first for caution in words.cautions(words.QUIET_SHOWN)) and words.AGAIN not in first
    host = world.forward(RunPhase.LIVE)
    host.pause(world.now)
    again = picture(world.forward(RunPhase.READY), world.now).lines
    assert again[1:] == ("Paused.", words.AGAIN, again[-1]) and again[-1].startswith("To arm: ")
    host.quiet_shown = False
    assert words.QUIET_NOT_SHOWN in picture(host, world.now).lines
