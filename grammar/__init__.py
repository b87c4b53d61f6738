"""The feed language as text: grammar, words for people, likely mistakes."""

from pathlib import Path

FOLDER = Path(__file__).parent
