"""A ball of a script copied, mirrored or taken out, a block of its session moved or taken out: edits of its text."""

from ...grammar import syntax as s
from ...grammar.edits import Edit, changed, filled, instead, name
from ...grammar.format import canonical
from ...grammar.source import Span
from ...grammar.syntax import Line, Node, Sentence, Tree, Word, keyword
from .blanks import BlankProblem, last_of
from .script import NameKind, Script, lines_of


def all_mirrored(script: Script, feeds: tuple[str, ...]) -> tuple[tuple[Edit, ...], dict[str, str]]:
    """Feeds below the last one that are like these and come to the other side, with their sidespin the other way, and
    by feed what its mirror is called: one without a side to change has none. BlankProblem if the script lacks one, or
    if none has a side to change."""
    taken, called, copies = {one.name for one in script.names}, {}, []
    for feed in feeds:
        _, said = made_line(script, feed)
        old = [one for kind in (s.Side, s.Spin) if (one := _said(script, feed, kind))]
        old = [] if _said(script, feed, s.Same) else old  # the other feed says to which side it comes
        lines = tuple(new for one in old if (new := filled(one, _other_way)) != one)
        if any(isinstance(one, s.Side) for one in lines):
            names = (_other_name(feed), f"{feed}-other", *(f"{feed}-other-{n}" for n in range(2, len(taken) + 3)))
            called[feed] = next(new for new in names if new not in taken)
            taken.add(called[feed])
            head = s.Feed(name(called[feed]), said.aims, said.name)
            copies.append(canonical(Tree((Line(head, tuple(Line(one) for one in lines)),))) or "")
    if not called:
        raise BlankProblem(f"{' and '.join(feeds)} has no line that says left, right, forehand or backhand")
    last = last_of(script, s.Feed) or script.tree.lines[-1]  # balls stand as they are added
    _, end = rows_of(script, last)
    return (Edit(Span(script.source, end, end), "".join(f"\n\n{copy.rstrip()}" for copy in copies)),), called


_OTHER = {"left": "right", "right": "left", "forehand": "backhand", "backhand": "forehand"}
_PAIRS = {"TO_THE_LEFT": "TO_THE_RIGHT", "TO_FOREHAND_SIDE": "TO_BACKHAND_SIDE"}
_WAYS = _PAIRS | {other: way for way, other in _PAIRS.items()}


def _other_name(feed: str) -> str:
    """Its name with the other hand, where it names one: it is the name itself where it does not."""
    hands = _OTHER | {"fore": "back", "back": "fore"}
    return "-".join(hands.get(part, part) for part in feed.split("-"))


def _other_way(node: Node) -> Node:
    if not isinstance(node, Word):
        return node
    if node.kind in _WAYS:
        return keyword(_WAYS[node.kind])
    return changed(node, text=_OTHER[node.text]) if node.text in _OTHER else node


def _said(script: Script, feed: str, kind: type[Sentence]) -> Sentence | None:
    """What a feed says of this kind, or else the one that it is like."""
    feeds = {said.name.text: (line, said) for tree in (*script.used, script.tree) for line, said in tree.of(s.Feed)}
    seen: set[str] = set()
    each: str | None = feed
    while each in feeds and each not in seen:
        seen.add(each)
        line, said = feeds[each]
        if own := next((one.sentence for one in line.children if isinstance(one.sentence, kind)), None):
            return own
        each = said.like.text if said.like else None
    return None


def block_moved(script: Script, row: int, by: int) -> tuple[Edit, ...]:
    """The block of the session in this row, from 0, with what is under it, in front of the one before it (`by` -1) or
    behind the next (1), where a rest between them stays between them; BlankProblem if there is none."""
    beside, block = block_at(script, row)
    at = next(n for n, one in enumerate(beside) if one is block)
    there = [n for n in range(len(beside)) if (n - at) * by > 0]
    if not there:
        raise BlankProblem("no block of the session stands there")
    near = sorted(there, key=lambda n: abs(n - at))
    to = next((n for n in near if not _rests(beside[n])), near[0]) if not _rests(block) else near[0]
    first, second = (beside[n] for n in sorted((at, to)))
    (start, middle), (after, end) = rows_of(script, first), rows_of(script, second)
    # Only its neighbour's text moves, so that a cursor in the block stays there.
    whole, source = script.source.text, script.source
    if by < 0:
        return Edit(Span(source, start, after), ""), Edit(
            Span(source, end, end), whole[middle:after] + whole[start:middle]
        )
    return Edit(Span(source, start, start), whole[after:end] + whole[middle:after]), Edit(Span(source, middle, end), "")


def block_removed(script: Script, row: int) -> tuple[Edit, ...]:
    """The block of the session in this row, from 0, gone with what is under it and with a rest that nothing needs any
    more."""
    return _gone(script, block_at(script, row)[1])


def _gone(script: Script, block: Line) -> tuple[Edit, ...]:
    """A block taken out with the rest in front of it, where another one follows or it was the last, or with the rest
    behind it where it was the first."""
    heads = (line.children for line in lines_of(script.tree))
    beside = next((lines for lines in heads if any(one is block for one in lines)), (block,))
    at = next(n for n, one in enumerate(beside) if one is block)
    before, after = (beside[n] if 0 <= n < len(beside) else None for n in (at - 1, at + 1))
    if isinstance(block.sentence, s.Rest):
        return (without(script, block),)
    if before and _rests(before) and (not after or _rests(after)):
        return without(script, before), without(script, block)
    if after and _rests(after) and not before:
        return without(script, block), without(script, after)
    return (without(script, block),)


def _rests(line: Line) -> bool:
    return isinstance(line.sentence, s.Rest)


def block_at(script: Script, row: int) -> tuple[tuple[Line, ...], Line]:
    """The block in a row, and those that it stands among: of its session or of its rounds."""
    heads = [line for line, _ in script.tree.of(s.Session)]
    heads += [one for head in heads for one in lines_of(Tree((head,))) if isinstance(one.sentence, s.Rounds)]
    found = [
        (head.children, line)
        for head in heads
        for line in head.children
        if line.place and line.sentence and script.source.line_of(line.span.start)[0] == row + 1
    ]
    if not found:
        raise BlankProblem("put the cursor on a block of the session")
    return found[0]


def removed(script: Script, feed: str) -> tuple[Edit, ...]:
    """The feed taken out, with the blocks that play it alone, and out of those that play others too; BlankProblem if
    another ball is like it, or a point or ladder plays it."""
    line, _ = made_line(script, feed)
    edits = [without(script, line)]
    counted = 1
    for one in lines_of(script.tree):
        if not isinstance(said := one.sentence, s.Timed | s.Counted):
            continue
        order = said.order
        if isinstance(order, s.Share):
            if order.name.text == feed:
                edits += _gone(script, one)
                counted += 1
            continue
        left = tuple(share for share in order.shares if share.name.text != feed)
        limits = tuple(limit for limit in order.limits if not limit.of or limit.of.text != feed)
        if len(left) == len(order.shares):
            continue
        counted += len(order.shares) - len(left) + len(order.limits) - len(limits)
        if not left:
            edits += _gone(script, one)
        else:
            # Shares in percent no longer come to a hundred; as numbers they keep their proportion.
            left = tuple(changed(share, percent=None) for share in left)
            alone = changed(left[0], number=None)
            edits.append(instead(order, alone if len(left) == 1 else changed(order, shares=left, limits=limits)))
    named = sum(one.name == feed and one.kind is NameKind.FEED for one in script.names)
    if named > counted:
        raise BlankProblem(f"another line of the script speaks of {feed}: change that first")
    return tuple(edit for n, edit in enumerate(edits) if edit not in edits[:n])  # two blocks may share a rest


def made_line(script: Script, feed: str) -> tuple[Line, s.Feed]:
    found = next(((line, said) for line, said in script.tree.of(s.Feed) if said.name.text == feed), None)
    if found is None or not found[0].place:
        raise BlankProblem(f"the script makes no ball {feed}")
    return found


def rows_of(script: Script, line: Line) -> tuple[int, int]:
    """From the beginning of a line's row to the end of the last one under it."""
    last = line
    while last.children:
        last = last.children[-1]
    end = script.source.text.find("\n", last.span.end)
    return script.source.text.rfind("\n", 0, line.span.start) + 1, len(script.source.text) if end < 0 else end


def without(script: Script, line: Line) -> Edit:
    """The line gone with all under it, and with the empty row below it where one stands above it too."""
    whole = script.source.text
    start, end = rows_of(script, line)
    end = min(end + 1, len(whole))
    if whole[end : end + 1] == "\n" and (not start or whole[:start].endswith("\n\n")):
        end += 1
    return Edit(Span(script.source, start, end), "")
