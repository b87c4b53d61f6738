"""What compiles can be played: scripts with amounts at the edge of sense give a finding, or a plan that is taken.

Amounts are drawn at, just inside and just outside the edges that `SENSE` and `PLAIN` give them, in every unit, a few of
them a script; the rest of the script is moderate, so that many compile.
"""

from collections import Counter
from random import Random

from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.physics.bounce import PACES, SURFACES
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.resolve.amounts import PLAIN, SENSE
from feedwright.compiler.verify import verify
from feedwright.grammar.finding import Severity
from feedwright.grammar.source import Source
from feedwright.grammar.units import from_si, to_si, units_of
from feedwright.targets import document
from feedwright.targets.machine.feeders import ProfileShelf

from .whole import WHOLE

SEED, SCRIPTS = 20, 45 if WHOLE else 12
SHELF = ProfileShelf()
FEEDERS = ("machine academy", "machine club", "machine dials", "person basket", "person racket")


def edge(chance: Random, what: str) -> str:
    """An amount at an edge of what makes sense for `what`, or a little to either side."""
    sense = SENSE[what]
    value = chance.choice([sense.low, sense.high]) + chance.choice([0] * 12 + [1e-9, -1e-9, 0.01, -0.01])
    unit = chance.choice(units_of(sense.dimension))
    return f"{from_si(to_si(value, sense.unit), unit):.12f} {unit}"


def plain(chance: Random, what: str) -> str:
    low, high = PLAIN[what]
    return f"{chance.choice([low, high]):.10g}"


def script(chance: Random) -> str:
    def of(usual: str, what: str, wild: float = 0.04) -> str:
        """Mostly the usual amount, now and then one at the edge of sense."""
        return edge(chance, what) if chance.random() < wild else usual

    def maybe(words: str) -> list[str]:
        return [words] if chance.random() < 0.4 else []

    def place(usual: str) -> str:
        """Mostly the usual distance inside the baseline, now and then one at the net, beyond it or behind a line."""
        lengths = ["0 m", "6.4 m", "11.885 m", "11.88499 m", "12.5 m", edge(chance, "distance")]
        lines = ["inside baseline", "inside baseline", "behind baseline", "inside service line", "from net"]
        wild = f"{chance.choice(lengths)} {chance.choice(lines)}"
        return wild if chance.random() < 0.12 else f"{usual} inside baseline"

    surfaces = [*SURFACES, *(f"pace {pace}" for pace in PACES)]
    given = f"friction {plain(chance, 'friction')}, restitution {plain(chance, 'restitution')}"
    given += "".join(maybe(f", grip {plain(chance, 'grip')}"))
    feeder = chance.choice(FEEDERS)
    weather = [
        *maybe(of("25 C", "temperature", 0.7)), *maybe(f"altitude {of('300 m', 'altitude', 0.7)}"),
        *maybe(f"humidity {of('40 %', 'humidity', 0.7)}"),
        *(words for way in ("left", "right", "behind", "behind", "ahead")
          if chance.random() < 0.15 for words in [f"wind {of('2 m/s', 'wind', 0.5)} from {way}"]),
    ]  # fmt: skip
    traits = [
        *maybe(f"{of('1.7 m', 'stature', 0.7)} tall"), *maybe(f"reach {of('0.6 m', 'reach', 0.7)}"),
        *maybe(f"reply up to {of('90 km/h', 'pace limit')}"), *maybe("two bounces"),
        *maybe(f"{plain(chance, 'players')} taking turns"), *maybe(f"changing every {plain(chance, 'balls')} balls"),
    ]  # fmt: skip
    spots = [
        *maybe(f"{of('1 m', 'distance', 0.1)} left of centre"), *maybe(place("1 m")),
        *(["on the player's side"] if feeder == "person basket" else []),
    ]  # fmt: skip
    fixing = chance.choice([
        f"height {of('1.2 m', 'height over net')} over net", f"height {of('1.6 m', 'height over net')} over net",
        f"pace {of('70 km/h', 'pace')}", f"time {of('1.6 s', 'time to contact')} to contact",
        f"height {of('1 m', 'height at the player')}, falling",
    ])  # fmt: skip
    spin = chance.choice(["flat", f"topspin {of('600 rpm', 'topspin')}", f"backspin {of('100 rpm', 'backspin')}"])
    reply = [
        f"at least {of('1 m', 'height over net', 0.4)} over net", *maybe(f"topspin {of('900 rpm', 'topspin', 0.4)}"),
        *maybe(of("80 km/h", "pace", 0.4)), *maybe(place("2 m")),
    ]  # fmt: skip
    lines = [
        'program "Edges"',
        f"    court {chance.choice(['singles', 'singles', 'singles', 'doubles', 'orange', 'red'])}",
        *([f"    ceiling {of('12 m', 'ceiling', 0.7)}"] if chance.random() < 0.2 else []),
        f"    surface {given if chance.random() < 0.4 else chance.choice(surfaces)}",
        f"    ball {chance.choice(['type 1', 'type 2', 'type 3', 'stage 1', 'stage 3', 'high altitude'])}"
        + "".join(maybe(", worn") + maybe(", pressureless")),
        f"    player {', '.join(['right-handed', *traits])}",
        f"    feeder {', '.join([feeder, *spots])}",
        *([f"    air {', '.join(weather)}"] if weather else []),
        *maybe(f"    seed {plain(chance, 'seed')}"),
        'variation rally "Rally"',
        f"    reply {', '.join(reply)}",
        *maybe(f"    goal {plain(chance, 'goal')} in a row"),
        "feed a aims rally",
        f"    side {chance.choice(['middle', 'left wing', of('1 m', 'distance') + ' right of centre'])}",
        f"    depth {chance.choice(['deep', '1 to 5 m inside baseline', place('3 m')])}",
        f"    stance {chance.choice(['1 m behind baseline', '2 m behind baseline', place('1 m')])}",
        f"    {fixing}",
        f"    spin {spin}",
        f"    interval {of('5 s', 'interval')}{''.join(maybe(' between contacts'))}",
        "point p",
        *maybe(f"    player serves, then {of('1.5 s', 'time after the serve', 0.5)}"),
        f"    plays {', then '.join(['a'] * chance.randint(1, 3))}",
        *maybe("    if missed, from the start"),
        'session "Edges"' + "".join(maybe(f", lasts {of('5 min', 'session length', 0.5)}")),
        *maybe(f"    rest {of('20 s', 'rest', 0.5)}"),
        "    3 balls a",
        "    2 points p",
        *maybe(f"    {of('1 min', 'block', 0.5)} a"),
        *maybe(f"    collect {of('20 s', 'collect', 0.5)}"),
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def feeder_of(name: str) -> Feeder:
    feeder = SHELF.load(name)
    assert feeder
    return feeder


def test_what_compiles_is_a_plan_that_is_taken() -> None:
    # What would mend the others is asked of the cases, and would take most of the time here.
    codes: Counter[str] = Counter()
    played = 0
    for n in range(SCRIPTS):
        text = script(Random(SEED * 1_000_003 + n))
        try:
            made = compile_source(Source("edges.feed", text), SHELF, remedies=False)
        except Exception as error:
            error.add_note(f"script {n}:\n{text}")
            raise
        codes.update({f.code for f in made.findings if f.severity is Severity.ERROR})
        assert (made.plan is None) == any(f.severity is Severity.ERROR for f in made.findings), text
        if made.plan:
            played += 1
            assert verify(document.read(document.render(made.plan)), feeder_of(made.plan.feeder.name)) == [], text
    # The drawn scripts are neither all sound nor all wrong, and no code hides the others.
    expected = {"impossible-number", "duplicate", "beyond-the-net"}
    assert played > SCRIPTS / 12 and expected <= codes.keys(), (played, codes)
