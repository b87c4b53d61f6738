"""How much is tried of what takes long: a share with every run of the suite, all of it with FEEDWRIGHT_WHOLE=1."""

import os

WHOLE = "FEEDWRIGHT_WHOLE" in os.environ


def share(examples: int) -> int:
    """So many of the examples that are drawn for a law; each run draws others."""
    return examples if WHOLE else examples // 8
