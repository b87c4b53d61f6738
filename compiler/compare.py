"""Two compiled scripts side by side: what changes in the settings and in what the balls do; and which feeder, standing
where, can give the balls of a script."""

from collections.abc import Callable, Iterator, Sequence

from ..grammar import syntax as s
from ..grammar.finding import Finding, Severity
from ..grammar.frozen import Frozen, replace
from ..grammar.parse import parse
from ..grammar.print import printed
from ..grammar.source import Source
from ..grammar.terminals import UNDER
from ..grammar.units import SI, UNITS, from_si
from .model.evaluation import GoodReplies, Scattering
from .model.shots import SolvedShot
from .pipeline import Compiled

WORLD = tuple(kind for kind in UNDER["program"] if kind not in ("note", "given"))
"""Lines of a program that say where and by whom a practice is played."""
HIGH_M = 1219.0
"""Above 4000 ft the ITF Rules of Tennis (Appendix I, the ball) add a ball for high altitude."""
MACHINE_PLACES = ("on centre, on baseline", "on centre, 1 m behind service line", "on centre, 1 m behind baseline")
PERSON_PLACES = {
    "racket": ("on centre, 1 m behind service line", "on centre, 2.5 m inside baseline"),
    "hand": ("on the player's side, 3 m from net", "on centre, 3 m from net"),
}
"""Where a feeder is tried who does not stand there by the script: common practice, no source."""


class Figure(Frozen):
    """Something of a ball that may change: how to find it, or None, in SI."""

    name: str
    unit: str
    decimals: int
    of: "Callable[[SolvedShot, Scattering | None, GoodReplies | None], float | None]"

    @property
    def si(self) -> str:
        return SI[UNITS[self.unit].dimension]


FIGURES = (
    Figure("pace", "km/h", 0, lambda shot, _, __: shot.speed),
    Figure("elevation", "deg", 1, lambda shot, _, __: shot.elevation),
    Figure("direction", "deg", 1, lambda shot, _, __: shot.azimuth),
    Figure("topspin", "rpm", 0, lambda shot, _, __: shot.topspin),
    Figure("sidespin", "rpm", 0, lambda shot, _, __: shot.sidespin),
    Figure("over net", "m", 2, lambda shot, _, __: shot.predicted.clearance),
    Figure("lands from net", "m", 2, lambda shot, _, __: shot.predicted.landing and shot.predicted.landing[1]),
    Figure("met at", "m", 2, lambda shot, _, __: shot.predicted.contact[2]),
    Figure("pace when met", "km/h", 0, lambda shot, _, __: shot.predicted.contact_speed),
    Figure("time", "s", 2, lambda shot, _, __: shot.predicted.contact_time),
    Figure("in zone", "%", 0, lambda _, scattering, __: scattering.in_zone if scattering else None),
    Figure("good replies", "%", 0, lambda _, __, good: good.share if good else None),
)


class Extremes(Frozen):
    """The least and the most of a quantity over the balls of a feed, SI."""

    low: float
    high: float

    def figures(self, figure: Figure) -> str:
        values = (from_si(edge, figure.unit) for edge in (self.low, self.high))
        low, high = (f"{round(value, figure.decimals) + 0.0:.{figure.decimals}f}" for value in values)  # no -0
        return low if low == high else f"{low} to {high}"


class FigureChange(Frozen):
    """One quantity of one feed in both; None where it does not occur."""

    figure: Figure
    first: Extremes | None
    second: Extremes | None


class BallChange(Frozen):
    """A feed in both. `first` and `second` say whether it can be had there; None if that script has no such feed."""

    name: str
    first: bool | None
    second: bool | None
    changes: tuple[FigureChange, ...]


class Comparison(Frozen):
    balls: tuple[BallChange, ...]
    gone: tuple[Finding, ...]
    come: tuple[Finding, ...]
    """What is found in the first script alone, and in the second alone."""


def with_lines(source: Source, sentences: Sequence[str]) -> tuple[Source | None, list[Finding]]:
    """The script with these lines of its program in place of its own of their kind; what a line of the air says, or a
    part of it alone, such as `altitude 1900 m`, in place of the same in its air. None if one of them is neither, and
    then what is wrong with it."""
    tree, _ = parse(source)
    for sentence in sentences:
        new, findings = _line_of_program(sentence)
        found = new or _line_of_program(f"air {sentence}")[0]
        if found is None:
            return None, findings
        tree = replace(tree, lines=tuple(_placed(line, found) for line in tree.lines))
    return Source(source.name, printed(tree)), []


def _line_of_program(sentence: str) -> tuple[s.Line | None, list[Finding]]:
    told, findings = parse(Source("--with", f'program "x"\n    {sentence}'))
    lines = told.lines[0].children if len(told.lines) == 1 else ()
    if findings or len(lines) != 1 or lines[0].kind not in WORLD:
        return None, findings
    return s.Line(lines[0].sentence, place=lines[0].place), []


def _placed(line: s.Line, new: s.Line) -> s.Line:
    """A program's line with the new one under it; of the air what it does not name stays as it is."""
    if line.kind != "program":
        return line
    own = next((child.sentence for child in line.children if child.kind == new.kind), None)
    if isinstance(own, s.Air) and isinstance(new.sentence, s.Air):
        come = {_measures(one) for one in new.sentence.weather}
        stays = tuple(one for one in own.weather if _measures(one) not in come)
        new = replace(new, sentence=s.Air((*stays, *new.sentence.weather)))
    kept = tuple(child for child in line.children if child.kind != new.kind)
    return replace(line, children=(*kept, new))


def _measures(weather: s.Weather) -> type[s.Node]:
    """What a part of the air says, as the kind of a part: sea level is an altitude."""
    return s.Altitude if isinstance(weather, s.SeaLevel) else type(weather)


def comparison(first: Compiled, second: Compiled) -> Comparison:
    names = dict.fromkeys(name for one in (first, second) if one.program for name in _fed(one))
    said = [{(f.code, f.headline): f for f in one.findings} for one in (first, second)]
    return Comparison(
        tuple(_ball(name, first, second) for name in names),
        tuple(f for key, f in said[0].items() if key not in said[1]),
        tuple(f for key, f in said[1].items() if key not in said[0]),
    )


def _fed(one: Compiled) -> Iterator[str]:
    """The feeds that are played, each rung of a ladder with its feed."""
    assert one.program
    played = one.program.played
    for feed in one.program.feeds.values():
        if feed.family in played:
            yield feed.family


def _ball(name: str, first: Compiled, second: Compiled) -> BallChange:
    changes = []
    for figure in FIGURES:
        before, after = (_span(name, figure, one) for one in (first, second))
        told = [span and span.figures(figure) for span in (before, after)]
        if told[0] != told[1]:
            changes.append(FigureChange(figure, before, after))
    return BallChange(name, _had(name, first), _had(name, second), tuple(changes))


def _members(name: str, one: Compiled) -> list[str]:
    """Those of a feed that are played."""
    if one.program is None:
        return []
    fed = one.program.fed
    return [member for member, feed in one.program.feeds.items() if feed.family == name and member in fed]


def _had(name: str, one: Compiled) -> bool | None:
    members = _members(name, one)
    return all(one.shots is not None and member in one.shots.shots for member in members) if members else None


def _span(name: str, figure: Figure, one: Compiled) -> Extremes | None:
    if one.shots is None:
        return None
    found = []
    for member in _members(name, one):
        if shot := one.shots.shots.get(member):
            told = one.evaluation
            scattering, good = (told.scatterings.get(member), told.replies.get(member)) if told else (None, None)
            found.append(figure.of(shot, scattering, good))
    values = [value for value in found if value is not None]
    return Extremes(min(values), max(values)) if values else None


class Trial(Frozen):
    """A feeder in a place, as a line of a script; how many of the balls it gives, of how many; and what is in the
    way of the first it does not give, or of the practice."""

    profile: str
    line: str
    given: int
    asked: int
    errors: int
    why: str

    @property
    def rank(self) -> tuple[bool, int, int]:
        return (self.errors > 0, self.asked - self.given, self.errors)


def trial(profile: str, line: str, one: Compiled) -> Trial:
    errors = [finding for finding in one.findings if finding.severity is Severity.ERROR]
    given = len(one.shots.shots) if one.shots else 0
    asked = given + (len(one.shots.misses) if one.shots else 0)
    return Trial(profile, line, given, asked, len(errors), errors[0].headline if errors else "")


def places(kind: str, how: str | None, own: str) -> list[str]:
    """Where to try a feeder: first where the script has its own, if that is one for it."""
    tried = MACHINE_PLACES if kind == "machine" else PERSON_PLACES.get(how or "", MACHINE_PLACES)
    own_side, tried_side = ("player's side" in place for place in (own, tried[0]))
    return list(dict.fromkeys((own, *tried) if own_side == tried_side else tried))
