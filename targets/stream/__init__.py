"""Everything that knows how a machine is spoken to: the line protocol, the command file, templates for other commands.

PROTOCOL.md beside this file is the whole protocol for whoever writes a machine's firmware.
"""

from ...compiler.model.device import scaled
from .text import render

__all__ = ["render", "scaled"]
