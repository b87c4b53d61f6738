"""Which programs speak of something: by their names, comments, titles, variations and players."""

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from .shelf import opening

_OF_NO_USE = frozenset(("a", "an", "and", "at", "for", "from", "in", "of", "on", "or", "the", "to", "with"))
_NAME, _ABOUT, _SCRIPT, _COMMENT = 4, 3, 2, 1
"""Weights, the highest first: its name; what it is and for whom; titles, variations and settings; other comments."""
_SPEAKS = re.compile(r"\s*(?:program|variation|feed|session|when|note|player|court|surface|feeder|air)\b")


class Said(NamedTuple):
    weight: int
    text: str


def search(words: str, texts: Mapping[str, str]) -> dict[str, list[str]]:
    """Of programs by name, those that speak of all the words, the most relevant first, each with the lines that say it.

    First comes who says them in one breath, among those who says them side by side, then it counts where. As soon as
    one program says all in one breath, those that do not are left out.
    """
    asked = [_stems(word) for word in words.split() if word.lower() not in _OF_NO_USE]
    whole = [stem for phrase in asked for stem in phrase]
    ranked = []
    for name, text in texts.items():
        found = []
        for said in _said(name, text):
            stems = _stems(said.text)
            which = {i for i, phrase in enumerate(asked) if phrase and _holds(stems, phrase)}
            if which:
                found.append(((len(which), _holds(stems, whole), said.weight), said.text, which))
        if found and set().union(*(which for *_, which in found)) == set(range(len(asked))):
            found.sort(key=lambda line: line[0], reverse=True)
            best = found[0][0]
            lines = [line for (count, _, weight), line, _ in found if count == best[0] and weight < _NAME]
            ranked.append(((*best, len(lines)), name, lines))
    ranked.sort(key=lambda program: program[0], reverse=True)  # where nothing tells two apart, in order of names
    least = len(asked) if ranked and ranked[0][0][0] == len(asked) else 0
    return {name: lines for rank, name, lines in ranked if rank[0] >= least}


def _said(name: str, text: str) -> Iterator[Said]:
    yield Said(_NAME, name)
    for number, sentence in enumerate(opening(text)):
        yield Said(_ABOUT if not number or sentence.startswith(("For ", "Level:")) else _COMMENT, sentence)
    for line in re.sub(r"\A(?:#[^\n]*\n)*", "", text).splitlines():
        code, _, comment = line.partition("#") if '"' not in line else (line, "", "")
        if comment.strip(" -"):
            yield Said(_COMMENT, comment.strip(" -"))
        if _SPEAKS.match(code):
            yield Said(_SCRIPT, code.strip())


def _stems(text: str) -> list[str]:
    return [_SAME.get(stem, stem) for stem in map(_stem, re.findall(r"[^\W_]+", text.lower()))]


def _stem(word: str) -> str:
    """Without the common endings, and a doubled last letter once: balls as ball, hitting as hit, hander as handed."""
    bare = re.sub(r"(?<=\w{3})(?:ing|ers?|(?<!e)ed|es|s|e)$", "", re.sub(r"ies$", "y", word))
    return re.sub(r"(.)\1$", r"\1", bare)


_SAME = {
    _stem(word): _stem(other)
    for other, words in {
        "child": ("kid", "children", "junior"), "backspin": ("slice",), "overhead": ("smash",), "hall": ("indoor",),
    }.items()
    for word in words
}  # fmt: skip
"""Words that coaches take for the same; common practice, no source."""


def _holds(said: list[str], phrase: list[str]) -> bool:
    """Whether the stems of one asked word, more than one where it has a hyphen, follow each other in what is said."""
    size = len(phrase)
    return any(
        all(map(_alike, said[i : i + size], phrase))  # a word may go on, as wheel does in wheelchair
        for i in range(len(said) - size + 1)
    )


def _alike(said: str, asked: str) -> bool:
    return said.startswith(asked) if len(asked) >= 5 else said == asked
