"""Which programs speak of something: what they are called, what their comments say, their titles, jobs and players."""

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from .shelf import opening

_OF_NO_USE = frozenset(("a", "an", "and", "at", "for", "from", "in", "of", "on", "or", "the", "to", "with"))
_SAME = {"kid": "child", "children": "child", "junior": "child", "slic": "backspin"}
"""Stems of words that coaches take for the same; common practice, no source."""
_HEADS = re.compile(r"\s*(?:program|variation|feed|session|when|note)\b")
_SETTING = re.compile(r"\s*(?:player|court|surface|feeder)\b")


class Said(NamedTuple):
    weight: int
    text: str


def search(words: str, texts: Mapping[str, str]) -> dict[str, list[str]]:
    """Of programs by name, those that speak of all the words, the most relevant first, and the lines that hold them.

    A program that says them in one breath counts before one that says them apart, and then where it says so: in its
    name, in its opening comment, in titles and jobs, in how it is set up. Where one says all of it in one breath, those
    that do not are left out.
    """
    asked = [_stems(word) for word in words.split() if word.lower() not in _OF_NO_USE]
    ranked = []
    for name, text in texts.items():
        held = []
        for said in _said(name, text):
            stems = _stems(said.text)
            which = {i for i, phrase in enumerate(asked) if phrase and _holds(stems, phrase)}
            if which:
                held.append((len(which), said.weight, said.text, which))
        if held and set().union(*(which for *_, which in held)) == set(range(len(asked))):
            held.sort(key=lambda line: line[:2], reverse=True)
            rank = (*held[0][:2], sum(line[0] == held[0][0] for line in held))
            ranked.append((rank, name, [line for _, weight, line, _ in held if weight < _NAME]))
    ranked.sort(
        key=lambda program: program[0], reverse=True
    )  # stable: in order of names where nothing tells them apart
    least = len(asked) if ranked and ranked[0][0][0] == len(asked) else 0
    return {name: lines for rank, name, lines in ranked if rank[0] >= least}


_NAME, _OPENING, _TITLE, _SET = 4, 3, 2, 1


def _said(name: str, text: str) -> Iterator[Said]:
    yield Said(_NAME, name)
    for sentence in opening(text):
        if "Brackenmoor" not in sentence:  # where all of them are set
            yield Said(_OPENING, sentence)
    for line in re.sub(r"\A(?:#[^\n]*\n)*", "", text).splitlines():
        code, _, comment = line.partition("#") if '"' not in line else (line, "", "")
        if comment.strip(" -"):
            yield Said(_TITLE, comment.strip(" -"))
        if _HEADS.match(code):
            yield Said(_TITLE, code.strip())
        elif _SETTING.match(code):
            yield Said(_SET, code.strip())


def _stems(text: str) -> list[str]:
    return [_SAME.get(stem, stem) for stem in map(_stem, re.findall(r"[^\W_]+", text.lower()))]


def _stem(word: str) -> str:
    """Without the common endings, and a doubled last letter once: balls as ball, hitting as hit, hander as handed."""
    bare = re.sub(r"(?<=\w{3})(?:ing|ers?|(?<!e)ed|es|s|e)$", "", re.sub(r"ies$", "y", word))
    return re.sub(r"(.)\1$", r"\1", bare)


def _holds(said: list[str], phrase: list[str]) -> bool:
    """Whether the stems of one asked word, more than one where it has a hyphen, follow each other in what is said."""
    size = len(phrase)
    return any(
        all(map(_alike, said[i : i + size], phrase))  # a word may go on, as wheel does in wheelchair
        for i in range(len(said) - size + 1)
    )


def _alike(said: str, asked: str) -> bool:
    return said.startswith(asked) if len(asked) >= 5 else said == asked
