"""Test balls as a script: so they are aimed, checked, drawn and replayed as all other balls are."""

from ...grammar import syntax as s
from ...grammar.format import canonical
from ...grammar.parse import parse
from ...grammar.source import Source
from ...grammar.units import RPM, number
from ..model.feeder import Feeder
from .choice import Choice
from .law import DEPTH, OVER_NET, SIDE

KEPT = (s.Court, s.Ceiling, s.Ball, s.Surface, s.Air, s.Feeder)
"""Which sentences of a script's head say where its balls are thrown."""
INTERVAL_S = 20
"""Time to walk to the mark, to measure and to write. Common practice, no source."""
ACCEPTED = ("over-the-head", "zone-small", "no-time-to-see", "session-length")


def head_of(text: str, name: str) -> list[str]:
    """The sentences of a script that say where its balls are thrown."""
    tree, _ = parse(Source(name, text))
    return [
        " ".join(line.sentence.span.text.split())
        for program in tree.lines if isinstance(program.sentence, s.Program)
        for line in program.children if isinstance(line.sentence, KEPT)
    ]  # fmt: skip


def plain_head(feeder: Feeder) -> list[str]:
    return ["surface hard", f"feeder machine {feeder.name}, on centre, on baseline"]


def script_of(feeder: Feeder, choice: Choice, head: list[str]) -> str:
    """The script of test balls, in canonical form. `player` stands where each ball has bounced."""
    lines = [
        "# Test balls for a measured profile. Nobody stands in front of the machine.",
        "",
        f'program "Test balls for {feeder.name}"',
        *(f"    {sentence}" for sentence in head),
        "    player right-handed",
        '    note "Nobody stands in front. Somebody stands at the machine\'s own switch. Eye protection for all."',
    ]
    axes = feeder.axes()
    for i, settings in enumerate(choice.settings):
        x, y, over = (float(choice.predicted[row, i]) for row in (SIDE, DEPTH, OVER_NET))
        lines += [
            f"feed t{i + 1}",
            f"    side {_side(x)}",
            f"    depth {number(max(y - 0.8, 0.2), 2)} to {number(y + 0.8, 2)} m from net",
            f"    stance {number(y + 1, 2)} m from net",
            f"    height {number(over, 2)} m over net",
            f"    spin {_spin(axes['topspin'].value(settings['topspin']) / RPM)}",
            f"    interval {INTERVAL_S} s",
        ]
    rest = (
        [f"    rest {feeder.by_hand_s + 10:g} s"] if any(a.changes == "between blocks" for a in axes.values()) else []
    )
    blocks = [line for i in range(len(choice.settings)) for line in (f"    1 ball t{i + 1}", *rest)]
    lines += ['session "Test balls"', *blocks[: len(blocks) - len(rest)]]
    lines += [f"accept {code}" for code in ACCEPTED]
    tree, findings = parse(Source("test balls", "\n".join(lines) + "\n"))
    text = canonical(tree)
    assert text and not findings, findings
    return text


def _side(x: float) -> str:
    """+x is the player's left."""
    if abs(x) < 0.7:
        return "middle"
    way = "left" if x > 0 else "right"
    return f"{number(abs(x) - 0.6, 2)} to {number(abs(x) + 0.6, 2)} m {way} of centre"


def _spin(rpm: float) -> str:
    return "flat" if abs(rpm) < 1 else f"{'topspin' if rpm > 0 else 'backspin'} {abs(rpm):.0f} rpm"
