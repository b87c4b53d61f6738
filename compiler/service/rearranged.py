"""A ball of a script copied or taken out, as edits of its text."""

from ...grammar import syntax as s
from ...grammar.edits import Edit, changed, instead, name
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Line
from .blanks import BlankProblem
from .script import NameKind, Script, lines_of


def copied(script: Script, feed: str) -> tuple[Edit, ...]:
    """A feed below this one that is like it, under a name of its own; BlankProblem if the script has no such feed."""
    line, said = _made(script, feed)
    taken = {one.name for one in script.names}
    new = next(f"{feed}-{n}" for n in range(2, len(taken) + 3) if f"{feed}-{n}" not in taken)
    _, end = _rows(script, line)
    copy = text(s.Feed(name(new), said.aims, name(feed)))
    return (Edit(Span(script.source, end, end), f"\n\n{copy}"),)


def removed(script: Script, feed: str) -> tuple[Edit, ...]:
    """The feed taken out, with the blocks that play it alone, and out of those that play others too; BlankProblem if
    another ball is like it, or a point or ladder plays it."""
    line, _ = _made(script, feed)
    edits = [_without(script, line)]
    counted = 1
    for one in lines_of(script.tree):
        if not isinstance(said := one.sentence, s.Timed | s.Counted):
            continue
        order = said.order
        if isinstance(order, s.Share):
            if order.name.text == feed:
                edits.append(_without(script, one))
                counted += 1
            continue
        left = tuple(share for share in order.shares if share.name.text != feed)
        limits = tuple(limit for limit in order.limits if not limit.of or limit.of.text != feed)
        if len(left) == len(order.shares):
            continue
        counted += len(order.shares) - len(left) + len(order.limits) - len(limits)
        if not left:
            edits.append(_without(script, one))
        else:
            # Shares in percent no longer come to a hundred; as numbers they keep their proportion.
            left = tuple(changed(share, percent=None) for share in left)
            alone = changed(left[0], number=None)
            edits.append(instead(order, alone if len(left) == 1 else changed(order, shares=left, limits=limits)))
    named = sum(one.name == feed and one.kind is NameKind.FEED for one in script.names)
    if named > counted:
        raise BlankProblem(f"another line of the script speaks of {feed}: change that first")
    return tuple(edits)


def _made(script: Script, feed: str) -> tuple[Line, s.Feed]:
    found = next(((line, said) for line, said in script.tree.of(s.Feed) if said.name.text == feed), None)
    if found is None or not found[0].place:
        raise BlankProblem(f"the script makes no ball {feed}")
    return found


def _rows(script: Script, line: Line) -> tuple[int, int]:
    """From the beginning of a line's row to the end of the last one under it."""
    last = line
    while last.children:
        last = last.children[-1]
    end = script.source.text.find("\n", last.span.end)
    return script.source.text.rfind("\n", 0, line.span.start) + 1, len(script.source.text) if end < 0 else end


def _without(script: Script, line: Line) -> Edit:
    """The line gone with all under it, and with the empty row below it where one stands above it too."""
    whole = script.source.text
    start, end = _rows(script, line)
    end = min(end + 1, len(whole))
    if whole[end : end + 1] == "\n" and (not start or whole[:start].endswith("\n\n")):
        end += 1
    return Edit(Span(script.source, start, end), "")
