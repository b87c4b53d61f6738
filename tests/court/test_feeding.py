"""The sheet on a phone beside the log, for a person who feeds: marks come in once, whatever the links, the phone and
the program do meanwhile."""

import json
import os
import re
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from random import Random
from typing import Any

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets import document
from feedwright.targets.command.cli import main
from feedwright.targets.log import LogRefused
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.machine.court import feeding
from feedwright.targets.machine.court.asks import BadWords, SheetMark, SheetNews, sheet
from feedwright.targets.machine.court.door import Door
from feedwright.targets.machine.court.feeding import Feeding, Ledger, pages
from feedwright.targets.machine.court.server import bound

from ..log.plans import LADDER, climbing
from ..targets import browser
from .stage import Client, until

PRACTICE, OTHER = "ab" * 16, "cd" * 16
COURSES = 400


class Shelf:
    """A log in memory with the calls that a ledger makes; now and then it cannot be written."""

    def __init__(self, random: Random) -> None:
        self.random, self.practices = random, dict[str, dict[int, tuple[str, Verdict]]]()
        self.uid = ""

    def begin(self, uid: str) -> None:
        self.uid = uid

    def has(self, ball: int) -> bool:
        return ball in self.practices.get(self.uid, {})

    def ball(
        self, block: int, shot: str, rung: int | None, when: datetime, verdict: Verdict, number: int, keyed: bool
    ) -> int:
        self._fails()
        kept = self.practices.setdefault(self.uid, {})
        assert number not in kept
        kept[number] = shot, verdict
        return number

    def judge(self, ball: int, verdict: Verdict) -> None:
        self._fails()
        self.practices[self.uid][ball] = self.practices[self.uid][ball][0], verdict

    def _fails(self) -> None:
        if self.random.random() < 0.1:
            raise LogRefused("another program has been writing to it for too long")


def test_over_lost_doubled_and_late_messages_and_new_starts_each_ball_is_in_the_log_once() -> None:
    plan = climbing()
    places = {shot.id: n for n, shot in enumerate(plan.shots)}
    doubled = restarts = 0
    for seed in range(COURSES):
        random = Random(seed)
        log = Shelf(random)
        ledger = Ledger(plan, log)  # type: ignore[arg-type]
        said: dict[str, list[SheetMark]] = {PRACTICE: [], OTHER: []}
        late: list[SheetNews] = []
        for _ in range(40):
            practice = PRACTICE if random.random() < 0.8 else OTHER
            marks, draw = said[practice], random.random()
            if draw < 0.5:
                launch = random.randint(1, len(plan.launches))
                shot = places[plan.launches[launch - 1].first]
                marks.append(SheetMark(len(marks) + 1, launch, shot, random.choice(list(Verdict)), 10 * len(marks)))
            elif draw < 0.55:
                ledger, restarts = Ledger(plan, log), restarts + 1  # type: ignore[arg-type]
            start = random.randint(0, len(marks))
            late.append(SheetNews(practice, tuple(marks[start : start + 8])))
            for news in random.sample(late, min(len(late), random.choice((0, 1, 2)))):
                doubled += bool(news.marks)
                with suppress(LogRefused):
                    ledger.heard(news)
        for practice, marks in said.items():  # the link is good again: the phone says what is not done
            for _ in range(400):
                done = ledger.practices[practice].done if practice in ledger.practices else 0
                if done == len(marks):
                    break
                with suppress(LogRefused):
                    ledger.heard(SheetNews(practice, tuple(marks[done:])))
            wanted = {one.ball: (plan.launches[one.ball - 1].first, one.verdict) for one in marks}  # the last counts
            assert log.practices.get(practice, {}) == wanted, f"seed {seed}"
    assert doubled > COURSES and restarts > COURSES / 2


BAD = (
    {}, {"practice": PRACTICE}, {"practice": "x", "marks": []}, {"practice": PRACTICE, "marks": [], "arm": 1},
    *({"practice": PRACTICE, "marks": [one]} for one in (
        {}, {"number": 1, "ball": 1, "shot": 0, "verdict": "won", "at": 1},
        {"number": 1, "ball": 0, "shot": 0, "verdict": "hit", "at": 1},
        {"number": 1, "ball": 1, "shot": -1, "verdict": "hit", "at": 1},
        {"number": 1, "ball": 1, "shot": 0, "verdict": "hit", "at": 1e99},
        {"number": 1, "ball": 1, "shot": 0, "verdict": ["hit"], "at": 1},
        {"number": 1, "ball": 1, "shot": 0, "verdict": "hit", "at": 1, "block": 1},
    )),
)  # fmt: skip


@pytest.mark.parametrize("given", BAD, ids=range(len(BAD)))
def test_what_is_no_message_of_the_sheet_is_refused(given: object) -> None:
    with pytest.raises(BadWords):
        sheet(json.dumps(given).encode())


def test_a_mark_of_another_plan_is_left_out() -> None:
    plan = climbing()
    log = Shelf(Random(1))
    log._fails = lambda: None  # type: ignore[method-assign]
    wrong = ((99, 0), (1, 99), (len(plan.launches), 0))  # no such ball, no such shot, no rung of that ladder
    marks = tuple(SheetMark(n, ball, shot, Verdict.HIT, 1) for n, (ball, shot) in enumerate(wrong, 1))
    assert Ledger(plan, log).heard(SheetNews(PRACTICE, marks)).done == 3  # type: ignore[arg-type]
    assert log.practices == {}


# ---- with a real browser and the log's own file


@contextmanager
def fed(plan: Plan, db: Path, port: int = 0) -> Iterator[Any]:
    """The sheet served, as `sheet --court` does, and its port."""
    served = bound(f"127.0.0.1:{port}", None, Door(), time.monotonic, pages(plan, ""), sheet)
    over = threading.Event()

    def run() -> None:
        with Recorder(plan, db) as log:
            beside = Feeding(plan, Ledger(plan, log), served, time.monotonic)
            while not over.wait(0.01):
                beside.turn(lambda: ("Give it more time.",), said.append)

    said = list[str]()
    thread = threading.Thread(target=run, daemon=True)
    served.server.start()
    thread.start()
    try:
        yield served
    finally:
        over.set()
        thread.join(5)
        served.server.close()


def logged(db: Path) -> list[tuple[int, int, str, str]]:
    with open_to_read(db) as database:
        return database.execute("SELECT block, ball, shot, verdict FROM log ORDER BY practice, ball").fetchall()


@pytest.fixture(scope="module")
def driver(driver: Any) -> Any:
    driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride", {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
    )
    return driver


def text(driver: Any, id_: str) -> str:
    return str(driver.execute_script("return document.getElementById(arguments[0]).textContent", id_))


def click(driver: Any, *ids: str) -> None:
    for one in ids:
        driver.execute_script("document.getElementById(arguments[0]).click()", one)


def enter(driver: Any, served: Any) -> None:
    driver.get("about:blank")
    driver.get(f"{served.server.origin}/#{served.door.word}")
    driver.find_element("id", "name").clear()
    driver.find_element("id", "name").send_keys("Ana")
    driver.find_element("css selector", "#join button").click()
    until(lambda: driver.find_element("id", "play").is_displayed())


@pytest.mark.flaky(reruns=2)  # real time, on a machine that may be busy
def test_marks_reach_the_log_over_a_lost_link_a_reload_and_a_new_start_of_the_program(
    driver: Any, tmp_path: Path
) -> None:
    plan, db = climbing(), tmp_path / "practice.db"
    first = plan.launches[0].block
    with fed(plan, db) as served:
        port = served.server.port
        enter(driver, served)
        assert browser.violations(driver) == []
        click(driver, "next", "next")
        assert "ball 1 of" in text(driver, "where")
        click(driver, "hit", "miss")
        until(lambda: text(driver, "link") == "All marks are in the log.")
        assert [(block, verdict) for block, _, _, verdict in logged(db)] == [(first, "hit"), (first, "miss")]
        offline = {"offline": True, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        driver.execute_cdp_cmd("Network.enable", {})
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", offline)
        click(driver, "undo", "hit", "hit")
        until(lambda: text(driver, "link") == "3 of 5 marks wait in this phone.")
        assert "ball 4 of" in text(driver, "where"), "the page goes on without a link"
        driver.execute_cdp_cmd("Network.emulateNetworkConditions", {**offline, "offline": False})
        driver.refresh()
        until(lambda: text(driver, "link") == "All marks are in the log.")
        assert "ball 4 of" in text(driver, "where")
        assert [verdict for *_, verdict in logged(db)] == ["hit", "hit", "hit"]
    click(driver, "miss")  # the program has ended
    until(lambda: text(driver, "link") == "1 of 6 marks wait in this phone.")
    with fed(plan, db, port) as served:  # it begins anew, and no longer knows this phone
        until(lambda: driver.find_element("id", "join").is_displayed())
        enter(driver, served)
        until(lambda: text(driver, "link") == "All marks are in the log.")
        # It goes on where it was: with the rest after the fourth ball.
        until(lambda: text(driver, "where") == "Block 1, 0:16")
        until(lambda: re.fullmatch(r"0:\d\d left", text(driver, "then")))
        found = logged(db)
        assert [(ball, verdict) for _, ball, _, verdict in found] == [(1, "hit"), (2, "hit"), (3, "hit"), (4, "miss")]
        assert [shot for _, _, shot, _ in found] == [one.first for one in plan.launches[:4]]
        driver.find_element("css selector", "#part option[value=end]").click()
        assert "3 hit, 1 missed; 0 in a row, best 3" in text(driver, "lines")
        driver.find_element("id", "anew").click()
        driver.find_element("id", "anew").click()
        click(driver, "next", "next", "next", "miss", "back", "back", "hit")  # the second ball is marked first
        until(lambda: len(logged(db)) == 6)
        with open_to_read(db) as database:
            last = database.execute("SELECT ball, verdict FROM balls WHERE practice = 2 ORDER BY ball").fetchall()
        assert last == [(1, "h"), (2, "m")], "another practice, its balls in the order they were played in"
        assert all("ERR_" in one or "403" in one for one in browser.complaints(driver))


def test_the_command_serves_the_sheet_until_it_is_told_to_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pairs.plan.json").write_bytes(document.render(climbing()))
    invited: list[Any] = []
    monkeypatch.setattr(feeding, "_invite", invited.append)
    mark = {"number": 1, "ball": 1, "shot": 0, "verdict": "hit", "at": 1}

    def marks() -> None:
        try:
            until(lambda: invited)
            ana = Client(invited[0].server.port)
            assert ana.join("Ana", invited[0].door.word)[0] == 200
            news = {"practice": PRACTICE, "marks": [mark]}
            until(lambda: (ana.send("POST", "/exchange", news)[1].get("phone") or {}).get("done") == 1)  # type: ignore[attr-defined]
        finally:
            os.kill(os.getpid(), signal.SIGINT)

    phone = threading.Thread(target=marks, daemon=True)
    phone.start()
    more = ("--court", "127.0.0.1:0", "--db", str(tmp_path / "practice.db"))
    assert main(["sheet", str(tmp_path / "pairs.plan.json"), *more]) == 0
    phone.join(5)
    said = capsys.readouterr().out
    assert "Ana has joined as phone 1" in said and "In the log: 1 hit, 0 misses, in" in said
    assert [verdict for *_, verdict in logged(tmp_path / "practice.db")] == ["hit"]


def test_j_gives_another_word_and_q_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "pairs.plan.json").write_bytes(document.render(climbing()))
    words = list[str]()

    class Keys(AbstractContextManager["Keys"]):
        gone, pressed = False, ["x", "j", "q"]

        def __exit__(self, *fault: object) -> None: ...

        def read(self, wait: float) -> list[str]:
            return [self.pressed.pop(0)]

    monkeypatch.setattr(feeding, "_invite", lambda served: words.append(served.door.word))
    monkeypatch.setattr(feeding, "keyboard", Keys)
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    more = ("--court", "127.0.0.1:0", "--db", str(tmp_path / "practice.db"))
    assert main(["sheet", str(tmp_path / "pairs.plan.json"), *more]) == 0
    assert len(words) == len(set(words)) == 2 and not Keys.pressed


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--db", "x.db"), "--certificate and --db belong to --court"),
        (("--court", "0.0.0.0"), "name one address of this computer"),
        (("--court", "--large"), "the page fits the screen"),
        (("--court", "--db", "/proc/nowhere/x.db"), "cannot use the practice log"),
    ],
)
def test_options_that_cannot_be_are_refused(
    options: tuple[str, ...], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "pairs.plan.json").write_bytes(document.render(climbing()))
    more = () if "--db" in options else ("--db", str(tmp_path / "practice.db")) * ("--court" in options)
    assert main(["sheet", str(tmp_path / "pairs.plan.json"), *options, *more]) == 2
    assert said in " ".join(capsys.readouterr().err.split())


@pytest.mark.flaky(reruns=2)
def test_strangers_and_phones_without_a_word_write_nothing(tmp_path: Path) -> None:
    plan, db = climbing(), tmp_path / "practice.db"
    news = {"practice": PRACTICE, "marks": [{"number": 1, "ball": 1, "shot": 0, "verdict": "hit", "at": 1}]}
    with fed(plan, db) as served:
        ana = Client(served.server.port)
        assert ana.send("POST", "/exchange", news)[0] == 403
        assert ana.join("Ana", served.door.word)[0] == 200
        assert ana.send("POST", "/exchange", news, Origin="http://evil.example")[0] == 403
        assert ana.send("POST", "/exchange", {"asks": []})[0] == 400
        until(lambda: ana.send("POST", "/exchange", {**news, "marks": []})[0] == 200)
        assert logged(db) == []
        until(lambda: (ana.send("POST", "/exchange", news)[1].get("phone") or {}).get("done") == 1)  # type: ignore[attr-defined]
        assert [verdict for *_, verdict in logged(db)] == ["hit"]
        assert LADDER not in [block for block, *_ in logged(db)]
