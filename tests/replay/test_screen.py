"""What stands on a screen, by its size and by what it can show: nothing that must be read is ever cut."""

import io
import re
from itertools import chain, product

import pytest
from rich.cells import cell_len
from rich.console import Console

from feedwright.compiler.model.plan import Block
from feedwright.targets.machine.replay import figures, words
from feedwright.targets.machine.replay.flow import Halt, RunPhase
from feedwright.targets.machine.replay.layout import laid_out
from feedwright.targets.machine.replay.picture import KEYS_SHOWN, Picture, break_before, ended, heard, picture
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.run import Ending, Run
from feedwright.targets.machine.replay.screen import Plain, drawn, screen

from .outside import Cells
from .test_loop import SETTINGS, SHOTS, Player
from .world import Disk

SIZES = [(80, 24), (60, 20), (40, 12)]
SHOT = next(iter(SHOTS))


def block(index: int, kind: str, duration_s: float = 60.0) -> Block:
    fed = kind == "balls"
    return Block(
        index=index, kind=kind, words=f"{kind} of the plan", part=0, start_s=0.0, end_s=duration_s,  # type: ignore[arg-type]
        balls=int(fed), order="same" if fed else None, shots=(SHOT,) * fed, round=None, notes=(),
    )  # fmt: skip


class Stands(Player):
    """A host before place 3, with what the plan has between the balls before and it."""

    def __init__(self, phase: RunPhase, *between: Block, halt: Halt = Halt.PART_PLAYED) -> None:
        super().__init__(phase)
        after = len(between) + 1
        places = (Place(1, 0.0, (SHOT,), 0, 0), Place(2, 2.0, (SHOT,), 0, 0), Place(3, 99.0, (SHOT,), after, 0))
        self.run, self.halt, self.told = Run("ab" * 8, "bench", places, Disk()), halt, True
        self.armed_places = lambda: self.run.places[2:]  # type: ignore[method-assign]
        self.shelf = RunShelf(
            SHOTS, {shot: SETTINGS["steady"] for shot in SHOTS},
            {b.index: b for b in (block(0, "balls"), *between, block(after, "balls"))},
        )  # fmt: skip


def rows(shown: Picture, size: tuple[int, int], ascii_only: bool = False) -> list[str]:
    console = Console(file=io.StringIO(), force_terminal=True, color_system=None, width=size[0], legacy_windows=False)
    with console.capture() as captured:
        console.print(drawn(shown, *size, ascii_only), end="")
    return re.sub(r"\x1b\[[\d;]*m", "", captured.get()).rstrip("\n").split("\n")


def read(lines: list[str]) -> str:
    """The words, whatever they are broken by."""
    return " ".join(" ".join(line.strip("│|╭╮╰╯ ") for line in lines).split())


def big(text: str, shown: list[str], ascii_only: bool = False) -> bool:
    """Whether a word stands there in giant signs, of any of the sizes."""
    forms = [figures.giant(text, 2), figures.giant(text, 1), figures.half(text)][: 2 if ascii_only else 3]
    forms = [[row.replace("█", "#") for row in form] for form in forms] if ascii_only else forms
    return any(
        all(row.strip() in line for row, line in zip(form, shown[n:], strict=False))
        for form in forms for n in range(len(shown) - len(form) + 1)
    )  # fmt: skip


# ---- everything that must be read


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_caution_is_read_before_arming(size: tuple[int, int], ascii_only: bool) -> None:
    host = Player(RunPhase.READY)
    shown = picture(host, 0.0)
    pages = laid_out(shown, *size, ascii_only).pages
    each = [rows(picture(host, 0.0, page=n), size, ascii_only) for n in range(pages)]
    text = read(list(chain.from_iterable([line for line in page[1:] if "read on" not in line] for page in each)))
    text = text.replace(" SPACE stop and leave", "")
    for caution in words.cautions(words.QUIET_SHOWN):
        assert caution in text
    assert "…" not in text and "..." not in text
    assert "To arm: 3 balls, 1 to 3" in text
    # Only the last page arms; each before says how many there are.
    assert ["a arm" in read(page) for page in each] == [False] * (pages - 1) + [True]
    assert all(f"page {n + 1} of {pages}" in read(page) for n, page in enumerate(each[:-1]))


@pytest.mark.parametrize("phase", list(RunPhase))
def test_a_picture_never_outgrows_its_screen(phase: RunPhase) -> None:
    for size, host in product(
        (*SIZES, (132, 50), (50, 16), (49, 15), (24, 8)), (Player(phase), Stands(phase, block(1, "collect")))
    ):
        for name in ("a", "w" * 60, "日本" * 30, "e\u0301" * 40):
            host.why = name
            host.ending = Ending(4, name, False, 1, 2) if phase is RunPhase.ENDED else None
            lines = rows(picture(host, 0.0), size)
            assert len(lines) <= size[1] and all(cell_len(line.rstrip()) <= size[0] for line in lines), (size, name)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("phase", [phase for phase in RunPhase if phase is not RunPhase.ENDED])
def test_every_size_keeps_the_state_and_the_keys_and_stop(
    size: tuple[int, int], ascii_only: bool, phase: RunPhase
) -> None:
    host = Player(phase)
    host.told = True
    shown = picture(host, 0.0)
    lines = rows(picture(host, 0.0, page=9), size, ascii_only)
    text = read(lines)
    assert shown.headline in lines[0] and re.search(r"SPACE stop|SPACE STOP", text)
    for key in KEYS_SHOWN.get(phase, ()):
        assert " ".join(key.split()) in text
    if phase is RunPhase.LIVE:
        assert big("5", lines, ascii_only) and "next: ball 2" in text and "middle" in text
    if phase is RunPhase.ANSWERING:
        assert "type without spaces W7XY" in text


# ---- from three metres


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize(
    ("host", "giant"),
    [
        (Stands(RunPhase.READY, halt=Halt.PAUSED), "PAUSED"),
        (Stands(RunPhase.READY, halt=Halt.HELD), "HELD"),
        (Stands(RunPhase.READY, halt=Halt.SKIPPED), "SKIPPED"),
        (Stands(RunPhase.READY, block(1, "rest")), "REST"),
        (Stands(RunPhase.READY, block(1, "collect")), "COLLECT"),
        (Stands(RunPhase.READY, block(1, "rest"), block(2, "collect")), "COLLECT"),
        (Stands(RunPhase.STOPPING), "STOP"),
        (Stands(RunPhase.WATCHING), "LAST BALL"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_state_is_read_from_three_metres(host: Stands, giant: str, size: tuple[int, int], ascii_only: bool) -> None:
    assert big(giant, rows(picture(host, 0.0), size, ascii_only), ascii_only)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize(
    ("stopped", "why", "giant"),
    [
        (True, "Stopped by the player", ["STOPPED"]), (False, "Stopped by the player", ["NOT", "CONFIRMED"]),
        (False, words.PLAYED, ["NOT", "CONFIRMED"]), (True, words.PLAYED, ["END"]), (None, words.PLAYED, ["END"]),
    ],
)  # fmt: skip
def test_the_end_is_read_from_three_metres(
    stopped: bool | None, why: str, giant: list[str], size: tuple[int, int], ascii_only: bool
) -> None:
    host = Player(RunPhase.ENDED)
    host.ending = Ending(0, why, stopped, 1, None)
    lines = rows(picture(host, 0.0), size, ascii_only)
    assert list(ended(host.ending)) == giant
    assert all(big(word, lines, ascii_only) for word in giant)
    assert picture(host, 0.0).alarm == (giant != ["END"])


def test_a_collect_says_how_many_balls_lie_about_and_its_time_runs_down() -> None:
    host = Stands(RunPhase.READY, block(1, "collect", 120.0))
    assert picture(host, 10.0, since=10.0).giant == ("COLLECT", "2 BALLS", "2:00")
    assert picture(host, 55.0, since=10.0).giant[-1] == "1:15" and picture(host, 999.0, since=10.0).giant[-1] == "0:00"
    assert "Collect 2 balls: 2:00 min by the plan." in picture(host, 10.0, since=10.0).lines
    lines = rows(picture(host, 10.0, since=10.0), (80, 24))
    assert big("COLLECT", lines) and big("2 BALLS", lines) and big("2:00", lines)


def test_balls_collected_before_are_not_counted_again() -> None:
    host = Stands(RunPhase.READY)
    blocks = [block(0, "balls"), block(1, "collect"), block(2, "balls"), block(3, "collect"), block(4, "balls")]
    places = tuple(Place(n + 1, 0.0, (SHOT,), index, 0) for n, index in enumerate((0, 0, 0, 2, 2, 4)))
    host.run = Run("ab" * 8, "bench", places, Disk())
    host.armed_places = lambda: places[5:]  # type: ignore[method-assign]
    host.shelf = RunShelf(SHOTS, host.shelf.settings, {b.index: b for b in blocks})
    found = break_before(host)
    assert found is not None and (found.balls, found.collect) == (2, True)


def test_a_rest_while_the_machine_is_live_is_shown_until_its_last_seconds() -> None:
    host = Stands(RunPhase.LIVE, block(1, "rest"))
    host.coming = lambda: (host.run.places[2], SHOT)  # type: ignore[method-assign]
    host.first_in_s = lambda now: 42.0 - now  # type: ignore[method-assign]
    assert picture(host, 0.0).giant == ("42", "REST") and heard(host, 0.0, 0.0).sound is not None
    assert picture(host, 33.0).giant[0] == "9" and picture(host, 33.0).giant[1] != "REST"
    assert heard(host, 33.0, 0.0).sound is None


def test_the_giant_signs_cover_every_word_that_is_shown_and_every_name_of_plain_letters() -> None:
    assert figures.can_draw("ABCDEFGHIJKLMNOPQRSTUVWXYZ 0123456789:-")
    drawings = [tuple(figures.giant(sign, 1)) for sign in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"]
    assert len(set(drawings)) == 36 and all(len(set(map(len, rows))) == 1 for rows in drawings)


# ---- what a terminal can show


class Tube(io.StringIO):
    """Standard output that is a terminal, of an encoding."""

    def __init__(self, encoding: str = "utf-8") -> None:
        super().__init__()
        self._encoding = encoding

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self._encoding

    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in (("TERM", "xterm-256color"), ("COLUMNS", "80"), ("LINES", "24")):
        monkeypatch.setenv(name, value)
    monkeypatch.delenv("NO_COLOR", raising=False)


def stopped() -> Picture:
    return picture(Stands(RunPhase.STOPPING), 0.0)


def test_stop_has_its_own_colour_and_weight(monkeypatch: pytest.MonkeyPatch) -> None:
    tube = Tube()
    screen(tube, False).show(picture(Player(RunPhase.LIVE), 0.0))
    assert "\x1b[1;7;31mSPACE  STOP" in tube.getvalue()  # bold, reverse, red: ECMA-48 SGR 1, 7, 31
    monkeypatch.setenv("NO_COLOR", "1")
    plain = Tube()
    screen(plain, False).show(picture(Player(RunPhase.LIVE), 0.0))
    assert "\x1b[1;7mSPACE  STOP" in plain.getvalue() and not re.search(r"\x1b\[[\d;]*\b(3|4|9)\d", plain.getvalue())


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_terminal_without_block_signs_gets_ascii(encoding: str) -> None:
    tube = Tube(encoding)
    shown = screen(tube, False)
    shown.say("płayed — done")
    shown.show(stopped())
    assert tube.getvalue().isascii() or encoding == "latin-1"
    tube.getvalue().encode(encoding)
    assert "#####" in tube.getvalue() and "+-----" in tube.getvalue()


@pytest.mark.parametrize("term", ["dumb", "unknown"])
def test_a_terminal_that_cannot_draw_in_place_gets_lines_and_is_told(
    term: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", term)
    tube = Tube()
    lines = screen(tube, False)
    assert isinstance(lines, Plain) and tube.getvalue().startswith("This terminal cannot draw in place")
    lines.show(stopped())
    assert "\x1b" not in tube.getvalue() and "Stopping\n" in tube.getvalue()


def test_the_box_stays_where_it_is_and_what_was_said_stays_above_it() -> None:
    tube, cells, fed = Tube(), Cells(80, 24), 0
    shown = screen(tube, False)

    def look() -> str:
        nonlocal fed
        cells.feed(tube.getvalue()[fed:].replace("\n", "\r\n"))
        fed = len(tube.getvalue())
        return cells.text

    host = Player(RunPhase.LIVE)
    shown.show(picture(host, 0.0))
    assert look().startswith("╭")
    top = cells.text.split("\n")[0]
    for n in range(5):
        host.counts["gone"] = n
        shown.ring()
        shown.show(picture(host, 0.0))
        assert look().split("\n")[0] == top and f"{n} ball" in cells.text and cells.text.count("╭") == 1
    assert cells.bells == 5 and cells.gone == []
    for n in range(30):
        shown.say(f"said {n}")
    assert look().count("╭") == 1 and cells.all.count("╭") == 1 and cells.unknown == []
    assert [f"said {n}" in cells.all for n in range(30)] == [True] * 30
    shown.show(stopped())  # a smaller box leaves nothing of the larger one
    assert look().count("╭") == cells.text.count("╰") == 1 and "next: ball" not in cells.all
