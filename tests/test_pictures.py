"""The pictures of the pages, made anew from a shipped program and compared (`--update` writes them; look at them then).

They are made by what draws for people: the sheet's typesetter, `show`, the replay's screen, `check`. None loads
anything.
"""

import re
from hashlib import sha256
from html import escape
from importlib.metadata import version
from pathlib import Path

import pytest
from rich.console import Console

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.trace import replies, trajectories
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.picture import picture
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.machine.replay.protocol import ProtocolMachine
from feedwright.targets.machine.replay.run import Run
from feedwright.targets.machine.replay.screen import drawn
from feedwright.targets.outputs.sheet import pdf
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.show import drawing, terminal

from . import shipped
from .replay.world import FP, World

ROOT = Path(__file__).parent.parent
FIRST = ROOT / "programs" / "02-first-script.feed"
CELL, LINE = 8.4, 16.0
"""Pixels of a character of 14 pixels; lines so close that the strokes of frames meet."""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return shipped.plan(FIRST)


def kept(name: str, made: str, config: pytest.Config) -> None:
    """Compared but for the last digits of numbers, which may differ from machine to machine."""
    path = ROOT / name
    if config.getoption("--update"):
        path.write_text(made, "utf-8")
    number = re.compile(r"(?<![\w#])-?\d+\.\d+")
    stands = path.read_text("utf-8")
    assert len(stands.encode()) < 300_000 and not re.search(r"(?:href|src|url)\W{1,3}(?:https?:)?//|@import", stands)
    assert number.sub("0.0", stands) == number.sub("0.0", made), (
        f"look at it, then: pytest tests/{Path(__file__).name} --update"
    )
    # A thousandth of a metre, or of a point, and a digit of rounding.
    assert list(map(float, number.findall(stands))) == pytest.approx(list(map(float, number.findall(made))), abs=2.1e-3)


def screen(text: str) -> str:
    """Lines of a terminal as an SVG; bold is all that is kept of their style."""
    lines = [re.sub(r"\x1b\[[\d;]*m", "", line) for line in text.splitlines()]
    styled = [re.sub(r"\x1b\[1(?:;7)?m(.*?)\x1b\[0m", "\x01\\1\x02", line) for line in text.splitlines()]
    width, height = max(map(len, lines)) * CELL + 24, len(lines) * LINE + 20
    rows = ""
    for n, (line, bold) in enumerate(zip(lines, styled, strict=True)):
        if line.strip():
            words = escape(bold).replace("\x01", '<tspan font-weight="700">').replace("\x02", "</tspan>")
            rows += f'<text x="12" y="{n * LINE + 23:.1f}" textLength="{len(line) * CELL:.1f}">{words}</text>\n'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{height:.0f}" role="img">\n'
        '<style>text { font: 14px "DejaVu Sans Mono", Menlo, Consolas, monospace; fill: #1b1f24; white-space: pre; }'
        f'</style>\n<rect width="100%" height="100%" fill="#ffffff" stroke="#8b939c"/>\n{rows}</svg>\n'
    )


def test_a_page_of_the_sheet(plan: Plan, pytestconfig: pytest.Config) -> None:
    """Bytes are those of one typst; another is held to what is set, which the first line of the file names."""
    # The plan's own digest holds every digit of every number, which another processor may round otherwise.
    pages = pdf.inputs(document(plan.model_copy(update={"digest": "0123456789ab" + "0" * 52})))
    path, what = (
        ROOT / "targets" / "outputs" / "sheet" / "example.svg",
        sha256(repr(sorted(pages.items())).encode()).hexdigest(),
    )
    if not pytestconfig.getoption("--update"):
        assert what in path.read_text("utf-8").partition("\n")[0], f"pytest tests/{Path(__file__).name} --update"
    pytest.importorskip("typst", reason="the extra pdf is not installed: what is set was compared, the picture not")
    head = f"<!-- programs/{FIRST.name}, page 2, by typst {version('typst')} of {what} -->"
    if not pytestconfig.getoption("--update") and head != path.read_text("utf-8").partition("\n")[0]:
        pytest.skip(f"typst {version('typst')} draws letters its own way: what is set was compared, the picture not")
    drawn_page = pdf.drawings(document(plan.model_copy(update={"digest": "0123456789ab" + "0" * 52})))[1].decode()
    short = re.sub(r"-?\d+\.\d{4,}", lambda m: f"{float(m[0]):.3f}".rstrip("0").rstrip("."), drawn_page)
    kept("targets/outputs/sheet/example.svg", f"{head}\n{short}\n", pytestconfig)


def test_a_ball_from_above_and_from_the_side(plan: Plan, pytestconfig: pytest.Config) -> None:
    kept(
        "targets/outputs/show/picture.svg",
        drawing.render(plan, trajectories(plan), replies=replies(plan)).decode(),
        pytestconfig,
    )


def test_show_in_a_terminal(plan: Plan, pytestconfig: pytest.Config) -> None:
    kept(
        "targets/outputs/show/terminal.svg",
        screen(terminal.render(plan, trajectories(plan), colour=True)),
        pytestconfig,
    )


class Club(World):
    """The simulated machine of the plan's profile plays the plan, in virtual time."""

    def __init__(self, plan: Plan) -> None:
        self.shown, feeder = plan, ProfileShelf().load(plan.feeder.name)
        assert feeder and feeder.limits
        super().__init__(3, places=places(plan), limits=feeder.limits, walk_ms=10_000)

    def open(self) -> None:
        run = Run("0f0e0d0c0b0a0908", self.shown.program, self.places, self.record())  # type: ignore[arg-type]
        machine = ProtocolMachine(self._write, self.identity, FP, nonce="0badf00d")
        self.host = Host(machine, shelf(self.shown), iter((run,)), walk_s=self.walk_ms / 1000)
        self.host.start(self.now)


def test_the_screen_of_a_replay(plan: Plan, pytestconfig: pytest.Config) -> None:
    world = Club(plan)
    host = world.forward(RunPhase.LIVE)
    while host.counts["gone"] < 12 and world.now < 200:
        world.step(200)
        host.mark(world.now, host.counts["gone"] % 4 != 3)
    while host.first_in_s(world.now) > 4:
        world.step(200)
    console = Console(width=76, force_terminal=True, color_system=None, legacy_windows=False, highlight=False)
    with console.capture() as captured:
        console.print(drawn(picture(host, world.now), 76, 24))
    kept("targets/machine/replay/screen.svg", screen(captured.get()), pytestconfig)
