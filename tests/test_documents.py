"""What the pages show is true: every example of the language compiles, every command of the README is one."""

import re
from pathlib import Path

import pytest

from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.report.render import short
from feedwright.grammar.finding import Severity
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

ROOT = Path(__file__).parent.parent
LANGUAGE = (ROOT / "grammar" / "LANGUAGE.md").read_text("utf-8")
BLOCKS = re.findall(r"^```(feed|program|script|feed-lines|session)\n(.*?)^```", LANGUAGE, re.S | re.M)
WHOLE = BLOCKS[0][1]


def built(kind: str, text: str) -> str:
    """The example as a whole script."""
    if kind == "feed":
        return text
    if kind == "program":
        rest = WHOLE[WHOLE.index("variation") :]
        return f'program "Example"\n{text}\n{rest}'
    if kind == "session":
        quick = "feed quick, like steady\n    pace 90 km/h\n\npoint attack\n    plays steady, then quick\n\n"
        return f'{WHOLE[: WHOLE.index("session ")]}{quick}session "Example"\n{text}'
    if kind == "script":
        return WHOLE[: WHOLE.index("session ")] + text + "\n" + WHOLE[WHOLE.index("session ") :]
    lines = f"feed example, like steady\n{text}\n"
    return WHOLE[: WHOLE.index("session ")] + lines + WHOLE[WHOLE.index("session ") :]


def compiled(text: str) -> Compiled:
    return compile_source(Source("example.feed", text), ProfileShelf(), remedies=False)


@pytest.mark.parametrize(("kind", "text"), BLOCKS, ids=[f"{i}-{kind}" for i, (kind, _) in enumerate(BLOCKS)])
def test_every_example_of_the_language_compiles(kind: str, text: str) -> None:
    found = compiled(built(kind, text))
    allowed = {
        "feed-unused",
        "point-unused",
        "variation-unused",
        "session-length",
        "ball-found",
        "given-unused",
        "goal-far",  # of the balls that stand in for the reader's own
        "over-the-shoulder",  # as are these
        "accept-unused",  # what the reader accepts
        "place-alone",  # of what the example shows
        "results-by-hand",  # the same
    }  # the example is not played
    assert not [f for f in found.findings if f.code not in allowed], short(found.findings)
    assert found.plan is not None


@pytest.mark.parametrize(("depth", "over"), [(6, 0.6), (6, 1), (6, 2), (11, 0.6), (11, 1), (11, 2)])
@pytest.mark.parametrize(
    "feeder", ["machine club, on centre, on baseline", "person racket, on centre, on service line"]
)
def test_every_ordinary_ball_comes_as_high_as_the_page_says(feeder: str, depth: float, over: float) -> None:
    """A flat ball, which comes up least, to a tall player."""
    part = "hip" if over >= 1 else "knee"
    assert f"stance where it is {part} high" in LANGUAGE or f"`{part} high`" in LANGUAGE
    found = compiled(
        f'program "x"\n    surface hard\n    player right-handed, 1.90 m tall\n    feeder {feeder}, behind a screen\n'
        f"feed ball\n    side backhand wing\n    depth {depth} m from net\n    height {over} m over net\n"
        f'    spin flat\n    stance where it is {part} high\n    interval 5 s\nsession "x"\n    4 balls ball\n'
    )
    assert found.plan, short(found.findings)


def test_the_table_of_profiles_is_what_the_profiles_say() -> None:
    shelf = ProfileShelf()
    loaded = [(name, feeder) for name in shelf.names() if (feeder := shelf.load(name))]

    def spins(feeder: Feeder) -> str:
        """What can be had of each: a machine whose commands always say the same has none."""
        said, axes = (feeder.template.fixed if feeder.template else {}), feeder.axes()
        top, side = (None if name in said else axes.get(name) for name in ("topspin", "sidespin"))
        return f"{top.high if top else 0:g} / {abs(top.low) if top else 0:g} / {side.high if side else 0:g}"

    told = {
        f"| `{feeder.kind} {name}` | {speed.low:g} to {speed.high:g} | {least:g} | {spins(feeder)} | "
        f"{feeder.hopper or ''}".rstrip(" ")
        for name, feeder in loaded
        for speed, least in [(feeder.axes()["speed"], feeder.least_interval_s)]
    }
    rows = re.findall(r"^  (\| `(?:machine|person) .*?) ?\|$", LANGUAGE, re.M)
    assert set(rows) == told and len(rows) == len(told)


def test_the_balls_at_the_net_of_the_guide_are_in_time_and_come_as_high_as_it_says() -> None:
    guide = (ROOT / "grammar" / "GUIDE.md").read_text("utf-8")
    row = re.search(r"floater; at the shins \| `(.*?)`, `(.*?)`; `(.*?)`, `(.*?)`, `(.*?)` \|", guide)
    lobs = re.search(
        r"`(height 2\.5 m, on the full)`, `height 4 m over net` or `6 m at the top`; (\d) m over net if lobbed at "
        r"the net \(`starts`\), (\d) m for a deep",
        guide,
    )
    assert row and lobs
    floater, over, shins, low, place = row.groups()
    high, soon, deep = lobs.groups()
    balls = [(floater, over, "stance 5 m from net", "5.5 m"), (shins, low, place, "6.5 m")]
    # The player touches the net, 1 m from it, as the ball leaves.
    balls += [(high, f"height {soon} m over net", "stance 5.5 m from net", "1 m")]
    balls += [(high, f"height {deep} m over net", "stance 7 m from net", "1 m")]
    feeds = "".join(
        f"feed ball-{i}\n    starts on centre, {start} from net\n    side middle\n    {place}\n"
        f"    {height}\n    {over}\n    spin flat\n    interval 8 s\n"
        for i, (height, over, place, start) in enumerate(balls)
    )
    found = compiled(
        'program "At the net"\n    surface hard\n    player right-handed, 1.75 m tall\n'
        f"    feeder machine academy, on centre, on baseline, behind a screen\naccept height-varies\n{feeds}"
        'session "At the net"\n' + "".join(f"    4 balls ball-{i}\n" for i in range(len(balls)))
    )
    assert found.shots and not found.findings, short(found.findings)
    met = [shot.predicted.contact[2] for shot in found.shots.shots.values()]
    assert met == pytest.approx([1.75, 0.35, 2.5, 2.5], abs=0.15)  # what the steps of the machine make of a lob


def test_a_tossed_volley_leaves_the_time_that_the_page_tells() -> None:
    said = re.search(
        r"From ([\d.]+) m behind the net to a player (\d) m before it, `(height .*)`\nleaves some ([\d.]+) s; "
        r"([\d.]+) m leaves ([\d.]+) s, too little to see the ball, and at (\d) m",
        LANGUAGE,
    )
    assert said
    away, near, height, time, low, less, high = said.groups()

    def tossed(line: str) -> Compiled:
        found = compiled(
            f'program "Toss"\n    surface hard\n    player right-handed, 1.70 m tall\n'
            f"    feeder person basket, on centre, {away} m from net, behind a screen\n"
            f"feed toss\n    side 1 m right of centre\n    stance {near} m from net\n    height chest, on the full\n"
            f'    {line}\n    spin flat\n    interval 3 s\nsession "Volleys"\n    20 balls toss\n'
        )
        assert found.shots
        return found

    balls = [tossed(height), tossed(f"height {low} m over net"), tossed(f"height {high} m over net")]
    flown = [ball.shots.shots["toss"].predicted.contact_time for ball in balls if ball.shots]
    assert flown[:2] == pytest.approx([float(time), float(less)], abs=0.05)
    assert [[f.code for f in ball.findings] for ball in balls] == [[], ["no-time-to-see"], ["height-varies"]]


def test_the_zone_tables_are_the_ones_computed_with() -> None:
    from feedwright.compiler.resolve.places import AROUND, COUNTED, DEPTHS, SIDES

    for name, (low, high) in DEPTHS.items():
        row = re.search(rf"\| `{name}` \| ([\d.]+) to ([\d.]+) m", LANGUAGE)
        assert row and (float(row[1]), float(row[2])) == (pytest.approx(low, abs=0.06), pytest.approx(high, abs=0.06))
    assert SIDES["wing"] == (0.8, 2.3) and "0.8 to 2.3 m from the centre" in LANGUAGE
    assert SIDES["corner"] == (pytest.approx(4.115 - 1.8), pytest.approx(4.115 - 0.3))
    assert "0.3 to 1.8 m inside the sideline" in LANGUAGE
    assert f"a zone of {COUNTED:g} m to either side along the court" in LANGUAGE
    assert f"and of {AROUND:g} m across" in LANGUAGE


def test_the_paces_that_pass_a_metre_over_the_net_are_the_solved_ones() -> None:
    head, _, *rows = re.findall(r"^\| pace in km/h.*(?:\n\|.*)+", LANGUAGE, re.M)[0].splitlines()
    depths = [*re.findall(r"`(depth [^`]+)`", head), "depth 1 to 4 m inside baseline"]
    asked = [(depth, 1 + (at == 3), spin) for at, depth in enumerate(depths) for spin in ("flat", "topspin 1200 rpm")]
    feeds = "".join(
        f"feed f{at}\n side middle\n {depth}\n stance where it is hip high, falling\n"
        f" height {over} m over net\n spin {spin}\n interval 6 s\n"
        for at, (depth, over, spin) in enumerate(asked)
    )
    feeds += "".join(  # which lands there in the highest arc
        f"feed s{at}\n side middle\n {depth}\n stance where it is knee high, falling\n"
        " pace slowest\n spin flat\n interval 6 s\n"
        for at, depth in enumerate(depths[:-1])
    )
    names = [*(f"f{at}" for at in range(len(asked))), *(f"s{at}" for at in range(len(depths) - 1))]
    balls = "".join(f" 2 balls {name}\n" for name in names)
    for row in rows:
        place, *cells = [cell.strip(" `") for cell in row.strip("|").split("|")]
        head = f'program "x"\n surface hard\n player right-handed\n feeder machine club, {place}\n'
        shots = compiled(f'{head}{feeds}session "x"\n{balls}').shots
        assert shots and not shots.misses
        paces = [str(round(shots.shots[name].speed * 3.6)) for name in names]
        slowest = [f" ({pace})" for pace in paces[len(asked) :]] + [""]
        ordinary = zip(paces[: len(asked) : 2], paces[1 : len(asked) : 2], slowest, strict=True)
        assert cells == [f"{low} to {high}{least}" for low, high, least in ordinary]


def test_the_drop_shot_of_the_guide_is_a_ball_from_three_feeders() -> None:
    guide = (ROOT / "grammar" / "GUIDE.md").read_text("utf-8")
    (row,) = re.findall(r"^\| drop shot \|(.*)\|$", guide, re.M)
    lines = "".join(f" {line}\n" for line in re.findall("`([^`]+)`", row))
    for feeder in ("machine club, on baseline", "machine club, on service line", "person racket, on service line"):
        head = f'program "x"\n surface hard\n player right-handed, 1.75 m tall\n feeder {feeder}, behind a screen\n'
        made = compiled(f'{head}feed drop\n side middle\n{lines} interval 6 s\nsession "x"\n 8 balls drop\n')
        told = {finding.code for finding in made.findings}
        assert made.plan and told <= {"ball-found", "aim-moved", "played-otherwise"}, short(made.findings)


@pytest.mark.parametrize("machine", ["academy", "club"])
def test_a_deep_ball_falls_to_the_waist_where_the_page_says(machine: str) -> None:
    said = re.search(r"stands ([\d.]+) m behind the baseline, or ([\d.]+) m for a ball with much\s+topspin", LANGUAGE)
    assert said

    def errors(stance: float, topspin: int) -> list[str]:
        lines = f"    depth deep\n    stance {stance:g} m behind baseline\n    spin topspin {topspin} rpm\n"
        found = compiled(built("feed-lines", lines).replace("academy", machine))
        return [f.code for f in found.findings if f.severity is Severity.ERROR]

    assert not any(errors(float(said[1]), topspin) for topspin in (600, 900, 1200)) and not errors(float(said[2]), 1800)
    assert errors(float(said[1]) - 1, 1200) == ["phase-not-there"]


def test_the_page_names_all_that_a_script_may_name() -> None:
    from feedwright.compiler.model.court import courts
    from feedwright.compiler.model.player import BODY_SHARES
    from feedwright.compiler.physics.bounce import PACES, SURFACES
    from feedwright.compiler.resolve.spins import AMOUNTS

    profiles = [profile for name in ProfileShelf().names() if (profile := ProfileShelf().load(name))]
    wanted = [
        *(f"`{name}`" for name in (*BODY_SHARES, *courts(False), *SURFACES, *PACES)),
        *(f"`{name}` ({rpm:.0f} rpm)" for name, rpm in AMOUNTS.items()),
        *(f"{profile.kind} {profile.name}`" for profile in profiles),
    ]
    assert [words for words in wanted if words not in LANGUAGE] == [], "grammar/LANGUAGE.md does not name them"


README = (ROOT / "README.md").read_text("utf-8")


def test_the_script_in_the_readme_is_the_shipped_one() -> None:
    shown = re.findall(r"^```feed\n(.*?)^```", README, re.S | re.M)
    shipped = (ROOT / "programs" / "02-first-script.feed").read_text("utf-8")
    assert len(shown) == 1 and shown[0].strip() in shipped
    assert not compiled(shown[0]).findings


def test_files_and_commands_named_in_the_pages_exist() -> None:
    for page in (README, (ROOT / "DEVELOPERS.md").read_text("utf-8")):
        for target in re.findall(r"\]\(([\w/.-]+)\)", page):
            assert (ROOT / target).exists(), target
    from feedwright.targets.command.cli import _parser

    commands = set(re.findall(r"`feedwright ([\w-]+)", README)) | set(re.findall(r"bin/feedwright (\w+)", README))
    assert commands <= set(_parser()._subparsers._group_actions[0].choices)  # type: ignore[union-attr, arg-type]
