"""Script text and places in it."""

from collections.abc import Mapping

from .frozen import Frozen


class Source(Frozen):
    """One script: the name it is called by in messages, and its text with line ends as LF."""

    name: str
    text: str

    @property
    def sha256(self) -> str:
        import hashlib  # only plans need it, and it loads slowly

        return hashlib.sha256(self.text.encode()).hexdigest()

    def line_of(self, offset: int) -> tuple[int, int, str]:
        """Line number and column, both from one, and the whole line in which `offset` lies."""
        start = self.text.rfind("\n", 0, offset) + 1
        end = self.text.find("\n", start)
        return self.text.count("\n", 0, start) + 1, offset - start + 1, self.text[start : end if end >= 0 else None]


class ScriptRow(Source):
    """A row of a script, which goes by the script's name. What stands in it keeps its place while other rows change."""

    head: str
    """The row at the margin under which it stands."""
    number: int
    """How many rows of this text stand before it there, and in what begins with the same head."""

    def __hash__(self) -> int:  # asked for each place
        return hash((self.text, self.head, self.number))


class Span(Frozen):
    """The half-open range of characters [start, end) of a source. Nodes keep it out of their equality."""

    source: Source
    start: int
    end: int

    def __init__(self, source: Source, start: int, end: int) -> None:  # a script has thousands; this is much faster
        places = self.__dict__
        places["source"], places["start"], places["end"] = source, start, end

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.end]

    def to(self, other: "Span") -> "Span":
        return Span(self.source, min(self.start, other.start), max(self.end, other.end))


class Rows(Frozen):
    """Where the rows of a script begin."""

    source: Source
    starts: Mapping[Source, int] = {}

    def place(self, span: Span) -> Span:
        """A place in a row as one in the script; any other as it is."""
        start = self.starts.get(span.source)
        return span if start is None else Span(self.source, start + span.start, start + span.end)

    def within(self, span: Span) -> Span:
        """A place in the script as one in a row; as it is where no row has it."""
        if span.source is self.source:
            for row, start in self.starts.items():
                if start <= span.start and span.end <= start + len(row.text):
                    return Span(row, span.start - start, span.end - start)
        return span
