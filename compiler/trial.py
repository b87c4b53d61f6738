"""Remedies as experiments: each is written into the script and compiled with it before anybody sees it."""

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping
from functools import partial

from ..grammar.edits import Edit
from ..grammar.facts import BallName, Difference, Portion, Speed
from ..grammar.finding import Finding, Hint, Message, OfBall, Severity
from ..grammar.frozen import replace
from ..grammar.source import Source, Span
from .cost import BOUNCES, KIND, cost, defeats
from .findings.bounds import BoundOften, NearerPart, WithoutIt
from .findings.flight import OutOfReach
from .findings.player import MetFarBack, NoTimeToSee
from .findings.scatter import ZoneSmall
from .include import EditedLibrary, Library
from .model.compiled import Compiled
from .remedy_most import BETTER, SHARES, Share

MOST_TRIALS, MOST_READ = 40, 200_000
"""The most trials of one script, and the most characters read for them, so a long script costs a bounded time. Remedies
beyond that are not shown."""
MILDER = ("zone-small", "height-varies", "session-length", "feeder-in-the-way")
"""What may be reported where a ball was impossible, or a practice could not be judged, if nothing better can be
proposed."""
HIGH = {
    "phase-not-there": ("over-the-head",), "bound-broken": ("bound-often",), "not-together": ("bound-often",),
}  # fmt: skip
"""What else may be reported: of a ball that was asked for over the head, and of one between bounds that leave little
room."""
MOST_SHOWN = {NoTimeToSee.code: 3}  # of what leaves time, a coach takes one of the first. Own choice
MILDEST = (*MILDER, "bound-often")
WHERE = "where it is"  # a stance that is looked for
NUMBER = r"\d+(?:\.\d+)?"
HEIGHTS, BRINGS = ("height over net", "height at the top", "height"), "brings"
WORSENS, WORSE = "makes worse", 0.05
"""What is said of a remedy with which of a warning that stays so large a share fewer balls do what is asked. Own
choice."""
TOLD: Mapping[type[Message], Share] = {**SHARES, ZoneSmall: lambda one, full: one.in_zone}
"""What share of the balls each of those warnings tells last."""
MOST_ROUNDS = 4
"""How often a failed trial may ask for more of the same change."""

Place = tuple[str, str, int]
"""A code, and the file and line of its finding."""
Compile = Callable[[Source, Library | None], Compiled]
"""A script and the scripts that it may use, compiled without looking for remedies."""


def tried(first: Compiled, library: Library | None, compiled: Compile) -> tuple[Finding, ...]:
    """The findings with those of their remedies that hold: the finding is gone, and there is no new error or warning.
    If a remedy falls short and its trial asks for another amount in the same place, that amount is tried next. For one
    place the first remedy that holds is shown. Each says what it costs."""
    findings = first.findings
    if not any(finding.remedies for finding in findings):
        return findings
    trials = _Trials(first, library, compiled, _weights(findings, _unmoved))
    return tuple(trials.mended(f) if f.remedies else f for f in findings)


def better(first: Compiled, library: Library | None, compiled: Compile, finding: Finding, remedy: Edit) -> Edit | None:
    """A change with what it costs; None if the finding stays, or a new error or warning comes, but for a bound that few
    balls keep of a ball that was impossible."""
    trials = _Trials(first, library, compiled, _weights(first.findings, _unmoved))
    after = trials.after(remedy)
    milder = MILDEST if finding.severity is Severity.ERROR else ()
    if after is None or not trials.no_worse(after.findings, partial(_moved, edit=remedy), milder):
        return None
    moved, place = partial(_moved, edit=remedy), _place(finding, _unmoved)
    if any(_place(other, moved) == place for other in after.findings):
        return None
    return replace(remedy, cost=cost(first, after, finding))


def allowed(source: Source) -> int:
    """How many trials a script may have."""
    return min(MOST_TRIALS, max(1, MOST_READ // max(1, len(source.text))))


class _Trials:
    def __init__(
        self, first: Compiled, library: Library | None, compiled: Compile, before: Mapping[Place, int]
    ) -> None:
        self._first, self._source, self._library = first, first.source, library
        self._compiled, self._before = compiled, before
        self._left = allowed(self._source)
        self._known: dict[tuple[str, Edit], Compiled] = {}

    def mended(self, finding: Finding) -> Finding:
        """The finding with those of its remedies that hold, and with what is nearer to the wish than one of them."""
        kept = tuple(self.holding(finding))[: MOST_SHOWN.get(finding.code)]
        nearest = finding.remedies[:1] if finding.code == OutOfReach.code else ()
        if not (kept and set(nearest) <= set(kept)):
            kept = (*self._bringing(finding, nearest if kept else finding.remedies), *kept)
        return replace(finding, remedies=kept, hint=self._nearer(finding, kept) or finding.hint)

    def _bringing(self, finding: Finding, remedies: Iterable[Edit]) -> tuple[Edit, ...]:
        """Of changes that mend an error, and bring warnings, the one that brings fewest, which it says."""
        if finding.severity is not Severity.ERROR or not isinstance(finding.message, OfBall):
            return ()
        place, found = _place(finding, _unmoved), list[tuple[int, Edit]]()
        wanted = {**self._before, place: self._before[place] - _weight(finding)}
        for edit in remedies:
            after, moved = self.after(edit), partial(_moved, edit=edit)
            if after is None or defeats(self._first, after, finding):
                continue
            more = {key for key, n in _weights(after.findings, moved).items() if n > wanted.get(key, 0)}
            told = [one for one in after.findings if one.severity is not Severity.NOTE and _place(one, moved) in more]
            if told and all(one.severity is Severity.WARNING for one in told):
                codes = list(dict.fromkeys(one.code for one in told))
                brings = Difference(BRINGS, None, f"the warning{'s' * (len(codes) > 1)} {' and '.join(codes)}")
                found.append((len(codes), replace(edit, cost=(*cost(self._first, after, finding), brings))))
        return tuple(edit for _, edit in sorted(found, key=lambda one: one[0])[:1])

    def _nearer(self, finding: Finding, kept: Collection[Edit]) -> Hint | None:
        """The part of the body with which most balls keep a bound, of those tried in vain before one that holds."""
        message = finding.message
        if not isinstance(message, BoundOften):
            return None
        for edit in kept:
            same = [one for one in finding.remedies if one.span == edit.span and not re.search(NUMBER, one.text)]
            texts = [one.text for one in same]
            vain = same[: texts.index(edit.text)] if edit.text in texts else []
            shares = {one.text: share for one in vain if (share := self._kept(message.ball, one)) is not None}
            words = max(shares, key=lambda text: shares[text], default=None)
            if words and shares[words] > 1 - message.share + BETTER:
                return NearerPart(message.ball, " ".join(words.split()), Portion(shares[words]))
        return None

    def _kept(self, ball: BallName, edit: Edit) -> float | None:
        """The share of balls that keep their bounds after an edit that was tried and causes no new error or warning."""
        after = self._known.get((edit.span.source.name, edit))
        found = after.evaluation.scatterings.get(ball) if after and after.evaluation else None
        if after is None or found is None:
            return None
        weights = _weights(after.findings, partial(_moved, edit=edit))
        if any(n > self._before.get(key, 0) for key, n in weights.items()):
            return None
        return SHARES[BoundOften](found, False)

    def holding(self, finding: Finding) -> Iterable[Edit]:
        """Those remedies of a finding that mend it, or the ones that they lead to."""
        strict = self._holding(finding, ())
        if finding.severity is not Severity.ERROR or (strict and not isinstance(finding.hint, WithoutIt)):
            return strict
        mild, lines = self._holding(finding, (*MILDER, *HIGH.get(finding.code, ()))), {_line(edit) for edit in strict}
        # Of lines that fight each may give way, some of them with a warning.
        return [*strict, *(edit for edit in mild if _line(edit) not in lines)]

    def _holding(self, finding: Finding, milder: Collection[str]) -> Collection[Edit]:
        told: dict[tuple[Span, str, bool], Edit] = {}
        for remedy in finding.remedies:
            # Of a ball that is met far back, another way through its height and a fixed place are two answers.
            line = (*_line(remedy), finding.code == MetFarBack.code and WHERE in remedy.text)
            edit: Edit | None = None if line in told else remedy
            for _ in range(MOST_ROUNDS):
                after = self.after(edit) if edit else None
                if edit is None or after is None:
                    break
                if self._holds(finding, after.findings, partial(_moved, edit=edit), milder):
                    if defeats(self._first, after, finding):
                        break
                    told[line] = replace(edit, cost=(*cost(self._first, after, finding), *self._worse(after, edit)))
                    break
                edit = _more(finding.code, edit, after.findings)
        kept = _kept_first(list(told.values()))
        if finding.code == "bound-often":  # a number is what the coach wants, a bound only as often as can be
            kept = sorted(kept, key=_takes_a_number)
        return sorted(kept, key=_another_ball)

    def _worse(self, after: Compiled, edit: Edit) -> tuple[Difference, ...]:
        """The other warnings of which an edit leaves fewer balls that do what is asked, though they were few before."""
        was, now = (one.evaluation.scatterings if one.evaluation else {} for one in (self._first, after))
        stays = {_place(other, partial(_moved, edit=edit)) for other in after.findings}
        codes = dict[str, None]()
        for other in self._first.findings:
            share, message = TOLD.get(type(other.message)), other.message
            if share is None or other.severity is Severity.NOTE or not isinstance(message, OfBall):
                continue
            old, new = was.get(message.ball), now.get(message.ball)
            feed = self._first.program.feeds.get(message.ball) if self._first.program else None
            if old is None or new is None or feed is None or _place(other, _unmoved) not in stays:
                continue
            full = feed.depth is None
            if share(new, full) <= share(old, full) - WORSE:
                codes[other.code] = None
        return (Difference(WORSENS, None, f"the warning{'s' * (len(codes) > 1)} {' and '.join(codes)}"),) * bool(codes)

    def _holds(
        self, finding: Finding, after: tuple[Finding, ...], moved: Callable[[Span], Span], milder: Collection[str]
    ) -> bool:
        place = _place(finding, _unmoved)
        if finding.severity is Severity.NOTE and any(_place(other, moved) == place for other in after):
            return False
        return self.no_worse(after, moved, milder, {place: self._before[place] - _weight(finding)})

    def no_worse(
        self,
        after: tuple[Finding, ...],
        moved: Callable[[Span], Span],
        milder: Collection[str],
        fewer: Mapping[Place, int] | None = None,
    ) -> bool:
        """Whether no error or warning concerns more balls than before, or than the `fewer` that it has to."""
        wanted = {**self._before, **(fewer or {})}
        return all(n <= wanted.get(key, 0) for key, n in _weights(after, moved).items() if key[0] not in milder)

    def after(self, edit: Edit) -> Compiled | None:
        """What the script comes to after the edit; None once no more trials are allowed."""
        old = edit.span.source
        key = (old.name, edit)
        if key not in self._known:
            if not self._left:
                return None
            self._left -= 1
            new = Source(old.name, old.text[: edit.span.start] + edit.text + old.text[edit.span.end :])
            if old is self._source:
                found = self._compiled(new, self._library)
            else:
                assert self._library  # the place is in a script that came from it
                found = self._compiled(self._source, EditedLibrary(self._library, new))
            self._known[key] = found
        return self._known[key]


def _kept_first(edits: list[Edit]) -> list[Edit]:
    """Of the height over the net and that at the player of one ball on the full, the one first that keeps more of the
    pace: which of them was asked, and which only had to be said, nobody knows."""
    heights = [edit for edit in edits if any(one.written and one.what in HEIGHTS for one in edit.cost)]
    anew = iter(sorted(heights, key=_pace_lost))
    return [next(anew) if edit in heights else edit for edit in edits]


def _pace_lost(edit: Edit) -> float:
    """How much the pace of a ball differs, m/s; 0 if nobody would notice."""
    paces = [(one.before, one.after) for one in edit.cost if one.what == "pace" and not one.written]
    return sum(abs(now - old) for old, now in paces if isinstance(old, Speed) and isinstance(now, Speed))


def _another_ball(edit: Edit) -> int:
    """0 for what keeps the kind of ball, which comes first; 1 if it is met after another number of bounces, which is
    another stroke; 2 if it is a much faster one, or turns otherwise; 3 if another warning gets worse."""
    told = {one.what for one in edit.cost}
    return 3 if WORSENS in told else 2 if KIND in told else int(BOUNCES in told)


def _takes_a_number(edit: Edit) -> bool:
    """Whether a number that the script says is no longer there."""
    old = edit.span.source.text[edit.span.start : edit.span.end]
    return bool(Counter(re.findall(NUMBER, old)) - Counter(re.findall(NUMBER, edit.text)))


def _line(edit: Edit) -> tuple[Span, str]:
    """Equal for edits of which only one can be made: the place, and for a new line its subject."""
    new = edit.span.start == edit.span.end
    return edit.span, "" if not new else edit.text.split()[0] if edit.text.startswith("\n") else edit.text


def _more(code: str, edit: Edit, after: tuple[Finding, ...]) -> Edit | None:
    """What a trial with the same finding proposes for exactly the place that was changed."""
    start, end = edit.span.start, edit.span.start + len(edit.text)
    for finding in after:
        for remedy in finding.remedies if finding.code == code else ():
            span = remedy.span
            if (span.source.name, span.start, span.end) == (edit.span.source.name, start, end):
                return replace(edit, text=remedy.text)
    return None


def _weights(findings: Iterable[Finding], original: Callable[[Span], Span]) -> Counter[Place]:
    """How many balls each error and warning concerns, by code and line."""
    counted: Counter[Place] = Counter()
    for finding in findings:
        if finding.severity is not Severity.NOTE:
            counted[_place(finding, original)] += _weight(finding)
    return counted


def _weight(finding: Finding) -> int:
    return 1 + finding.more


def _place(finding: Finding, original: Callable[[Span], Span]) -> Place:
    span = original(finding.span)
    return finding.code, span.source.name, span.source.line_of(span.start)[0]


def _unmoved(span: Span) -> Span:
    return span


def _moved(span: Span, edit: Edit) -> Span:
    """A place after the edit, as a place before it."""
    if span.source.name != edit.span.source.name:
        return span
    start, longer = span.start, 0
    for part in edit.parts or (edit,):
        begins = part.span.start + longer
        if start < begins + len(part.text):
            if start > begins:
                start = min(start, part.span.end + longer)
            break
        longer += len(part.text) - (part.span.end - part.span.start)
    return Span(edit.span.source, start - longer, start - longer)
