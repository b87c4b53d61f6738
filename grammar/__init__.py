"""The feed language as text: grammar, words for people, likely slips."""

from pathlib import Path

FOLDER = Path(__file__).parent
