"""The parser's tables are those of the grammar: building them anew at each start would cost a tenth of a second."""

import subprocess
import sys
from pathlib import Path

import lark
import pytest
from lark.grammar import Rule
from lark.lexer import TerminalDef

from feedwright.grammar import tables
from feedwright.grammar.parse import built, fingerprint, grammar_text

PROGRAMS = sorted((Path(__file__).parent.parent / "programs").glob("*.feed"))
FILE = Path(__file__).parent.parent / "grammar" / "tables.py"


def test_the_tables_are_those_of_the_grammar(pytestconfig: pytest.Config) -> None:
    found = fingerprint(grammar_text())
    if pytestconfig.getoption("--update"):
        data, memo = built(grammar_text()).memo_serialize([TerminalDef, Rule])
        FILE.write_text(
            f'"""The tables of feed.lark, written by tests/test_grammar_tables.py --update."""\n\n'
            f"GRAMMAR = {found!r}\nLARK = {lark.__version__!r}\nDATA = {data!r}\nMEMO = {memo!r}\n",
            "utf-8",
        )
        subprocess.run([sys.executable, "-c", "from feedwright.grammar import tables"], check=True)
        return
    assert found == tables.GRAMMAR, "to make them anew: pytest tests/test_grammar_tables.py --update"


@pytest.mark.skipif(lark.__version__ != tables.LARK, reason="another lark builds its own tables at each start")
def test_both_parsers_read_alike() -> None:
    from lark import Lark

    loaded, fresh = Lark._load_from_dict(tables.DATA, tables.MEMO), built(grammar_text())
    for path in PROGRAMS:
        for line in path.read_text("utf-8").splitlines():
            sentence = line.partition("#")[0].strip()
            if sentence:
                assert loaded.parse(sentence) == fresh.parse(sentence)
