"""A real program, compiled, for a machine that is quicker than any: so that the tests need not wait."""

from functools import cache
from pathlib import Path

from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets import document
from feedwright.targets.machine.feeders import ProfileShelf, read

ROOT = Path(__file__).parents[2]

SCRIPT = """program "Brackenmoor quick"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine NAME
    air       20 C
variation rally "deep"
    reply     deep, at least 1 m over net
feed steady aims rally
    side      middle
    depth     1 to 4 m inside baseline
    stance    2.5 m behind baseline
    spin      SPIN
    height    waist, falling
    interval  INTERVAL s
feed wide, like steady
    side      forehand wing
session "Quick"
    4 balls   steady
    4 balls   wide
    collect
    2 balls   steady
"""


def quick_profile() -> bytes:
    """The academy machine, with a rhythm that no real one has."""
    text = (ROOT / "targets" / "machine" / "feeders" / "academy.toml").read_text("utf-8")
    for old, new in (
        ("shortest_interval_s = 1.5", "shortest_interval_s = 0.5"), ("gap_s = 1.4", "gap_s = 0.4"),
        ("rate = 45", "rate = 900"), ("rate = 2500", "rate = 90000"), ("rate = 25\n", "rate = 900\n"),
        ("feed_delay_s = 0.2", "feed_delay_s = 0.05"),
        ("settle_s = 0.15", "settle_s = 0.05"), ("feed_jitter_s = 0.05", "feed_jitter_s = 0"),
    ):  # fmt: skip
        assert old in text
        text = text.replace(old, new)
    return text.encode()


def script(name: str = "quick", spin: str = "topspin 1200 rpm", interval: str = "0.6") -> str:
    return SCRIPT.replace("NAME", name).replace("SPIN", spin).replace("INTERVAL", interval)


@cache
def built(name: str = "quick", spin: str = "topspin 1200 rpm", interval: str = "0.6") -> tuple[Plan, Feeder]:
    feeder = read(quick_profile(), "quick") if name == "quick" else ProfileShelf().load(name)
    assert feeder is not None

    class One:
        def names(self) -> list[str]:
            return [name]

        def load(self, wanted: str) -> Feeder | None:
            return feeder if wanted == name else None

    compiled = compile_source(Source("quick.feed", script(name, spin, interval)), One(), remedies=False)
    assert compiled.plan is not None, compiled.findings
    return compiled.plan, feeder


def written(folder: Path, name: str = "quick", **how: str) -> Path:
    """The plan as a file, with its profile beside it."""
    plan, _ = built(name, **how)
    (folder / "quick.toml").write_bytes(quick_profile())
    path = folder / "quick.plan.json"
    path.write_bytes(document.render(plan))
    return path
