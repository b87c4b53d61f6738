"""Readings typed in a terminal: every kind, any of them, in the words of somebody at the court, and slips."""

import io
from pathlib import Path

import pytest

from feedwright.compiler.calibration.answer import AnswerRefused, PaceUnknown, answered, likelier
from feedwright.compiler.calibration.law import DEPTH, HEIGHT, OVER_NET, SECOND, SIDE, TIME
from feedwright.compiler.calibration.readings import CourtLines, parsed
from feedwright.targets.command.cli import main

SINGLES = CourtLines(11.885, 6.40)  # ITF Rules of Tennis, rule 1: half of 23.77 m, and the service line
SCRIPT = """program "Test"
    surface   hard
    player    right-handed
    feeder    machine club, on centre, on baseline

feed t1
    side      middle
    depth     7 to 9 m from net
    stance    10 m from net
    height    1.2 m over net
    spin      flat
    interval  20 s

feed t2, like t1
    side      0.9 to 2.3 m right of centre

session "Test balls"
    1 ball    t1
    1 ball    t2
"""


@pytest.mark.parametrize(
    ("text", "kind", "figure", "by"),
    [
        ("6.35", DEPTH, 6.35, ""), ("6,35", DEPTH, 6.35, ""), ("635 cm", DEPTH, 6.35, ""),
        ("21 ft", DEPTH, 6.4008, ""), ("9 paces", DEPTH, 7.2, "paces"), ("7.2 m by paces", DEPTH, 7.2, "paces"),
        ("2.5 inside baseline", DEPTH, 9.385, ""), ("2.5 M inside  Baseline by eye", DEPTH, 9.385, "eye"),
        ("0.4 past service line", DEPTH, 6.8, ""), ("3 paces inside baseline", DEPTH, 9.485, "paces"),
        ("1.2 left", SIDE, -1.2, ""), ("4 ft right", SIDE, 1.2192, ""), ("-0.8", SIDE, -0.8, ""),
        ("0.94", TIME, 0.94, ""), ("0.94 sec film", TIME, 0.94, "film"),
        ("12 in", OVER_NET, 0.3048, ""), ("1.1", HEIGHT, 1.1, ""), ("14 tape", SECOND, 14.0, "tape"),
    ],
)  # fmt: skip
def test_a_reading_is_understood_as_it_is_said(text: str, kind: int, figure: float, by: str) -> None:
    """A foot is 0.3048 m and an inch 0.0254 m by definition (1959); ten paces are 8 m here."""
    found = answered(text, kind, SINGLES, 0.8)
    assert found.figure == pytest.approx(figure) and found.by == by


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("far", DEPTH, "does not begin with a number"), ("", DEPTH, "does not begin with a number"),
        ("63", DEPTH, "63.00 m lies beyond 0 to 22 m"), ("6 s", DEPTH, "this is a length, which is not in s"),
        ("0.9 m", TIME, "this is a time, which is not in m"), ("9 paces", TIME, "not in paces"),
        ("94", TIME, "lies beyond"), ("-1 left", SIDE, "not both"), ("1 left right", SIDE, "says nothing"),
        ("2.5 inside baseline", SIDE, "says nothing"), ("6 km/h", DEPTH, "not in km/h"), ("nan", DEPTH, "a number"),
    ],
)  # fmt: skip
def test_what_cannot_have_been_read_is_refused_at_once(text: str, kind: int, said: str) -> None:
    with pytest.raises(AnswerRefused, match=said):
        answered(text, kind, SINGLES, 0.8)


def test_paces_need_their_length() -> None:
    with pytest.raises(PaceUnknown):
        answered("9 paces", DEPTH, SINGLES)


@pytest.mark.parametrize(
    ("text", "kind", "expected", "said"),
    [
        ("21", DEPTH, 6.5, "it would be right in ft"), ("1.5", SIDE, -1.6, "it would be right on the other side"),
        ("2.9", DEPTH, 9.0, "it would be right inside baseline"), ("12", DEPTH, 6.0, "12.00 m is far from that"),
        ("2.5 inside baseline", DEPTH, 6.0, "9.38 m is far from that"), ("6.9", DEPTH, 6.5, ""),
        ("2.9 s", TIME, 0.9, "the profile expects 0.90 s"),
    ],
)  # fmt: skip
def test_a_figure_far_from_what_is_expected_is_asked_about(text: str, kind: int, expected: float, said: str) -> None:
    """With a doubt of half a metre, or half a second."""
    strange = likelier(answered(text, kind, SINGLES), kind, expected, 0.5, SINGLES)
    assert said in strange and bool(said) == bool(strange)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("typed")
    (here / "test.feed").write_text(SCRIPT)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(here)
        assert main(["build", "test.feed"]) == 0
    return here


def typed(folder: Path, patch: pytest.MonkeyPatch, *lines: str, name: str = "typed.csv") -> tuple[int, str]:
    """The exit code, and the table afterwards."""
    patch.chdir(folder)
    patch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    code = main(["measure", "type", "test.plan.json", "-o", name])
    return code, (folder / name).read_text("utf-8") if (folder / name).exists() else ""


def test_undo_goes_back_answer_by_answer_and_from_ball_to_ball(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Nothing but landings, by tape. The first undo takes back 0.1, the next two 8.1 of t2 and 0.2 of t1.
    lines = ("", "", "8", "0.1", "undo", "0.2", "8.1", "undo", "undo", "0.3", "8.2", "1.5 left")
    code, table = typed(folder, monkeypatch, *lines)
    assert code == 0 and table == "ball,past_net_m,right_m,time_s,by,note\nt1,8,0.3,,tape,\nt2,8.2,-1.5,,tape,\n"


def test_every_kind_of_reading_reaches_the_table_that_the_fit_reads(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    first = ("time net height second", "11", "film", "8", "0.1", "1.2", "1.3", "0.6", "14")
    # Of t2 only a pace length, the side and, after a slip, the second bounce; once more t2, by eye.
    second = ("9 paces", "8", "1.4 left", "", "", "", "5", "13", "again", "7.5 by eye", "1.4 left", "", "", "", "")
    code, table = typed(folder, monkeypatch, *first, *second, name="every.csv")
    assert code == 0 and "the second bounce would lie before the first" in capsys.readouterr().out
    found = parsed(table, ["t1", "t2"], SINGLES)
    assert found.balls == ("t1", "t2", "t2") and found.lines[0] == 11
    value = found.readings.value
    assert value[:, 0].tolist() == pytest.approx([8, 0.1, 1.2, 1.3, 0.6, 14])
    assert value[[DEPTH, SIDE, SECOND], 1].tolist() == pytest.approx([7.2, -1.4, 13])
    assert not (value[[TIME, OVER_NET, HEIGHT], 1] == value[[TIME, OVER_NET, HEIGHT], 1]).any()
    assert found.readings.doubt[DEPTH].tolist() == [0.10, 0.20, 0.40]  # film, paces, eye


def test_a_terminal_that_goes_away_keeps_what_was_read_and_the_rest_follows(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert typed(folder, monkeypatch, "", "", "8", name="cut.csv") == (
        0, "ball,past_net_m,right_m,time_s,by,note\nt1,8,,,tape,\n",
    )  # fmt: skip
    code, table = typed(folder, monkeypatch, "", "paces", "8", "1.5 left", name="cut.csv")
    assert "1 reading already" in capsys.readouterr().out
    assert code == 0 and table.splitlines()[1:] == ["t1,8,,,tape,", "t2,8,-1.5,,paces,"]
    assert typed(folder, monkeypatch, name="none.csv") == (2, "")
    (folder / "feet.csv").write_text("ball,past_net_ft\nt1,20\n")
    assert typed(folder, monkeypatch, "", "", "8", name="feet.csv") == (2, "ball,past_net_ft\nt1,20\n")


def test_a_slip_is_asked_about_before_the_next_question(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # t1: 26 feet typed as metres cannot be; 20 could, and is asked about; t2: the other side, kept with Enter.
    code, table = typed(
        folder, monkeypatch, "", "", "26", "20", "8", "0", "8", "1.5 right", "", name="slips.csv"
    )  # fmt: skip
    said = capsys.readouterr().out
    assert "26.00 m lies beyond" in said and "it would be right in ft" in said and "on the other side" in said
    assert code == 0 and table.splitlines()[1:] == ["t1,8,0,,tape,", "t2,8,1.5,,tape,"]
