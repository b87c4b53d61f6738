"""Long work: its size is told beforehand, how far it has come meanwhile, and nothing of either is left behind."""

import io
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from feedwright.compiler import choose, chosen, kept
from feedwright.compiler import evaluate as judge
from feedwright.compiler import solve as aim
from feedwright.compiler.findings.flight import FeederLimit, OutOfReach
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.progress import Overtaken, WhileWanted
from feedwright.grammar.source import Source
from feedwright.targets.command import waiting
from feedwright.targets.machine.feeders import ProfileShelf

from .shipped import FOLDER

HEAD = """program "Many"
    surface   hard
    player    right-handed, 1.78 m tall
    feeder    machine club, on centre, on baseline, behind a screen

variation deep "x"
    when      x
    reply     deep

"""
FEED = """feed f{0} aims deep
    side      0.2 to 1.5 m right of centre
    depth     1 to 4 m inside baseline
    stance    1 m behind baseline
    {1}
    spin      flat
    interval  5.5 s

"""


def many(lines: list[str]) -> str:
    feeds = "".join(FEED.format(i, line) for i, line in enumerate(lines))
    return f'{HEAD}{feeds}session "x", lasts 60 min\n' + "".join(f"    10 s      f{i}\n" for i in range(len(lines)))


class Heard:
    def __init__(self) -> None:
        self.balls, self.work, self.parts = 0, 0.0, list[float]()

    def begin(self, balls: int, work: float) -> None:
        self.balls, self.work = balls, work

    def done(self, work: float) -> None:
        self.parts.append(work)


def compiled(text: str, heard: Heard | None = None, sample: bool = False, remedies: bool = True) -> Compiled:
    heard = heard or Heard()
    return compile_source(Source("x.feed", text), ProfileShelf(), sample=sample, progress=heard, remedies=remedies)


@pytest.mark.parametrize("sample", [False, True])
def test_the_parts_of_the_work_come_to_the_whole_that_was_told(sample: bool) -> None:
    heard = Heard()
    heights = [f"height    {1 + 0.05 * i:.2f} m over net" for i in range(6)]
    compiled(many(["pace      fastest", *heights]), heard, sample)
    assert heard.balls == 7 and sum(heard.parts) == pytest.approx(heard.work)
    assert len(heard.parts) >= (5 if sample else 3)  # told in between, too: sampled two balls at a time


def test_balls_that_are_alike_are_flown_once_and_judged_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    kept.forget()
    flown: list[int] = []
    sampled = judge.sampled
    monkeypatch.setattr(judge, "sampled", lambda r, *a, **k: flown.append(len(r.speed)) or sampled(r, *a, **k))
    lines = ["height    1 m over net", "height    1.5 m over net"]
    twice = compiled(many([*lines, *lines]), sample=True).evaluation
    once = compiled(many(lines), sample=True).evaluation
    assert twice and once and flown == [2]  # the second script's balls are found again
    for i in range(4):
        assert twice.scatterings[f"f{i}"] == once.scatterings[f"f{i % 2}"]
        assert twice.replies[f"f{i}"] == once.replies[f"f{i % 2}"]


def test_what_is_possible_is_looked_for_once_a_place_and_for_so_many_places(monkeypatch: pytest.MonkeyPatch) -> None:
    scanned: list[int] = []
    through = aim.launches.through

    def counted(wanted: aim.Wanted, elevations: np.ndarray, *more: object) -> object:
        if elevations.shape[-1] > 80:  # the closer one
            scanned.append(len(wanted.value))
        return through(wanted, elevations, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(aim.launches, "through", counted)
    # What would mend the balls is looked for elsewhere, and takes most of the time.
    alone = compiled(many(["pace      140 km/h"]), remedies=False)
    many_bad = compiled(many([f"pace      {140 + i} km/h" for i in range(12)]), remedies=False)
    assert scanned == [1, 1]
    first, *_ = alone.findings
    assert isinstance(first.message, FeederLimit | OutOfReach) and first.message.wanted
    limits = [f.message for f in (first, *many_bad.findings) if isinstance(f.message, FeederLimit | OutOfReach)]
    assert len(limits) == 13
    assert {one.wanted and one.wanted.possible for one in limits} == {first.message.wanted.possible}
    monkeypatch.setattr(aim, "MOST_CLOSER", 5)
    places = many(["pace      140 km/h"] * 8)
    for i in range(8):
        places = places.replace("1 to 4 m", f"{1 + i / 100:.2f} to 4.5 m", 1)
    told = [
        f.message for f in compiled(places, remedies=False).findings if isinstance(f.message, FeederLimit | OutOfReach)
    ]
    assert len(told) == 8
    assert scanned[2:] == [aim.MOST_CLOSER]


def test_work_goes_on_while_remedies_are_looked_for_before_any_is_tried() -> None:
    kept.forget()
    events: list[str] = []

    class Told(Heard):
        def begin(self, balls: int, work: float) -> None:
            events.append("tried")

        def done(self, work: float) -> None:
            events.append("goes on")

    script = Source("x.feed", many(["pace      140 km/h"]))
    compile_source(script, ProfileShelf(), trials=Told())
    assert "tried" in events and events.index("tried") > 0


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[float]]:
    now = [100.0]
    monkeypatch.setattr(waiting.time, "monotonic", lambda: now[0])
    yield now


def screen(text: str) -> str:
    """What one line of a terminal shows after this."""
    cells: list[str] = []
    at = 0
    for c in text:
        if c == "\r":
            at = 0
        else:
            cells[at : at + 1] = [c]
            at += 1
    return "".join(cells).rstrip()


def test_a_line_stands_while_it_lasts_and_is_gone_afterwards(
    clock: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = Terminal()
    monkeypatch.setattr(sys, "stderr", out)
    monkeypatch.setenv("COLUMNS", "80")
    with waiting.Waiting() as line:
        line.begin(3000, 100.0)
        clock[0] += 0.9
        line.done(10.0)
        assert out.getvalue() == ""  # most work is done by then
        clock[0] += 1.1
        line.done(10.0)
        assert screen(out.getvalue()) == "working out 3000 balls: 20% done, about 8 s more"
        clock[0] += 8.0
        line.done(80.0)
        assert screen(out.getvalue()) == "working out 3000 balls: 100% done, about 1 s more"
    assert screen(out.getvalue()) == "" and out.getvalue().endswith("\r")


def test_how_long_it_takes_is_not_said_before_a_part_is_done(
    clock: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", out := Terminal())
    with waiting.Waiting() as line:
        line.begin(1, 10.0)
        clock[0] += 2.0
        line.done(0.0)
        assert screen(out.getvalue()) == "working out 1 ball: 0% done, 2 s so far"
        clock[0] += 5.0
        line.done(0.0)
        assert screen(out.getvalue()) == "working out 1 ball: 0% done, 7 s so far"


def test_the_line_goes_on_while_remedies_are_tried(clock: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", out := Terminal())
    lines, moved = list[str](), waiting.Waiting.show

    def later(self: waiting.Waiting, line: object) -> None:
        clock[0] += 1.0
        moved(self, line)  # type: ignore[arg-type]
        lines.append(screen(out.getvalue()))

    monkeypatch.setattr(waiting.Waiting, "show", later)
    path = FOLDER / "02-first-script.feed"
    source = Source("tried.feed", path.read_text("utf-8").replace("interval  6 s", "interval  0.7 s"))
    kept.forget()
    with waiting.Waiting() as line:
        found = compile_source(source, ProfileShelf(None), progress=line, trials=waiting.Trying(line))
    assert found.findings[0].remedies
    tried = [line for line in lines if line.startswith("looking for remedies: ")]
    assert len(tried) > 2 and len(set(tried)) == len(tried)  # it moves
    assert re.fullmatch(r"looking for remedies: 1 tried, \d+ s so far", tried[0])
    assert screen(out.getvalue()) == ""


def test_a_narrow_terminal_keeps_it_on_one_line(clock: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    out = Terminal()
    monkeypatch.setattr(sys, "stderr", out)
    monkeypatch.setenv("COLUMNS", "30")
    with waiting.Waiting() as line:
        line.begin(1, 10.0)
        clock[0] += 2.0
        line.done(1.0)
    assert max(map(len, out.getvalue().split("\r"))) == 29


def test_a_pipe_and_quick_work_get_none(clock: list[float], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for out, seconds in ((io.StringIO(), 5.0), (Terminal(), 0.9)):
        monkeypatch.setattr(sys, "stderr", out)
        with waiting.Waiting() as line:
            line.begin(1, 10.0)
            clock[0] += seconds
            line.done(5.0)
        assert out.getvalue() == ""


def test_work_that_nobody_wants_ends_at_its_next_report() -> None:
    """Both of the balls themselves and of remedies on trial, and what was worked out before is no worse for it."""
    path = FOLDER / "02-first-script.feed"
    source = Source("a.feed", path.read_text("utf-8").replace("interval  6 s", "interval  0.7 s"))
    with pytest.raises(Overtaken):
        compile_source(source, ProfileShelf(None), progress=WhileWanted(lambda: False))
    asked = []

    def first_only() -> bool:
        asked.append(True)
        return len(asked) == 1

    with pytest.raises(Overtaken):
        compile_source(source, ProfileShelf(None), trials=WhileWanted(first_only))
    assert len(asked) == 2
    assert compile_source(source, ProfileShelf(None)).findings[0].remedies


@pytest.mark.parametrize(
    ("line", "module", "search"),
    [("pace      fastest", choose, "choose"), ("pace      140 km/h", aim, "_explained")],
    ids=["the best", "why there is none"],
)
def test_long_work_on_one_ball_asks_on_the_way_whether_it_is_wanted(
    line: str, module: ModuleType, search: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept.forget()
    heard, asked, work = Heard(), list[int](), getattr(module, search)

    def watched(*args: object) -> object:
        before = len(heard.parts)
        found = work(*args)
        asked.append(len(heard.parts) - before)
        return found

    monkeypatch.setattr(module, search, watched)
    compiled(many([line]), heard, remedies=False)
    assert asked and min(asked) >= 2


def test_of_the_best_ball_its_own_flight_alone_is_kept() -> None:
    """A thousand of them are kept: hundreds of the flights that were tried beside each would be gigabytes."""
    kept.forget()
    compiled(many(["pace      fastest"]), remedies=False)
    (one,) = chosen.CHOSEN._found.values()
    assert one.rounded and one.rounded.release.speed.shape == one.rounded.flown.clearance.shape == (1,)
