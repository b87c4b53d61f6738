"""How much is tried of what takes long: a share with every run of the suite, all of it with FEEDWRIGHT_WHOLE=1."""

import os

WHOLE = "FEEDWRIGHT_WHOLE" in os.environ
