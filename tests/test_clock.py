"""One clock: from a script's text, every output tells each ball's second alike.

The seconds beside each session were added up by hand from its own words: a block of so long lasts so long, one of so
many balls until its last ball's interval is over, a collect without a time two minutes (grammar/LANGUAGE.md), and a
ball leaves its interval after the one before it, in whichever block that was, but not before its own block.
"""

import io
import json
import re
import wave
from collections.abc import Iterator
from itertools import groupby, pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from feedwright.compiler.verify import verify
from feedwright.targets.command.cli import main
from feedwright.targets.document import read
from feedwright.targets.machine.feeders import ProfileShelf

HEAD = """program "By the clock"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, on baseline, behind a screen
variation rally "deep"
    reply     deep
feed a aims rally
    side      middle
    depth     1 to 4 m inside baseline
    stance    1 m behind baseline
    height    1.5 m over net
    spin      flat
    interval  20 s
"""
FEEDS = {
    "a": "",
    "b": "feed b, like a\n    height    1 m over net\n    interval  15 s\n",
    "two": "feed two, like a\n    side      left wing, right wing\n    interval  10 s\n",
    "fast": "feed fast, like a\n    time      1.2 s to contact\n    interval  5 s between contacts\n",
    "slow": "feed slow, like a\n    time      2 s to contact\n    interval  5 s between contacts\n",
}


class Scene(NamedTuple):
    feeds: str
    """Beside a."""
    session: str
    balls: str
    """Second and name of each."""
    blocks: tuple[float, ...]
    """Second at which each block starts, the last at which the session ends."""
    parts: tuple[float, ...]
    """Second at which each part starts, the last at which the session ends."""
    near: float = 0.0005
    """s. Half a millisecond, for what is written in whole ones."""


SCENES = {
    "opens with a rest": Scene(
        "b", "rest 60 s\n1 min a\nrest 10 s\n40 s b",
        "60 a, 80 a, 100 a, 130 b, 145 b, 160 b", (0, 60, 120, 130, 170), (0, 170),
    ),
    "opens with a collect and has a long rest": Scene(
        "b", "collect 30 s\n20 s a\nrest 3 min\n2 balls b",
        "30 a, 230 b, 245 b", (0, 30, 50, 230, 260), (0, 230, 260),
    ),
    "rests in the middle, shorter than an interval": Scene(
        "b", "50 s a\n30 s b\nrest 5 s\n2 balls a",
        "0 a, 20 a, 40 a, 55 b, 70 b, 90 a, 110 a", (0, 50, 80, 85, 130), (0, 130),
    ),
    "collects": Scene(
        "b", "1 min a\ncollect 30 s\n40 s b\ncollect\n1 ball a",
        "0 a, 20 a, 40 a, 90 b, 105 b, 120 b, 250 a", (0, 60, 90, 130, 250, 270), (0, 90, 250, 270),
    ),
    "two collects at once, and one at the end": Scene(
        "", "1 ball a\ncollect 30 s\ncollect 40 s\n1 ball a\ncollect 50 s",
        "0 a, 90 a", (0, 20, 50, 90, 110, 160), (0, 50, 160),
    ),
    "rounds": Scene(
        "b", "2 rounds\n    30 s b\n    rest 5 s\n1 ball a",
        "0 b, 15 b, 35 b, 50 b, 70 a", (0, 30, 35, 65, 70, 90), (0, 90),
    ),
    "rounds with a rest between them, wherever its line stands": Scene(
        "b", "3 rounds\n    rest 5 s between\n    30 s b",
        "0 b, 15 b, 35 b, 50 b, 70 b, 85 b", (0, 30, 35, 65, 70, 100), (0, 100),
    ),
    "rounds of balls with a collect between them": Scene(
        "b", "2 rounds\n    2 balls b\n    collect 40 s between rounds\n1 ball b",
        "0 b, 15 b, 70 b, 85 b, 100 b", (0, 30, 70, 100, 115), (0, 70, 115),
    ),
    "a family": Scene(
        "two", "rest 30 s\n35 s two\n1 ball a",
        "30 two, 40 two, 50 two, 60 two, 80 a", (0, 30, 65, 100), (0, 100),
    ),
    "a ladder": Scene(
        "b", "rest 10 s\nladder a, up to 3 balls, pace 70, 80 km/h\n    up 2 in a row\n1 ball b",
        "10 a, 30 a, 50 a, 70 b", (0, 10, 70, 85), (0, 85),
    ),
    # Met after 2 s and 1.2 s: the fast one leaves 5.8 s after the slow one, which leaves 4.2 s after it. The dials'
    # steps move a contact by some hundredths of a second.
    "between contacts": Scene(
        "fast slow", "rest 10 s\n21 s cycle slow, fast",
        "10 slow, 15.8 fast, 20 slow, 25.8 fast, 30 slow", (0, 10, 31), (0, 31), near=0.05,
    ),
    # The fast one's turn comes after 20 s, in time, but it would leave 20.8 s after the first, when all collect.
    "between contacts, a ball that would leave after its block": Scene(
        "fast slow", "20.5 s cycle 4 slow, fast\ncollect 10 s\n6 s fast",
        "0 slow, 5 slow, 10 slow, 15 slow, 30.5 fast, 35.5 fast", (0, 20.5, 30.5, 36.5), (0, 30.5, 36.5), near=0.05,
    ),
}  # fmt: skip


class Built(NamedTuple):
    name: str
    scene: Scene
    folder: Path
    balls: list[tuple[float, str]]


@pytest.fixture(scope="module", params=SCENES)
def built(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Built]:
    scene = SCENES[request.param]
    folder = tmp_path_factory.mktemp("clock")
    script = folder / "x.feed"
    lines = "".join(f"    {line}\n" for line in scene.session.split("\n"))
    script.write_text(HEAD + "".join(FEEDS[name] for name in scene.feeds.split()) + f'session "S"\n{lines}', "utf-8")
    plan = folder / "x.plan.json"
    for command in (["build", str(script)], ["cues", str(plan)], ["show", str(plan), "--html"]):
        assert main([*command, "-o", str(folder)]) == 0
    balls = [(float(second), name) for second, name in (ball.split() for ball in scene.balls.split(", "))]
    yield Built(request.param, scene, folder, balls)


def text(built: Built, suffix: str) -> str:
    return (built.folder / f"x.{suffix}").read_text("utf-8")


def watch(second: float) -> str:
    """What a stop-watch shows that was started with the session."""
    return f"{int(second // 60)}:{int(second % 60):02d}"


def test_the_plan(built: Built) -> None:
    plan = json.loads(text(built, "plan.json"))
    feeds = {shot["id"]: shot["feed"] for shot in plan["shots"]}
    told = [(ball["at_s"], feeds[ball["shot"] or ball["any_of"][0]]) for ball in plan["launches"]]
    assert [name for _, name in told] == [name for _, name in built.balls]
    assert [at for at, _ in told] == pytest.approx([at for at, _ in built.balls], abs=built.scene.near)
    for what, bounds in (("blocks", built.scene.blocks), ("parts", built.scene.parts)):
        assert [(one["start_s"], one["end_s"]) for one in plan[what]] == list(pairwise(bounds))
    assert plan["totals"]["duration_s"] == built.scene.blocks[-1]
    for ball in plan["launches"]:
        block = plan["blocks"][ball["block"]]
        assert block["kind"] == "balls" and block["start_s"] <= ball["at_s"] < block["end_s"]


def test_the_table_and_the_stream(built: Built) -> None:
    rows = [line.split() for line in text(built, "table.txt").split("\n\n")[1].splitlines()[2:]]
    assert [float(row[2]) for row in rows] == pytest.approx([at for at, _ in built.balls], abs=built.scene.near)
    assert [row[1] for row in rows] == [watch(float(row[2])) for row in rows]
    parts = [sum(start <= at for start in built.scene.parts) - 1 for at, _ in built.balls]
    assert [int(row[3]) - 1 for row in rows] == parts
    stream = re.findall(r"^go b=\d+ at=(\d+)", text(built, "stream"), re.M)
    assert [int(ms) / 1000 for ms in stream] == pytest.approx([at for at, _ in built.balls], abs=built.scene.near)
    assert re.findall(r"^part n=(\d+) balls=(\d+)", text(built, "stream"), re.M) == [
        (str(part), str(len(list(balls)))) for part, balls in groupby(parts)
    ]


def test_the_sound_track(built: Built) -> None:
    """Read from its samples: sounds between silences, the launches' one of 0.25 s at 1320 Hz; 0:00 is after 4 s."""
    with wave.open(io.BytesIO((built.folder / "x.cues.wav").read_bytes())) as file:
        rate, samples = file.getframerate(), np.frombuffer(file.readframes(file.getnframes()), "<i2")
    sounding = np.flatnonzero(samples)
    sounds = np.split(sounding, np.flatnonzero(np.diff(sounding) > rate // 100) + 1)
    tones = []
    for first, last in ((sound[0], sound[-1]) for sound in sounds):
        crossings = np.count_nonzero(np.diff(samples[first : last + 1] < 0))
        if abs((last - first) / rate - 0.25) < 0.01 and abs(crossings / 2 / 0.25 - 1320) < 5:
            tones.append(first / rate - 4)
    assert tones == pytest.approx([at for at, _ in built.balls], abs=built.scene.near)
    end = built.scene.blocks[-1]
    assert end < sounds[-1][-1] / rate - 4 < end + 2  # what says that it is over begins there


def test_the_picture_page(built: Built) -> None:
    page = text(built, "picture.html")
    told = re.findall(r'"Ball \d+ of \d+, (\d+:\d\d), block', page)
    plan = json.loads(text(built, "plan.json"))
    near = [watch(ball["at_s"]) for ball in plan["launches"]]  # the plan's own seconds are held by test_the_plan
    assert told == near
    starts = re.findall(r"Block \d+, (\d+:\d\d)</option>", page)
    # A block is offered once, with all its rounds.
    offered = [block["kind"] == "balls" and (block["round"] or [1])[0] == 1 for block in plan["blocks"]]
    assert starts == [watch(at) for at, is_ in zip(built.scene.blocks, offered, strict=False) if is_]


def test_a_dry_run(built: Built, capsys: pytest.CaptureFixture[str]) -> None:
    """Each part is armed on its own; from its first ball on the seconds are the session's."""
    capsys.readouterr()
    assert main(["replay", str(built.folder / "x.plan.json"), "--dry-run", "--walk-time", "7"]) == 0
    armed = capsys.readouterr().out.split("A person arms")[1:]
    parts = [
        [at for at, _ in built.balls if start <= at < end]
        for start, end in pairwise(built.scene.parts)
    ]  # fmt: skip
    assert len(armed) == len(parts)
    for said, balls in zip(armed, parts, strict=True):
        told = [float(second) for second in re.findall(r"^ *([\d.]+) s  ball \d+:", said, re.M)]
        assert told == pytest.approx([7 + at - balls[0] for at in balls], abs=2 * built.scene.near)


# What is printed, also by hand: on the sheet's first page when each block begins, in the heads from when to when it
# goes, with the rests and collects after it; in the partner form the half of the time in which its balls are fed.
PAGES = {
    "opens with a rest": (
        ["0:00", "1:00", "2:10"], ["0:00 to 1:00", "1:00 to 2:10", "2:10 to 2:50"], ["1:30", "2:30"]),
    "collects": (
        ["0:00", "1:30", "4:10"], ["0:00 to 1:30", "1:30 to 4:10", "4:10 to 4:30"], ["0:30", "1:50", "4:20"]),
    "rounds": (["0:00", "1:10"], ["0:00 to 1:10", "1:10 to 1:30"], ["0:32", "1:20"]),
    "between contacts, a ball that would leave after its block": (
        ["0:00", "0:30"], ["0:00 to 0:30", "0:30 to 0:36"], ["0:10", "0:33"]),
}  # fmt: skip


def test_the_sheet(built: Built) -> None:
    said = text(built, "sheet.html").replace("\xa0", " ")
    assert f"{watch(built.scene.blocks[-1])} min, " in said
    clock, heads, _ = PAGES.get(built.name, (None, None, None))
    told = re.findall(r'<div class="clock"><b>(\d+:\d\d)</b>', said)
    assert set(told) <= {watch(at) for at in built.scene.blocks[:-1]} and told[0] == "0:00"
    if clock:
        assert told == clock and re.findall(r"Block \d+ · (\d+:\d\d to \d+:\d\d)", said) == heads


def test_the_partner_form(built: Built) -> None:
    if built.name not in PAGES:
        return
    assert main(["sheet", str(built.folder / "x.plan.json"), "--partner", "-o", str(built.folder)]) == 0
    halves = re.findall(r"to (\d+:\d\d): player 1 steady", text(built, "partner.html").replace("\xa0", " "))
    assert halves == PAGES[built.name][2]


def test_what_verify_asks_of_a_plans_clock(tmp_path: Path) -> None:
    """`20.5 s a`, a collect of a second, one ball more: at 0, 20 and 40 s; the academy machine needs 1.55 s."""
    script = tmp_path / "x.feed"
    script.write_text(f'{HEAD}session "S"\n    20.5 s a\n    collect 1 s\n    1 ball a\n', "utf-8")
    assert main(["build", str(script), "-o", str(tmp_path)]) == 0
    plan = read((tmp_path / "x.plan.json").read_bytes())
    feeder = ProfileShelf().load("academy")
    assert feeder and verify(plan, feeder) == []

    def moved(*seconds: float) -> list[str]:
        launches = [
            ball.model_copy(update={"at_s": float(at)}) for ball, at in zip(plan.launches, seconds, strict=True)
        ]
        return verify(plan.model_copy(update={"launches": tuple(launches)}).sealed(), feeder)

    assert moved(0, 20, 23.05) == []
    (said,) = moved(0, 20, 21.5)  # over the collect too
    assert said == "Ball 3 comes 1.50 s after the one before; the feeder needs 1.55 s."
    (said,) = moved(0, 20.9, 40)
    assert said == "Ball 2 leaves at 20.9 s, outside its block, which runs from 0 to 20.5 s."
