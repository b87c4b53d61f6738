"""A profile that cannot be used: its owner is told the key, the slip and the line in plain words."""

import re

import pytest

from feedwright.compiler.model.feeder import ProfileProblem
from feedwright.targets.machine.feeders import SHIPPED, ProfileShelf, read


def told(name: str, *changes: tuple[str, str]) -> str:
    """What is said of a shipped profile with a few words of its file changed."""
    text = (SHIPPED / f"{name}.toml").read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    with pytest.raises(ProfileProblem) as problem:
        read(text.encode(), "ours")
    return str(problem.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        # keys
        ("step = 1\n", "stp = 1\n", "speed has no key stp; did you mean step? (line 17)"),
        ("[azimuth]", "[azimut]", "the profile has no key azimut; did you mean azimuth? (line 27)"),
        ("basis =", "bassis =", "the profile has no key bassis; did you mean basis? (line 5)"),
        ("rate = 15", "settle_s = 0.1",
         "azimuth has no key settle_s; it belongs above the first line in brackets (line 32)"),
        ("basis =", "#", "the profile lacks basis"),
        ("low = 30\nhigh = 110\n", "", "speed lacks low, high (line 13)"),
        # kinds of value
        ("low = 30\n", 'low = "slow"\n', 'speed.low is "slow"; wanted: a number (line 15)'),
        ("low = 30\n", "low = nan\n", "speed.low is NaN; wanted: a finite number (line 15)"),
        ("hopper = 120", "hopper = 1.5", "hopper is 1.5; wanted: a whole number (line 8)"),
        ('unit = "km/h"', "unit = 3", "speed.unit is 3; wanted: text in quotes (line 14)"),
        ("step = 1\n", 'dial = [30, "forty"]\n', 'speed.dial.2 is "forty"; wanted: a number (line 17)'),
        ("step = 1\n", "dial = 30\n", "speed.dial is 30; wanted: a list of numbers (line 17)"),
        ("hopper = 120", "wheels = 3\n#", "wheels is 3; wanted: a table of keys (line 8)"),
        # ranges
        ("release_height_m = 0.6", "release_height_m = 7", "release_height_m is 7; wanted: 4 or less (line 6)"),
        ("rate = 25", "rate = -25", "speed.rate is -25; wanted: above 0 (line 18)"),
        ('kind = "machine"', 'kind = "robot"', "kind is \"robot\"; wanted: 'machine' or 'person' (line 2)"),
        ('id = "club-', 'id = "Club ',
         'device.id is "Club two-wheel"; wanted: up to 24 small letters, digits, points, + and - (line 52)'),
        ('title = "', 'title = ""#', 'title is ""; wanted: text of 1 or more characters (line 4)'),
        # what two keys say together
        ("low = 30\n", "low = 200\n", "speed: low is above high (200 and 110) (line 13)"),
        ("step = 1\n", "step = 3\n",
         "speed: steps of 3 from 30 reach 108 or 111, not high = 110 (line 13)"),
        ('unit = "km/h"', 'unit = "knots"',
         "speed: unit 'knots' is not known; there are km/h, mph, m/s, rpm, rev/s, deg (line 13)"),
        # the file's form
        ('"machine"', "machine",
         "it is not TOML: the value after = is missing, or it is text without quotes (line 2: kind = machine)"),
        ('"machine"', '"machine', 'it is not TOML: the text has no closing quote (line 2: kind = "machine)'),
        ("kind =", "kind", 'it is not TOML: a line is key = value (line 2: kind "machine")'),
        ("= 0.6", "= 0,6",
         "it is not TOML: a line holds one value; decimals follow a point (line 6: release_height_m = 0,6)"),
        ("hopper = 120", "hopper = 1\nhopper = 2", "it is not TOML: this key appears twice (line 9: hopper = 2)"),
        ("[azimuth]", "[speed]", "it is not TOML: this table appears twice (line 27: [speed])"),
    ],
)  # fmt: skip
def test_a_slip_is_told_in_plain_words_with_its_key_and_line(old: str, new: str, said: str) -> None:
    changes = [(old, new)]
    if new.startswith("wheels"):
        changes.append(("[wheels]\nlow_mps = 2.0\nhigh_mps = 40.0\n", ""))
    assert told("club", *changes) == said


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("{ width = 3 }", "3", "template.fields.speed is 3; wanted: a table of keys"),
        ("{ width = 3 }", "{ widht = 3 }", "template.fields.speed has no key widht; did you mean width?"),
        ("{ width = 3 }", "{ width = 30 }", "template.fields.speed.width is 30; wanted: 12 or less"),
        ("{ width = 3 }", '{ sign = "often" }', 'template.fields.speed.sign is "often"; wanted: true or false'),
        ('throw = "throw"', 'throw = "thröw"', 'template.throw is "thröw"; wanted: plain ASCII text'),
        (
            "reply_s",
            "baud = 9500\nreply_s",
            "template.baud is 9500; wanted: 1200, 2400, 4800, 9600, 19200, 38400, 57600 or 115200",
        ),
        (
            'reply = "done"',
            'reply = "done\\r\\n"',
            "template.reply ends with a line end; leave the line end out, because `ending` sets it",
        ),
        ("reply_s", "replys", "template has no key replys; did you mean reply_s? (line 56)"),
    ],
)
def test_a_machines_own_commands_are_told_by_their_place(old: str, new: str, said: str) -> None:
    assert told("answering", (old, new)).startswith(said)


def test_the_least_interval_has_the_jitter_in_it() -> None:
    club = ProfileShelf().load("club")
    assert club and (club.shortest_interval_s, club.feed_jitter_s, club.least_interval_s) == (2.0, 0.1, 2.1)


def test_one_machine_speaks_one_way() -> None:
    both = '[template]\nthrow = "go"\n\n[device]\nid = "lob"\ncap_mps = 30\ngap_s = 1.9\n\n[repeatability]'
    text = (SHIPPED / "answering.toml").read_text("utf-8")
    bare = text[: text.index("[template]")]
    with pytest.raises(ProfileProblem, match=r"\[device\], for the line protocol, or \[template\].*not both"):
        read(bare.replace("[repeatability]", both).encode(), "ours")


@pytest.mark.parametrize(("delay", "jitter", "taken"), [(1.4, 0.1, True), (1.4, 0.11, False), (1.51, 0, False)])
def test_a_ball_on_the_line_protocol_is_not_inside_for_long(delay: float, jitter: float, taken: bool) -> None:
    """The host announces a ball 400 ms and its feed ahead, and a device refuses a `go` over 2,000 ms ahead as `early`
    (PROTOCOL.md)."""
    text = (SHIPPED / "academy.toml").read_text("utf-8")
    slow = re.sub(r"feed_delay_s = .*", f"feed_delay_s = {delay}", text)
    slow = re.sub(r"feed_jitter_s = .*", f"feed_jitter_s = {jitter}", slow)
    if taken:
        assert read(slow.encode(), "ours").slowest_feed_s == 1.5
        return
    with pytest.raises(
        ProfileProblem, match=r"inside for up to 1\.51 s \(feed_delay_s \+ feed_jitter_s\).*1\.5 s at most"
    ):
        read(slow.encode(), "ours")
    # A machine with commands of its own, or none, has no such moment.
    assert read(slow[: slow.index("[device]")].encode(), "ours").slowest_feed_s == 1.51


def test_the_speed_of_the_port_leaves_a_plan_as_it_is() -> None:
    text = (SHIPPED / "answering.toml").read_text("utf-8")
    slow, usual = (
        read(text.replace("reply_s", f"{more}reply_s").encode(), "answering") for more in ("baud = 9600\n", "")
    )
    assert slow.template and usual.template and (slow.template.baud, usual.template.baud) == (9600, 115200)
    assert slow.fingerprint == usual.fingerprint


def test_a_step_too_small_to_count_is_no_fault() -> None:
    text = (SHIPPED / "club.toml").read_text("utf-8")
    assert read(re.sub(r"^step = .*$", "step = 1e-320", text, count=1, flags=re.M).encode(), "mine").speed.step


def test_a_person_slices_less_than_a_server_and_strays_to_the_side_no_more_for_it() -> None:
    """A server's slice: 2000 to 3000 rpm about all axes, common practice, no source."""
    racket, academy = ProfileShelf().load("racket"), ProfileShelf().load("academy")
    assert racket and academy and racket.sidespin and racket.sidespin.high == -racket.sidespin.low <= 1000
    assert racket.spin_scatter_rpm == (racket.repeatability.spin_rpm, 0.0)
    assert academy.spin_scatter_rpm == (academy.repeatability.spin_rpm,) * 2
