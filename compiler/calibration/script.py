"""Test balls as a script: so they are aimed, checked, drawn and replayed as all other balls are."""

from ...grammar import syntax as s
from ...grammar.edits import amount, counted, name
from ...grammar.format import canonical
from ...grammar.parse import parse
from ...grammar.print import text as words
from ...grammar.source import Source
from ...grammar.units import RPM
from ..model.feeder import Feeder
from .choice import Choice
from .law import DEPTH, OVER_NET, SIDE

METRES = s.Word("UNIT", "m")
INTERVAL_S = 20
"""Time to walk to the mark, to measure and to write. Common practice, no source."""
ACCEPTED = ("over-the-head", "zone-small", "no-time-to-see", "session-length")


def plain_head(feeder: Feeder) -> list[str]:
    where = (s.OnCentre(s.keyword("CENTRE")), s.OnLine(s.keyword("BASELINE")))
    return ["surface hard", words(s.Feeder(s.keyword("MACHINE"), name(feeder.name), where))]


def script_of(feeder: Feeder, choice: Choice, head: list[str]) -> str:
    """The script of test balls, in canonical form. `player` stands where each ball has bounced."""
    lines = [
        "# Test balls for a measured profile. Nobody stands in front of the machine.",
        "",
        words(s.Program(s.Word("TITLE", f'"Test balls for {feeder.name}"'))),
        *(f"    {sentence}" for sentence in head),
        "    player right-handed",
        '    note "Nobody stands in front. Somebody stands at the machine\'s own switch. Eye protection for all."',
    ]
    axes = feeder.axes()
    names = [name(f"t{i + 1}") for i in range(len(choice.settings))]
    for i, (ball, settings) in enumerate(zip(names, choice.settings, strict=True)):
        x, y, over = (float(choice.predicted[row, i]) for row in (SIDE, DEPTH, OVER_NET))
        landing = s.Bounds(counted(max(y - 0.8, 0.2), 2), counted(y + 0.8, 2), METRES)
        sentences = (
            s.Side((_side(x),)),
            s.Depth((s.FromNet(landing, s.keyword("FROM_NET")),)),
            s.Stance((s.FromNet(amount(y + 1, 2, "m"), s.keyword("FROM_NET")),)),
            s.Height((amount(over, 2, "m"),), s.keyword("OVER_NET")),
            s.Spin((s.Spins((_spin(axes["topspin"].value(settings["topspin"]) / RPM),)),)),
            s.Interval(amount(INTERVAL_S, 0, "s")),
        )
        lines += [words(s.Feed(ball)), *(f"    {words(sentence)}" for sentence in sentences)]
    by_hand = any(axis.changes == "between blocks" for axis in axes.values())
    rest = [f"    {words(s.Rest(amount(feeder.by_hand_s + 10, 1, 's')))}"] if by_hand else []
    one = [s.Counted(counted(1), s.keyword("BALLS"), s.Share(None, ball)) for ball in names]
    blocks = [line for ball in one for line in (f"    {words(ball)}", *rest)]
    lines += [words(s.Session(s.Word("TITLE", '"Test balls"'))), *blocks[: len(blocks) - len(rest)]]
    lines += [words(s.Accept(name(code))) for code in ACCEPTED]
    tree, findings = parse(Source("test balls", "\n".join(lines) + "\n"))
    text = canonical(tree)
    assert text and not findings, findings
    return text


def _side(x: float) -> s.Lateral:
    """+x is the player's left."""
    if abs(x) < 0.7:
        return s.NamedSide((name("middle"),))
    zone = s.Bounds(counted(abs(x) - 0.6, 2), counted(abs(x) + 0.6, 2), METRES)
    return s.FromCentre(zone, name("left" if x > 0 else "right"), s.keyword("OF_CENTRE"))


def _spin(rpm: float) -> s.Turn:
    if abs(rpm) < 1:
        return s.Flat()
    return (s.Topspin if rpm > 0 else s.Backspin)(amount(abs(rpm), 0, "rpm"))
