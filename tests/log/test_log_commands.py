"""`feedwright log` as its users meet it: what it asks, writes and says; anything wrong is one sentence and exit 2."""

import csv
import io
import os
import re
import shlex
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pexpect
import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.log.arguments import COMMANDS
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.typed import units

from .plans import LADDER, RUNGS, at, climbing

ROOT = Path(__file__).parents[2]
THREE, FEET = ROOT / "tests" / "programs" / "three-replies.feed", ROOT / "programs" / "03-basket-feet.feed"
SERVE = ROOT / "programs" / "01-after-the-serve.feed"
Ran = tuple[int, str, str]


pytestmark = pytest.mark.usefixtures("here")


def answers(**known: str) -> str:
    """An answer for each question about `climbing()`: by block and name, `block2_rally`; nothing for the others."""
    lines = [known.get(f"block{u.block.index}_{u.name.replace(' km/h', '')}", "") for u in units(climbing())]
    return "\n".join(lines) + "\n"


def verdicts() -> list[tuple[object, ...]]:
    with closing(open_to_read(Path("practice.db"))) as database:
        return database.execute(
            "SELECT block, variation, label, verdict, count(*) FROM log GROUP BY 1, 2, 3, 4 ORDER BY 1, 2, 3, 4"
        ).fetchall()


def test_add_asks_block_by_block(run) -> None:  # type: ignore[no-untyped-def]
    typed = answers(
        block0_rally="3/4 streak 2", block2_climb="1 / 2", block4_rally="streak 3", block8_80="4/5", block8_85="1/3"
    )
    code, out, err = run("add", "mine.plan.json", typed=typed + "1\n")
    assert (code, err) == (0, "")
    assert out.startswith('Block 1, A1 "deep and clear of the net", 4 balls: Block 2, A1 ')
    assert "Block 4 ended on (1 80 km/h, 2 85 km/h):" in out and "20 balls written, 14 of them judged" in out
    assert verdicts() == [
        (0, "rally", None, "hit", 3), (0, "rally", None, "miss", 1), (2, "climb", None, "hit", 1),
        (2, "climb", None, "miss", 1), (4, "rally", None, "not judged", 3),
        (6, "rally", None, "not judged", 3),  # the second round: one answer for both
        (8, "rally", "80 km/h", "hit", 4),
        (8, "rally", "80 km/h", "miss", 1), (8, "rally", "85 km/h", "hit", 1), (8, "rally", "85 km/h", "miss", 2),
    ]  # fmt: skip
    with Recorder(climbing(), Path("practice.db")) as recorder:
        assert recorder.starting_rung(LADDER) == 0  # where it was said to have ended
    code, out, _ = run("show")
    assert re.search(r"^rally +12 +8 .* 3 +8$", out, re.M)  # the longest streak is the one that was told


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("many", "is not a count"), ("5/4", "5 hits of 4 balls are impossible"), ("9/9", "more than twice the 4 of"),
        ("3/4 streak 4", "the longest streak is 2 to 3"), ("3/4 streak 1", "the longest streak is 2 to 3"),
        ("-1/4", "is not a count"), ("４/４", "is not a count"), ("3/4\n", "ended too early"), ("", "ended too early"),
    ],
)  # fmt: skip
def test_wrong_answers_write_nothing(run, typed: str, why: str) -> None:  # type: ignore[no-untyped-def]
    code, _, err = run("add", "mine.plan.json", typed=typed)
    assert code == 2 and why in err and err.count("\n") == 1
    assert not Path("practice.db").exists()


def test_a_terminal_asks_again(here: Path) -> None:
    child = pexpect.spawn(sys.executable, ["-m", "feedwright", "log", "add", "mine.plan.json"], timeout=20)
    for wrong in ("all of them", "7/3"):
        child.expect("Block 1, A1 .*, 4 balls:")
        child.sendline(wrong)
    child.expect("7 hits of 3 balls are impossible")
    child.expect("Block 1")
    child.sendline("3/4")
    for _ in range(len(units(climbing())) - 1):
        child.expect("balls?:")
        child.sendline("")
    child.expect("4 balls written, 4 of them judged")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_a_sheet_comes_in_once_unless_another_was_the_same(run) -> None:  # type: ignore[no-untyped-def]
    day, typed = ("--when", "2026-05-01"), answers(block0_rally="3/4 streak 2")
    assert run("add", "mine.plan.json", *day, typed=typed)[0] == 0
    code, _, err = run("add", "mine.plan.json", "--when", "2026-05-01T18:00", typed=typed)
    assert code == 2 and "a sheet of 2026-05-01 with this plan and these counts is in the log already" in err
    assert "--again" in err and verdicts() == [(0, "rally", None, "hit", 3), (0, "rally", None, "miss", 1)]
    # Typed on another machine too: the two logs hold one practice.
    assert run("add", "mine.plan.json", *day, "--db", "other.db", typed=typed)[0] == 0
    assert run("merge", "other.db")[1] == "0 new practices and 0 new balls from other.db\n"
    # Other counts, another day, or a person who says so make another practice.
    assert run("add", "mine.plan.json", *day, typed=answers(block0_rally="2/4 streak 2"))[0] == 0
    assert run("add", "mine.plan.json", "--when", "2026-05-02", typed=typed)[0] == 0
    assert run("add", "mine.plan.json", *day, "--again", typed=typed)[0] == 0
    assert run("add", "mine.plan.json", *day, typed=typed + "yes\n", terminal=True)[0] == 0
    code, out, err = run("add", "mine.plan.json", *day, typed=typed + "no\n", terminal=True)
    assert code == 2 and "is this another practice, to add as well? yes or no:" in out and "nothing was written" in err
    assert verdicts() == [(0, "rally", None, "hit", 14), (0, "rally", None, "miss", 6)]


def test_a_csv_of_balls_keeps_their_order_and_comes_in_once(run) -> None:  # type: ignore[no-untyped-def]
    Path("a.csv").write_bytes(
        "\ufeffblock;verdict;shot;rung\r\n1;hit;;\r\n1;HIT;;\r\n2;miss;kicker;\r\n4;hit;;2\r\n".encode()
        + b"4;not judged;steady rung 1;\r\n"
    )
    assert run("add", "mine.plan.json", "--csv", "a.csv", "--when", "2026-05-01")[0] == 0
    assert verdicts() == [
        (0, "rally", None, "hit", 2), (2, "climb", None, "miss", 1), (8, "rally", "80 km/h", "not judged", 1),
        (8, "rally", "85 km/h", "hit", 1),
    ]  # fmt: skip
    code, _, err = run("add", "mine.plan.json", "--csv", "a.csv", "--when", "2026-05-01")
    assert code == 2 and "is in the log already" in err
    assert run("add", "mine.plan.json", "--csv", "a.csv", "--when", "2026-05-02T18:00")[0] == 0
    code, out, _ = run("list")
    assert code == 0 and "2026-05-02 18:00" in out and "2026-05-01 12:00" in out


def test_a_csv_of_counts(run) -> None:  # type: ignore[no-untyped-def]
    rows = "block,variation,rung,hits,misses,not judged,streak\n1,,,3,1,,3\n2,climb,,1,1,0,\n4,,1,4,1,,\n4,,3,2,2,,\n"
    Path("a.csv").write_text(rows)
    assert run("add", "mine.plan.json", "--csv", "a.csv")[0] == 0
    assert sum(int(str(row[-1])) for row in verdicts()) == 15
    with Recorder(climbing(), Path("practice.db")) as recorder:
        assert recorder.starting_rung(LADDER) == 2  # the last row of the ladder is where it ended


def test_an_export_can_be_read_in_again(run) -> None:  # type: ignore[no-untyped-def]
    with Recorder(climbing(), Path("practice.db")) as recorder:
        for number in range(5):
            recorder.ball(LADDER, RUNGS[number % 3], number % 3, at(number), list(Verdict)[number % 3])
    assert run("export", "-o", "a.csv")[:2] == (0, "5 balls written to a.csv\n")
    assert run("add", "mine.plan.json", "--csv", "a.csv", "--db", "copy.db")[0] == 0
    before = verdicts()
    os.replace("copy.db", "practice.db")
    assert verdicts() == before


HEAD = "block,verdict\n"
BAD_CSV = {
    "": "first row", "a,b\n1,2\n": "first row", HEAD: "first row",
    HEAD + "x,hit\n": "not a whole number", HEAD + "1,wide\n": "is none of hit, miss", HEAD + "1\n": "1 cells",
    "plan block,verdict\n2,hit\n": "the plan has no block 2 ", HEAD + "5,hit\n": "the sheet has no block 5 with balls",
    HEAD + "4,hit\n": "not a whole number for rung", "block,verdict,rung\n4,hit,4\n": "block 4 has rungs 1 to 3, not 4",
    "block,verdict,shot\n1,hit,kicker\n": 'no ball "kicker"', "block,verdict,at\n1,hit,noon\n": "is not a date",
    "block,block,verdict\n0,0,hit\n": "twice", HEAD + '1,"hit\n': "cannot be read",
    "block,hits,misses\n2,1,1\n": "block 2 mixes variations", "block,hits,misses\n1,1e3,1\n": "not a whole number",
    "block,hits,misses,streak\n1,1,1,2\n": "the longest streak is 1 to 1", HEAD + "1,hit\0\n": "NUL",
    "block,hits,misses\n1,90,1\n": "more than twice", HEAD + "0,hit\n": "no block 0 with balls",
    HEAD + "1,hit\n" * 20_001: "more than 20000 rows", "x" * (1024 * 1024 + 1): "larger than",
}  # fmt: skip


@pytest.mark.parametrize("number", range(len(BAD_CSV)))
def test_bad_csvs(run, number: int) -> None:  # type: ignore[no-untyped-def]
    text, why = list(BAD_CSV.items())[number]
    Path("a.csv").write_text(text, newline="")
    code, out, err = run("add", "mine.plan.json", "--csv", "a.csv")
    assert code == 2 and why in err and err.count("\n") == 1 and not out
    assert not Path("practice.db").exists()


@pytest.fixture
def some(here: Path) -> None:
    with Recorder(climbing(), here / "practice.db") as recorder:
        recorder.ball(0, "steady", None, at(0), Verdict.HIT)


BAD = [
    ("show", "Nothing of that name"), ("show", "--since", "soon"), ("show", "--since", "1800-01-01"),
    ("show", "--what"), ("show", "--html", "no/such/folder/a.html"), ("show", "--html", "practice.db"),
    ("show", "--html", "."), ("show", "--db", "missing.db"), ("list", "--db", "."), ("list", "--db", "text.txt"),
    ("list", "--db", ""), ("list", "--db", "a\0b"), ("advice", "--db", "missing.db"), ("advice", "Nothing"),
    ("plan",), ("plan", "missing.feed", "-o", "b.feed"), ("plan", FEET, "-o", "b.feed"),
    ("plan", "bad.feed", "-o", "b.feed"), ("plan", THREE, "-o", "text.txt"), ("export", "--since", "2026-13-01"),
    ("export", "-o", "practice.db"), ("export", "-o", "no/such/a.csv"), ("forget",),
    ("forget", "--all", "--program", "x"), ("forget", "--before", "x", "--yes"),
    ("forget", "--all", "--db", "missing.db"), ("forget", "--all"), ("merge",), ("merge", "missing.db"),
    ("merge", "text.txt"), ("merge", "practice.db"), ("merge", "."), ("add",), ("add", "missing.json"), ("add", "."),
    ("add", "text.txt"), ("add", "-"), ("add", "bad.feed"), ("add", "text.json"),
    ("add", "mine.plan.json", "--csv", "missing"), ("add", "mine.plan.json", "--csv", "."),
    ("add", "mine.plan.json", "--csv", "latin.csv"), ("add", "mine.plan.json", "--csv", ""),
    ("add", "mine.plan.json", "--when", "2999-01-01"), ("add", "mine.plan.json", "--when", "99999-01-01"), ("dance",),
]  # fmt: skip


@pytest.mark.parametrize("arguments", BAD, ids=lambda a: " ".join(map(str, a))[:60].replace("\0", "0"))
def test_bad_input_is_one_sentence(run, some: None, arguments: tuple[str, ...]) -> None:  # type: ignore[no-untyped-def]
    Path("text.txt").write_text("no log, no script, no plan")
    Path("text.json").write_text('{"format": "feedwright-plan", "version": 9}')
    Path("bad.feed").write_text('program "x"\n    surface ice\n')
    Path("latin.csv").write_bytes("block,verdict\n1,schön\n".encode("latin-1"))
    before = {path.name: path.read_bytes() for path in Path().iterdir()}
    code, out, err = run(*arguments)
    assert code == 2
    assert err.startswith("feedwright: ") and err.count("\n") == 1 and "fault in the program" not in err
    assert not out or "for good? yes or no" in out or ", 4 balls:" in out
    assert {path.name: path.read_bytes() for path in Path().iterdir()} == before


def test_the_log_alone_is_the_list_and_an_option_wins_over_the_environment(run, some: None) -> None:  # type: ignore[no-untyped-def]
    assert run()[1] == run("list")[1] != ""
    os.replace("practice.db", "elsewhere.db")
    assert run()[0] == 2
    for arguments in (("--db", "elsewhere.db"), ("list", "--db", "elsewhere.db"), ("--db", "elsewhere.db", "list")):
        assert run(*arguments)[0] == 0
    assert "Baseline pairs" in run("--db", "elsewhere.db", "show")[1]


def test_the_list_is_short_unless_asked(run) -> None:  # type: ignore[no-untyped-def]
    for day in range(23):
        with Recorder(climbing(), Path("practice.db")) as recorder:
            recorder.ball(0, "steady", None, at(86400 * day), Verdict.HIT)
    assert "the latest 20 of 23 practices" in run()[1]
    # The digest as far as a sheet prints it.
    assert run("list", "--all")[1].count(f" {climbing().digest[:12]} ") == 23
    assert run("list", "--all")[1].count("Baseline pairs") == 23


def test_export_to_a_pipe_and_forget_when_asked(run, some: None) -> None:  # type: ignore[no-untyped-def]
    text = run("export")[1].removeprefix("\ufeff")
    assert len(list(csv.DictReader(io.StringIO(text)))) == 1
    code, out, err = run("forget", "--all", typed="no\n")
    assert code == 2 and "1 practice with 1 ball" in out and "nothing was deleted" in err
    assert run("forget", "--before", "2026-05-01", "--yes")[0] == 0 and verdicts()
    assert '"may" is not a date such as' in run("forget", "--before", "may", "--yes")[2]
    code, out, _ = run("forget", "--program", "Baseline pairs", typed="yes\n")
    assert code == 0 and "deleted" in out and not verdicts()


def test_add_takes_a_script_and_finds_the_plan_that_build_wrote(run) -> None:  # type: ignore[no-untyped-def]
    assert main(["build", str(THREE), "-o", "."]) == 0
    Path("a.csv").write_text("block,verdict\n1,hit\n1,miss\n")
    assert run("add", THREE, "--csv", "a.csv")[0] == 0
    code, _, err = run("add", "three-replies.plan.json", "--csv", "a.csv")
    assert code == 2 and "already" in err  # the same plan, so the same practice


def test_the_log_loads_neither_compiler_nor_schema_to_show(some: None) -> None:
    script = (
        "import sys; from feedwright.targets.command.cli import main; main(['log', 'show'])\n"
        "print(*sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    loaded = done.stderr.split()
    assert "rich" in loaded and not {"numpy", "lark", "pydantic", "serial", "scipy"} & set(loaded)


PAGE = (ROOT / "targets" / "log" / "LOG.md").read_text("utf-8")


@pytest.mark.parametrize("line", re.findall(r"^feedwright (log.*)$", PAGE, re.M))
def test_every_command_of_the_page_is_one(line: str) -> None:
    from feedwright.targets.command.cli import _parser

    assert _parser().parse_args(shlex.split(line)).log in COMMANDS


def test_every_command_is_on_the_page_and_its_csvs_are_read(run) -> None:  # type: ignore[no-untyped-def]
    assert set(re.findall(r"^feedwright log (\w+)", PAGE, re.M)) == set(COMMANDS) - {"list"}
    assert main(["build", str(SERVE), "-o", "."]) == 0
    examples = re.findall(r"^```csv\n(.*?)^```", PAGE, re.S | re.M)
    assert len(examples) == 2
    for example in examples:
        Path("a.csv").write_text(example)
        code, _, err = run("add", "01-after-the-serve.plan.json", "--csv", "a.csv")
        assert code == 0, err
