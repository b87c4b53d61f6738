"""One ball of a script by itself: what can be drawn of it while no session throws it, or while the rest has errors."""

from ...grammar import syntax as s
from ...grammar.edits import amount, counted, name
from ...grammar.format import canonical
from ...grammar.frozen import replace
from ...grammar.source import Source
from ...grammar.syntax import Line, Tree, Word, keyword, sentences
from .script import NameKind, Script

LONG_S = 30
"""An interval that every feeder has time for: of the ball itself nothing changes with it."""


def played(script: Script, feed: str) -> bool:
    """Does a block or a point of the script name it?"""
    return any(one.kind is NameKind.FEED and one.name == feed and _throws(script, one.span.start)
               for one in script.names if not one.made and one.span.source is script.source)  # fmt: skip


def alone(script: Script, feed: str) -> Source | None:
    """A script with the head, this feed and those that it is like or has the ball of, and a session of one ball; None
    if it has no such feed of its own, or if a line of it cannot be read: it would be another ball."""
    feeds = {said.name.text: (line, said) for line, said in script.tree.of(s.Feed)}
    unread = {said.name.text for line, said in script.tree.of(s.Feed) if any(not one.sentence for one in line.children)}
    if feed not in feeds:
        return None
    wanted = [feed]
    for each in wanted:
        line, said = feeds[each]
        others = [said.like, *(same.feed for _, same in sentences(line.children, s.Same))]
        wanted += [one.text for one in others if one and one.text in feeds and one.text not in wanted]
    if unread & set(wanted):
        return None
    kept = (line for line in script.tree.lines if line.sentence and not isinstance(line.sentence, s.Session | s.Point))
    lines = [_slow(line) for line in kept if not isinstance(line.sentence, s.Feed) or line.sentence.name.text in wanted]
    ball = Line(s.Counted(counted(1), keyword("BALLS"), s.Share(None, name(feed))))
    text = canonical(Tree((*lines, Line(s.Session(Word("TITLE", '"One ball"')), (ball,)))))
    return Source(script.source.name, text) if text else None


def _slow(line: Line) -> Line:
    """Without lines that could not be read, and without the goal, which is about the balls of a whole block; a feed
    with a long interval."""
    under = tuple(
        replace(one, sentence=s.Interval(amount(LONG_S, 0, "s"))) if isinstance(one.sentence, s.Interval) else one
        for one in line.children
        if one.sentence and not isinstance(one.sentence, s.Goal)
    )
    return replace(line, children=under)


def _throws(script: Script, place: int) -> bool:
    heads = [line for line in script.tree.lines if line.place and line.span.start <= place]
    return bool(heads) and isinstance(heads[-1].sentence, s.Session | s.Point)
