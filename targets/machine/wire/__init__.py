"""How a machine is spoken to: frames of the line protocol, its rules, templates for other commands.

PROTOCOL.md beside this file is the whole protocol for whoever writes a machine's firmware.
"""
