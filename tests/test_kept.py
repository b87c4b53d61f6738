"""What a process has worked out is found again, and is what a new process would work out, bit for bit."""

import json
import re
from collections.abc import Iterator
from functools import cache
from random import Random

import numpy as np
import pytest

from feedwright.compiler import assemble as assembling
from feedwright.compiler import check as checking
from feedwright.compiler import evaluate as judging
from feedwright.compiler import kept, pipeline
from feedwright.compiler import resolve as resolving
from feedwright.compiler import solve as solving
from feedwright.compiler import trial as trying
from feedwright.compiler.chosen import CHOSEN
from feedwright.compiler.evaluate import evaluate
from feedwright.compiler.kept import Kept
from feedwright.compiler.model.program import FixedBy
from feedwright.compiler.physics import flight, launches
from feedwright.compiler.pipeline import Compiled, compile_read, compile_source, read_source
from feedwright.compiler.service.script import lines_of
from feedwright.compiler.solve import solve
from feedwright.grammar.frozen import replace
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Rows, Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from .shipped import FOLDER, PROGRAMS
from .whole import WHOLE

AFTER_THE_SERVE = (FOLDER / "01-after-the-serve.feed").read_text("utf-8")
NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?= (?:m|km/h|rpm|s)\b)")


@pytest.fixture(autouse=True)
def cold() -> Iterator[None]:
    kept.forget()
    yield
    kept.forget()


def run(text: str, sample: bool = False, remedies: bool = True, plan: bool = False) -> Compiled:
    source = Source("edited.feed", text)
    return compile_source(source, ProfileShelf(None), ScriptShelf(None), sample=sample, plan=plan, remedies=remedies)


@cache
def _first() -> tuple[Compiled, list[dict[object, object]]]:
    kept.forget()
    return run(AFTER_THE_SERVE, plan=True), [dict(one._found) for one in kept._EVERY]


def served() -> Compiled:
    """`AFTER_THE_SERVE` in a process that has just worked it out, for tests that ask what comes after it."""
    made, found = _first()
    for one, known in zip(kept._EVERY, found, strict=False):  # of modules that came later nothing is known
        one._found = dict(known)  # type: ignore[arg-type]
    return made


def told(compiled: Compiled) -> str:
    """All that came out, every number to its last bit."""
    lines = [
        (f.code, f.span.start, f.headline, [(r.span.start, r.text) for r in f.remedies]) for f in compiled.findings
    ]
    plan = json.dumps(compiled.plan.data()) if compiled.plan else None
    return repr((lines, compiled.shots, compiled.evaluation, compiled.totals, plan))


@pytest.fixture
def lanes(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many flights each arc that is worked out has."""
    counted: list[int] = []
    arc = flight._arc

    def counting(some, *others):  # type: ignore[no-untyped-def]
        counted.append(len(some))
        return arc(some, *others)

    monkeypatch.setattr(flight, "_arc", counting)
    return counted


FLOWN = (solving._AIMED, solving._SOUGHT, CHOSEN, judging._SCATTERINGS, judging._REPLIES, judging._WINDOWS)


def unread() -> None:
    """As in a process that has read no script; what was flown knows of none, and stays."""
    for one in kept._EVERY:
        if not any(one is flown for flown in FLOWN):
            one.clear()


@pytest.mark.parametrize("name", [path.name for path in PROGRAMS if WHOLE or path.stem[:2] in ("02", "04")])
def test_after_any_edits_a_warm_process_says_what_a_cold_one_says(name: str) -> None:
    text, chance = (FOLDER / name).read_text("utf-8"), Random(name)
    run(text, plan=True)
    for turn in range(3 if WHOLE else 2):
        at = chance.choice(list(NUMBER.finditer(text)))
        text = f"{text[: at.start()]}{float(at[0]) * chance.choice((0.97, 1.04, 1.6)):.2f}{text[at.end() :]}"
        rows = text.split("\n")
        rows.insert(chance.randrange(len(rows)), chance.choice(("", "# read", chance.choice(rows))))
        text = "\n".join(rows)
        warm = told(run(text, sample=turn == 1, plan=True))
        kept.forget()
        assert told(run(text, sample=turn == 1, plan=True)) == warm, at


@pytest.mark.parametrize(
    "edit",
    [
        ("1.1 m over net", "1.1 m over net"),
        ("1.1 m over net", "0.1 m over net"),
        ("spin      flat", "spn flat"),
        ("stance    1.5 m behind baseline", "stance    where it is waist high"),
    ],
)
def test_of_a_changed_comment_only_the_rows_are_read(edit: tuple[str, str], monkeypatch: pytest.MonkeyPatch) -> None:
    text = AFTER_THE_SERVE.replace(*edit)
    commented = [
        f"# first\n\n{text}# last\n",
        text.replace("    depth  ", "    # the zone\n    depth  "),
        text.replace("session ", "\n# the session\n\nsession "),
        re.sub(r"^#.*\n", "", text, flags=re.M),
    ]
    cold = []
    for one in commented:
        unread()
        cold.append(told(run(one, remedies=False, plan=True)))
    run(text, remedies=False, plan=True)
    monkeypatch.setattr(resolving, "_read", None)
    monkeypatch.setattr(pipeline, "_judged", None)
    assert [told(run(one, remedies=False, plan=True)) for one in commented] == cold


def test_of_a_changed_comment_no_remedy_is_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    text = AFTER_THE_SERVE.replace("1.1 m over net", "0.1 m over net").replace("interval  9 s", "interval  2 s")
    moved = f"# first\n{text}".replace("    depth  ", "    # the zone\n    depth  ")
    cold = told(run(moved))
    unread()
    first = run(text)
    assert sum(len(finding.remedies) for finding in first.findings) > 3
    monkeypatch.setattr(trying, "tried", None)
    assert told(run(moved)) == cold != told(first) == told(run(text))


def test_other_words_of_a_note_are_judged_as_before(monkeypatch: pytest.MonkeyPatch) -> None:
    text = AFTER_THE_SERVE.replace(
        "stance    1.5 m behind baseline", "stance    where it is waist high"
    )  # an open feed, too
    text = text.replace("feed deep aims across\n", 'feed deep aims across\n    note      "Low."\n')
    noted = [text.replace("Use half a swing.", "A short swing."), text.replace("nobody in front", "stand clear")]
    noted.append(text.replace("Low.", "Lower."))
    noted.append(noted[0].replace('note      "Step', 'note "Step'))
    cold = []
    for one in noted:
        unread()
        cold.append(told(run(one, remedies=False, plan=True)))
    run(text, remedies=False, plan=True)
    asked: list[object] = []
    check = checking.check

    def counting(*of):  # type: ignore[no-untyped-def]
        asked.append(of)
        return check(*of)

    monkeypatch.setattr(checking, "check", counting)
    assert [told(run(one, remedies=False, plan=True)) for one in noted] == cold
    assert len(asked) == 1  # of the last, since remedies are written beside the first word


@pytest.mark.parametrize("name", [path.name for path in PROGRAMS if WHOLE or path.stem[:2] in ("01", "99")])
def test_places_in_rows_are_those_in_the_script(name: str) -> None:
    text = (FOLDER / name).read_text("utf-8")
    # Rows out of place, without a sense, with tabs, too deep and twice.
    broken = f"{text}\n    goal 4 in a row\n\t side middle # x\nfeed again\n\nfeed again\n    feed\n        note\n"
    for source in Source(name, text), Source(name, broken), Source(name, text.replace("over net", "over nett")):
        starts: dict[Source, int] = {}
        (plain, found), (by_rows, again) = parse(source), parse(source, starts)
        rows = Rows(source, starts)
        assert plain == by_rows and found == again
        nodes = zip(lines_of(plain), lines_of(by_rows), strict=True)
        for one, other in nodes:
            parts = one.sentence.every_node if one.sentence else (), other.sentence.every_node if other.sentence else ()
            for node, same in zip((one, *parts[0]), (other, *parts[1]), strict=True):
                assert (node.span, node.span) == (rows.place(same.span), rows.place(rows.within(node.span)))


def test_a_row_of_the_same_words_elsewhere_is_another_row() -> None:
    text = AFTER_THE_SERVE.replace("spin      flat", "spin      flot")
    text = text.replace("spin      topspin 900 rpm\n    interval", "spin      flot\n    interval")
    first = run(text, remedies=False)
    again = run(text.replace("feed body aims", "# body\nfeed body aims"), remedies=False)
    assert first.findings and [f.span.text for f in first.findings] == [f.span.text for f in again.findings]
    assert {f.span.start for f in again.findings} != {f.span.start for f in first.findings}


def test_a_flat_ball_is_looked_for_among_flat_launches_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    scanned: list[tuple[int, int]] = []
    through = launches.through

    def counting(wanted: launches.Wanted, grid: np.ndarray, *more: object) -> launches.Scan:
        scanned.append(grid.shape)
        return through(wanted, grid, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(launches, "through", counting)
    run(AFTER_THE_SERVE)
    assert scanned and all(count in (launches.FLAT, launches.CLOSER) for _, count in scanned)
    scanned.clear()
    # What passes a place passes it however high over the net is asked for, or however fast.
    run(AFTER_THE_SERVE.replace("1.1 m over net", "1.15 m over net").replace("88, 94 km/h", "88, 93 km/h"))
    assert all(count == launches.CLOSER for _, count in scanned)


def test_findings_are_told_before_the_plan_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    events: list[object] = []
    made = assembling.assemble

    def assemble(*of: object) -> object:
        events.append("plan")
        return made(*of)  # type: ignore[arg-type]

    monkeypatch.setattr(assembling, "assemble", assemble)
    read = read_source(Source("first.feed", (FOLDER / "02-first-script.feed").read_text("utf-8")), ProfileShelf(None))
    compiled = compile_read(read, judged=events.append)
    assert events == [compiled.findings, "plan"] and compiled.plan


def test_a_ball_whose_spin_the_feeder_lacks_is_flown_for_no_remedy(lanes: list[int]) -> None:
    program = served().program
    assert program
    lanes.clear()
    feed = replace(next(iter(program.feeds.values())), topspin=1e4, stance=11.0)
    assert not solve(program, {feed.name: feed}, explain=False).shots and not lanes
    assert not solve(program, {feed.name: feed}).shots and lanes  # why there is none has to be flown


def test_what_a_script_accepts_is_flown_for_no_remedy(lanes: list[int]) -> None:
    text, flown = (FOLDER / "04-racket-volleys.feed").read_text("utf-8"), []
    for remedies in (False, True):
        kept.forget()
        lanes.clear()
        assert run(text, remedies=remedies).findings == ()
        flown.append(sum(lanes))
    assert "\naccept height-varies\n" in text and flown[0] == flown[1] > 0


def test_a_changed_comment_or_note_flies_nothing(lanes: list[int]) -> None:
    first = run(AFTER_THE_SERVE)
    assert sum(lanes) > 1000
    lanes.clear()
    again = run(
        AFTER_THE_SERVE.replace("    stance  ", '    note      "Low over the net."\n    stance  ', 1) + "# read\n"
    )
    assert lanes == [] and again.shots == first.shots and again.evaluation == first.evaluation


def test_one_changed_feed_flies_no_more_than_its_own_balls(lanes: list[int]) -> None:
    run(AFTER_THE_SERVE)
    whole = sum(lanes)
    lanes.clear()
    run(AFTER_THE_SERVE.replace("1.1 m over net", "1.12 m over net"))  # two of fifteen balls
    assert 0 < sum(lanes) <= whole / 5


def test_a_ball_does_not_hang_on_those_beside_it() -> None:
    program = served().program
    assert program
    shots = solve(program, program.feeds)
    for sample in (False, True):
        kept.forget()
        whole = evaluate(program, shots, sample)
        for name in list(program.feeds)[:: 4 if WHOLE else 7]:
            kept.forget()
            alone = solve(program, {name: program.feeds[name]})
            assert repr(alone.shots[name]) == repr(shots.shots[name])
            found = evaluate(program, alone, sample)
            assert repr(found.scatterings[name]) == repr(whole.scatterings[name])
            assert repr(found.replies[name]) == repr(whole.replies[name])


def test_a_miss_speaks_of_its_own_feed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of more than `MOST_CLOSER` misses not all are looked at closely: they are told as a cold run tells them."""
    monkeypatch.setattr(solving, "MOST_CLOSER", 4)
    program = served().program
    assert program
    beyond = replace(program.feeds["deep 1"], fixed_by=FixedBy.PACE, value=55.0)
    feeds = {f"{i}": replace(beyond, name=f"{i}", stance=12.0 + 0.1 * (i % 6)) for i in range(9)}
    few = solve(program, {name: feeds[name] for name in "018"}).misses
    assert {name: miss.feed for name, miss in few.items()} == {"0": "0", "1": "1", "8": "8"}
    warm = solve(program, feeds)
    kept.forget()
    assert repr(solve(program, feeds)) == repr(warm) and len(warm.misses) == 9


def test_what_is_kept_is_bounded_and_the_longest_unasked_goes() -> None:
    found: Kept[str] = Kept(3)
    for key in "abc":
        found.put(key, key.upper())
    assert found.get("a") == "A"
    found.put("d", "D")
    assert len(found) == 3 and [found.get(key) for key in "abcd"] == ["A", None, "C", "D"]


def test_lines_in_another_order_are_so_in_the_plan() -> None:
    spin, rhythm = "    spin      flat\n", "    interval  9 s\n"
    assert spin + rhythm in AFTER_THE_SERVE
    first = served().plan
    again = run(AFTER_THE_SERVE.replace(spin + rhythm, rhythm + spin), plan=True).plan
    assert first and again
    assert [list(shot.words) for shot in first.shots] != [list(shot.words) for shot in again.shots]
    assert again.digest == again.model_copy({}).fresh_digest()


def test_a_plan_that_is_copied_with_a_change_has_another_digest() -> None:
    plan = served().plan
    assert plan
    shot = plan.shots[0].model_copy({"interval_s": 30.0})
    assert plan.model_copy({"shots": (shot, *plan.shots[1:])}).fresh_digest() != plan.digest


@pytest.mark.parametrize(
    ("line", "instead"),
    [
        ("seed      11", "seed      12"), ("2 min     deep", "3 min     deep"), ("interval  9 s", "interval  8 s"),
        ("at most 1 alike", "at most 2 alike"), ("9 rounds", "8 rounds"),
        ("right-handed", "right-handed, 3 taking turns, changing every 2 balls, changeover 15 s"),
        ("mix 2 short-left, 2 short-right, deep, at most 2 alike", "cycle short-left, short-right, deep"),
        ("3 in a row\n", "2 in a row\n"), ("session ", "# moved\nsession "),
        ("interval  9 s", "interval  9 s between contacts"),
    ],
)  # fmt: skip
def test_times_are_found_again_only_where_nothing_that_decides_them_has_changed(line: str, instead: str) -> None:
    assert line in AFTER_THE_SERVE
    served()
    edited = AFTER_THE_SERVE.replace(line, instead)
    again = run(edited, plan=True)
    assert again.plan
    kept.forget()
    assert told(run(edited, plan=True)) == told(again)
