"""What phones ask, over links that lose, double, delay and swap messages: done once, in order, and never a start."""

import json
from random import Random

import pytest

from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.court import asks, words
from feedwright.targets.machine.court.asks import Ask, BadWords, PhoneAsk
from feedwright.targets.machine.court.board import Board, Stoppable
from feedwright.targets.machine.court.door import Phone
from feedwright.targets.machine.replay.flow import RunPhase

from ..whole import WHOLE
from .model import REACHED, Course, Played, course, taken

COURSES = 100_000 if WHOLE else 2_000
ANA, BEN = Phone(1, "Ana", False), Phone(2, "Ben", False)


def wander(made: Course, undo: bool, keys: bool, stops: bool, events: int = 24) -> None:
    """Random events of phones, keyboard, device and links."""
    random, host = made.random, made.host
    marks = (Ask.HIT, Ask.HIT, Ask.MISS, Ask.PAUSE, *[Ask.UNDO] * (2 * undo))
    for _ in range(events):
        pocket = random.choice(made.pockets)
        draw = random.random()
        if draw < 0.35:
            pocket.tap(random.choice(marks))
            made.send(pocket)
        elif draw < 0.55:
            made.send(pocket)  # the page says every quarter of a second that it is there, also after a reload
        elif draw < 0.57 and stops:
            made.send(pocket, stop=True)
        elif draw < 0.7:
            host.arm()
        elif draw < 0.9:
            host.throw(made.now)
        elif draw < 0.93 and keys and host.state.thrown:
            host.mark(made.now, random.choice((True, False, None)))
            made.log.append((0, *host.marked[-1]))
        elif draw > 0.98:
            host.end()
        made.pass_time()


def test_over_random_courses_marks_are_done_once_in_order_and_no_phone_starts_anything() -> None:
    tapped, reached, stopped = 0, set[RunPhase](), 0
    for seed in range(COURSES):
        made = course(seed, phones=Random(seed).randint(1, 3), guard=seed % 5 == 0)
        wander(made, undo=False, keys=True, stops=seed % 2 == 0)
        ended = made.host.phase is RunPhase.ENDED
        made.flush()
        for pocket in made.pockets:
            # The keyboard cannot be undone by a repeat: each tap is in the log once, in the order of the taps.
            wanted = [(one.ball, one.ask is Ask.HIT) for one in pocket.taps if one.ask in asks.MARKS]
            done = [(ball, hit) for who, ball, hit in made.log if who == pocket.phone.number]
            assert done == wanted or (ended and done == wanted[: len(done)]), f"seed {seed}"
            assert not pocket.stored, f"seed {seed}: an ask was lost"
            tapped += len(wanted)
            stopped += bool(pocket.stops)
        assert made.board._host.used <= REACHED  # type: ignore[attr-defined]
        reached |= made.reached
    assert tapped > COURSES and stopped > COURSES / 50
    assert reached == {RunPhase.READY, RunPhase.LIVE, RunPhase.STOPPING, RunPhase.ENDED}


def test_one_phones_marks_and_undos_come_to_what_a_person_reckons() -> None:
    undone = 0
    for seed in range(COURSES // 4):
        made = course(seed, phones=1, guard=False)
        wander(made, undo=True, keys=False, stops=False)
        made.flush()
        (pocket,) = made.pockets
        assert made.host.verdicts() == list(taken(pocket.taps, len(made.host.state.thrown))), f"seed {seed}"
        undone += sum(one.ask is Ask.UNDO for one in pocket.taps)
    assert undone > COURSES // 8


def live(balls: int = 2, guard: bool = False) -> tuple[Played, Board]:
    host = Played()
    board = Board(host, guard)
    board.joined(0.0, ANA)
    host.arm()
    for _ in range(balls):
        host.throw(0.0)
    return host, board


def test_a_mark_that_comes_late_counts_for_the_ball_that_was_shown() -> None:
    host, board = live(balls=3)
    board.heard(9.0, ANA, (PhoneAsk(1, Ask.HIT, 2),))
    assert host.verdicts() == [Verdict.NOT_JUDGED, Verdict.HIT, Verdict.NOT_JUDGED]
    assert host.disk.entries[-1][1:] == ("mark", 2, True)


def test_a_repeat_does_not_change_what_the_keyboard_marked_since() -> None:
    host, board = live()
    asked = (PhoneAsk(1, Ask.HIT, 2),)
    board.heard(1.0, ANA, asked)
    host.mark(1.1, False)
    board.heard(1.2, ANA, asked)
    assert host.verdicts()[1] is Verdict.MISS
    board.heard(1.3, ANA, (*asked, PhoneAsk(2, Ask.UNDO)))
    assert host.verdicts()[1] is Verdict.MISS, "undo takes back only what the phone itself marked"
    assert board.desks[1].became[-1] == (2, words.changed(2))


def test_an_ask_whose_turn_has_not_come_waits_for_the_one_before() -> None:
    host, board = live()
    board.heard(1.0, ANA, (PhoneAsk(2, Ask.MISS, 2),))
    assert host.verdicts() == [Verdict.NOT_JUDGED] * 2
    board.heard(1.1, ANA, (PhoneAsk(1, Ask.HIT, 1), PhoneAsk(2, Ask.MISS, 2)))
    assert host.verdicts() == [Verdict.HIT, Verdict.MISS]


@pytest.mark.parametrize("phase", [phase for phase in RunPhase if phase not in (RunPhase.STOPPING, RunPhase.ENDED)])
def test_stop_stops_from_every_state(phase: RunPhase) -> None:
    host, board = live()
    host.phase = phase
    board.stop(1.0, ANA)
    assert (host.phase, host.why) == (RunPhase.STOPPING, "Stopped by Ana")


def test_after_the_end_a_mark_is_refused_in_words() -> None:
    host, board = live()
    host.phase = RunPhase.ENDED
    board.heard(1.0, ANA, (PhoneAsk(1, Ask.HIT, 2),))
    assert host.marked == [] and list(board.desks[1].became) == [(1, words.TOO_LATE)]


def test_who_only_watches_changes_nothing_and_neither_does_who_was_sent_away() -> None:
    host, board = live()
    eye = Phone(7, "Eve", True)
    board.joined(0.0, eye)
    board.sent_away(1)
    board.stop(1.0, eye)
    for phone in (eye, ANA):
        board.heard(1.0, phone, (PhoneAsk(1, Ask.PAUSE), PhoneAsk(2, Ask.HIT, 1)))
    assert host.phase is RunPhase.LIVE and host.marked == []


def test_a_guard_that_is_not_heard_for_a_second_pauses_and_so_does_having_none() -> None:
    host, board = live(guard=True)
    board.joined(0.0, BEN)
    board.watch(0.99)
    assert host.phase is RunPhase.LIVE
    board.heard(0.9, BEN, ())
    board.watch(1.1)
    assert (host.phase, host.why) == (RunPhase.READY, words.lost("Ana"))
    host.arm()
    board.sent_away(1)
    board.heard(1.2, BEN, ())
    board.watch(1.3)
    assert host.phase is RunPhase.LIVE
    board.sent_away(2)
    board.watch(1.4)
    assert (host.phase, host.why) == (RunPhase.READY, words.NO_GUARD)


def test_without_guard_a_lost_link_pauses_nothing() -> None:
    host, board = live()
    board.watch(60.0)
    assert host.phase is RunPhase.LIVE


def test_phones_reach_nothing_that_starts() -> None:
    named = {name for name in vars(Stoppable) if not name.startswith("_")} | set(Stoppable.__annotations__)
    assert named == REACHED


BAD = (
    b"", b"[]", b"nonsense", b'{"asks": 3}', b'{"asks": [], "arm": true}', b'{"asks": [{"number": 1, "ask": "arm"}]}',
    b'{"asks": [{"number": 1, "ask": "skip"}]}', b'{"asks": [{"number": 0, "ask": "pause"}]}',
    b'{"asks": [{"number": true, "ask": "pause"}]}', b'{"asks": [{"number": 1.5, "ask": "pause"}]}',
    b'{"asks": [{"number": 1, "ask": "hit"}]}', b'{"asks": [{"number": 1, "ask": "pause", "ball": 1}]}',
    b'{"asks": [{"number": 1, "ask": ["hit"], "ball": 1}]}', b'{"asks": [{"number": NaN, "ask": "pause"}]}',
    b'{"asks": [{"number": 1, "ask": "pause"}, {"number": 1, "ask": "undo"}]}', b"[" * 5000,
    json.dumps({"asks": [{"number": n, "ask": "pause"} for n in range(1, 70)]}).encode(), b'{"asks": "\xff"}',
)  # fmt: skip


@pytest.mark.parametrize("body", BAD, ids=range(len(BAD)))
def test_what_is_no_message_of_the_page_is_refused(body: bytes) -> None:
    with pytest.raises(BadWords):
        asks.exchange(body)


def test_asks_come_in_the_order_of_their_numbers() -> None:
    body = b'{"asks": [{"number": 3, "ask": "undo"}, {"number": 2, "ask": "hit", "ball": 4}]}'
    assert asks.exchange(body) == (PhoneAsk(2, Ask.HIT, 4), PhoneAsk(3, Ask.UNDO))
    assert asks.exchange(b'{"asks": []}') == ()
