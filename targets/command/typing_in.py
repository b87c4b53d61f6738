"""`measure type`: asks what was read of each test ball, and keeps it in the table ball by ball."""

import argparse
import csv
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from ...compiler.printable import plural, say
from ...compiler.scripts import Refusal, write_new, write_whole
from . import CLEAN

if TYPE_CHECKING:
    from ...compiler.calibration.answer import TypedFigure
    from ...compiler.calibration.readings import CourtLines
    from ...compiler.model.feeder import Feeder
    from ...compiler.model.plan import Plan

HELP = (
    "Left and right are seen from behind the machine. Enter alone: not read. undo: one back. again: one more throw of "
    "the ball before. end: that is all. A unit, a line, a side or how it was taken may follow a number: 21 ft, "
    "9 paces, 2.5 inside baseline, 1.2 left, 7 by eye."
)


class Ended(Exception):
    """Nobody answers any more."""


class FormQuestion(NamedTuple):
    kind: int
    words: str


def run(options: argparse.Namespace, plan: "Plan", feeder: "Feeder") -> int:
    from ...compiler.calibration.readings import CourtLines, table

    name = options.output or options.plan.removesuffix(".plan.json") + ".csv"
    rows = _before(name)
    balls = [shot.id for shot in plan.shots]
    for line in HELP.split(". "):
        say(line.rstrip(".") + ".")
    if rows:
        read = {row["ball"] for row in rows}
        balls = [ball for ball in balls if ball not in read]
        say(f"{name} holds {plural(len(rows), 'reading')} already; these stay, and the others follow")
    form = _Form(plan, feeder, CourtLines(plan.court.half_length_m, plan.court.service_m), balls)
    while (kept := form.next_ball()) is not None:
        if kept or Path(name).exists():
            _keep(name, table(rows + kept))
    if not rows and not form.rows:
        raise Refusal("no ball was read, so nothing was written")
    say(f"wrote {name}, {plural(len(rows) + len(form.rows), 'ball')}")
    return CLEAN


def _before(name: str) -> list[dict[str, str]]:
    """The rows of a table that holds readings already, if this form wrote it."""
    from ...compiler.calibration.readings import FIGURES, HEADS

    if not Path(name).exists():
        return []
    try:
        heads, *rows = list(csv.reader(Path(name).read_text("utf-8-sig").splitlines())) or [[]]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise Refusal(f"cannot read {name}: {error}") from error
    if set(heads) - set(HEADS) or any(len(row) != len(heads) for row in rows if row):
        raise Refusal(f"{name} holds a table of another form and stays unchanged; name another file with -o")
    given = [dict(zip(heads, row, strict=True)) for row in rows if row]
    return [row for row in given if any(row.get(head) for head in FIGURES.values())]


def _keep(name: str, text: str) -> None:
    """After each ball, so that a terminal that goes away loses one at most."""
    if Path(name).exists():
        write_whole(name, text.encode())
    else:
        write_new(name, text)


class _Form:
    """The balls still to read, and the rows of those that were."""

    def __init__(self, plan: "Plan", feeder: "Feeder", ground: "CourtLines", balls: Sequence[str]) -> None:
        self._ground, self._balls, self._at = ground, list(balls), 0
        self._pace_m: float | None = None
        self._done: list[tuple[int, list[TypedFigure | None]]] = []
        """Of each ball that was asked for, where it stands in the list, and the answers."""
        self._answers: list[TypedFigure | None] = []
        """To the ball that is asked for now."""
        self._over = False
        try:
            self._questions, self._line = self._what_is_read()
            self._by = self._how()
        except Ended:
            self._over, self._questions, self._line, self._by = True, [], 0.0, "tape"
        self._expected = _expected(plan, feeder, self._line)

    @property
    def rows(self) -> list[dict[str, str]]:
        """Of the balls of which something was read."""
        return [self._row(self._balls[at], answers) for at, answers in self._done if any(answers)]

    def next_ball(self) -> list[dict[str, str]] | None:
        """All rows after one more ball, or one less; None at the end."""
        if self._over:
            return None
        try:
            self._ball()
        except Ended:
            self._over = True
            if self._answers:
                rest = len(self._questions) - len(self._answers)
                self._done.append((self._at, [*self._answers, *[None] * rest]))
        return self.rows

    def _ball(self) -> None:
        """Until all is read of a ball, or it is left for another one."""
        while len(self._answers) < len(self._questions):
            said = self._answer() if self._at < len(self._balls) else self._at_the_end()
            if said == "undo" and self._answers:
                self._answers.pop()
            elif said == "undo" and self._done:
                self._at, self._answers = self._done.pop()
                self._answers.pop()
            elif said == "again" and self._done and not self._answers:
                self._balls.insert(self._at, self._balls[self._done[-1][0]])
                return
            elif isinstance(said, str):
                say("again has to come before the first answer" if self._answers else "there is no ball before")
            else:
                self._answers.append(said)
        self._done.append((self._at, self._answers))
        self._at, self._answers = self._at + 1, []

    def _row(self, ball: str, answers: "list[TypedFigure | None]") -> dict[str, str]:
        from ...compiler.calibration.law import HEIGHT
        from ...compiler.calibration.readings import DOUBTS, FIGURES
        from ...grammar.units import number

        said = [answer.by for answer in answers if answer and answer.by]
        row = {"ball": ball, "by": max(said, key=lambda by: DOUBTS[by], default=self._by)}
        for (kind, _), answer in zip(self._questions, answers, strict=True):
            if answer:
                row[FIGURES[kind]] = number(answer.figure, 3)
                if kind == HEIGHT:
                    row["height_at_m"] = number(self._line, 3)
        return row

    @staticmethod
    def _at_the_end() -> str:
        """`undo` or `again`, once there is no other ball."""
        while (text := _asked("That was the last ball; Enter: that is all: ")) not in ("undo", "again"):
            if text in ("", "end"):
                raise Ended
            say("undo, again or Enter")
        return text

    def _answer(self) -> "TypedFigure | str | None":
        """What was read, None if nothing was; `undo` or `again`."""
        from ...compiler.calibration.answer import AnswerRefused, PaceUnknown, answered, likelier
        from ...compiler.calibration.law import SECOND
        from ...compiler.calibration.readings import BEFORE

        ball, (kind, words) = self._balls[self._at], self._questions[len(self._answers)]
        expected, deviation = self._expected[ball][kind]
        doubtful: TypedFigure | None = None
        while True:
            text = _asked(f"{ball}: {words}: ")
            if text == "end":
                raise Ended
            if text in ("undo", "again"):
                return text
            if not text:
                return doubtful
            try:
                found = answered(text, kind, self._ground, self._pace_m)
            except AnswerRefused as refused:
                say(str(refused))
                continue
            except PaceUnknown:
                self._pace_m = _pace()
                found = answered(text, kind, self._ground, self._pace_m)
            if kind == SECOND and (landing := self._answers[0]) and found.figure < landing.figure:
                say(BEFORE)
                continue
            strange = likelier(found, kind, expected, deviation, self._ground)
            if not strange:
                return found
            say(f"{strange}. Type it again, or Enter to keep it")
            doubtful = found

    def _what_is_read(self) -> tuple[list[FormQuestion], float]:
        """The questions for each ball, and where the height is read, m past the net."""
        from ...compiler.calibration.law import DEPTH, HEIGHT, OVER_NET, SECOND, SIDE, TIME

        more = {"time": TIME, "net": OVER_NET, "height": HEIGHT, "second": SECOND}
        line, wanted = self._ground.half_length, set[str]()
        while True:
            text = _asked("Besides where it lands, is anything read? time, net, height, second (Enter: no): ")
            if text == "end":
                raise Ended
            wanted = set(text.replace(",", " ").split())
            if unknown := wanted - set(more):
                say(f'"{min(unknown)[:20]}" is none of these: time from launch to bounce, height of the underside over '
                    "the net, height of the underside after the bounce, second bounce")  # fmt: skip
                continue
            break
        if "height" in wanted:
            line = _length("How far past the net is the height read, m (Enter: at the baseline): ") or line
        words = {
            DEPTH: "past the net, m", SIDE: "right of the middle, m (left: -)", TIME: "launch to bounce, s",
            OVER_NET: "underside over the net, m", HEIGHT: f"underside at {line:.2f} m past the net, m high",
            SECOND: "second bounce past the net, m",
        }  # fmt: skip
        return [FormQuestion(k, words[k]) for k in (DEPTH, SIDE, *(more[w] for w in more if w in wanted))], line

    def _how(self) -> str:
        from ...compiler.calibration.readings import DOUBTS

        while (text := _asked(f"How: {', '.join(DOUBTS)} (Enter: tape): ") or "tape") not in DOUBTS:
            if text == "end":
                raise Ended
            say(f'"{text[:20]}" is none of these')
        return text


def _expected(plan: "Plan", feeder: "Feeder", line: float) -> dict[str, list[tuple[float, float]]]:
    """Of each ball and all that can be read of it, what the profile expects, and one standard deviation of that: what
    the profile may be off by, the machine's scatter, and a reading by eye."""
    import numpy as np

    from ...compiler.calibration import law
    from ...compiler.calibration.readings import DOUBTS

    balls = law.balls_of(feeder, [dict(shot.settings) for shot in plan.shots], [line] * len(plan.shots))
    now, by, scattered = law.slopes(balls, np.zeros(len(law.UNKNOWNS)), law.stand_of(plan, feeder))
    doubt = np.einsum("kpn,pq,kqn->kn", by, law.prior(feeder.doubt), by)
    scatter = ((scattered * law.scatter(feeder.repeatability)[:, None]) ** 2).sum(axis=1)
    deviation = np.sqrt(doubt + scatter + DOUBTS["eye"] ** 2)
    return {
        shot.id: list(zip(now[:, i].tolist(), deviation[:, i].tolist(), strict=True))
        for i, shot in enumerate(plan.shots)
    }


def _asked(words: str) -> str:
    try:
        return input(words).strip().lower()
    except (EOFError, KeyboardInterrupt):
        say("")
        raise Ended from None
    except UnicodeDecodeError:
        return "?"


def _length(words: str) -> float | None:
    """Metres, more than none; None for Enter alone."""
    while text := _asked(words):
        try:
            if 0.1 < (figure := float(text.replace(",", "."))) < 40:
                return figure
        except ValueError:
            pass
        if text == "end":
            raise Ended
        say("a length in metres is asked, such as 8")
    return None


def _pace() -> float:
    while not (found := _length("How many metres are ten of these paces: ")):
        say("walk ten paces beside the tape first, and type their length")
    return found / 10
