"""The feed language as text: grammar, words for people, likely slips."""
