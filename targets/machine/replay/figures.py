"""Giant figures and words to read from three metres: five lines of blocks, or three if there is little room."""

_BLOCK = "█"
_FIGURES = {
    "0": "███|█ █|█ █|█ █|███", "1": "  █|  █|  █|  █|  █", "2": "███|  █|███|█  |███", "3": "███|  █|███|  █|███",
    "4": "█ █|█ █|███|  █|  █", "5": "███|█  |███|  █|███", "6": "███|█  |███|█ █|███", "7": "███|  █|  █|  █|  █",
    "8": "███|█ █|███|█ █|███", "9": "███|█ █|███|  █|███",
    "A": " ██ |█  █|████|█  █|█  █", "B": "███ |█  █|███ |█  █|███ ", "C": "███|█  |█  |█  |███",
    "D": "███ |█  █|█  █|█  █|███ ", "E": "███|█  |██ |█  |███", "F": "███|█  |██ |█  |█  ",
    "G": "████|█   |█ ██|█  █|████", "H": "█  █|█  █|████|█  █|█  █", "I": "█|█|█|█|█", "J": "  █|  █|  █|█ █|███",
    "K": "█  █|█ █ |██  |█ █ |█  █", "L": "█  |█  |█  |█  |███", "M": "█   █|██ ██|█ █ █|█   █|█   █",
    "N": "█  █|██ █|█ ██|█  █|█  █", "O": "████|█  █|█  █|█  █|████", "P": "████|█  █|████|█   |█   ",
    "Q": "████|█  █|█  █|████|   █", "R": "███ |█  █|███ |█ █ |█  █", "S": " ███|█   | ██ |   █|███ ",
    "T": "███| █ | █ | █ | █ ", "U": "█  █|█  █|█  █|█  █|████", "V": "█   █|█   █| █ █ | █ █ |  █  ",
    "W": "█   █|█   █|█ █ █|██ ██|█   █", "X": "█ █|█ █| █ |█ █|█ █", "Y": "█ █|█ █| █ | █ | █ ",
    "Z": "████|  █ | █  |█   |████", ":": " |█| |█| ", "-": "  |  |██|  |  ", " ": "  |  |  |  |  ",
}  # fmt: skip
_HALVES = {"  ": " ", "█ ": "▀", " █": "▄", "██": "█"}


def can_draw(text: str) -> bool:
    return set(text) <= _FIGURES.keys()


def giant(text: str | int, wide: int = 2) -> list[str]:
    """Five lines of one width, each character `wide` times its drawn width; characters without a drawing are left
    out."""
    parts = [_FIGURES[sign].split("|") for sign in str(text) if sign in _FIGURES]
    return [(" " * wide).join("".join(c * wide for c in row[n]) for row in parts) for n in range(5)]


def half(text: str) -> list[str]:
    """Three lines, with two dots of a column in one character."""
    rows = [*giant(text, 1), ""]
    rows[5] = " " * len(rows[0])
    return ["".join(_HALVES[a + b] for a, b in zip(rows[n], rows[n + 1], strict=True)) for n in (0, 2, 4)]


def fitted(words: tuple[str, ...], width: int, height: int, ascii_only: bool, first_alone: bool) -> list[str]:
    """The words as large as the room allows, one below the other or side by side; empty if even the smallest size
    does not fit. `first_alone`: the first words make sense without the rest."""
    if not words:
        return []
    side_by_side = ("  ".join(words),)
    tries = [(words, 2), (words, 1), (side_by_side, 2), (side_by_side, 1)]
    tries += [(words, 0), (side_by_side, 0)] * (not ascii_only)
    if first_alone:
        tries += [(words[:n], wide) for n in range(len(words) - 1, 0, -1) for wide in (2, 1)]
    for lines, wide in tries:
        for gap in ([""], []):
            rows: list[str] = []
            for text in lines:
                rows += gap * bool(rows) + (giant(text, wide) if wide else half(text))
            if rows and len(rows) <= height and max(map(len, rows)) <= width:
                return [row.replace(_BLOCK, "#") for row in rows] if ascii_only else rows
    return []
