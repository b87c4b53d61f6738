"""How to talk to a machine: frames of the line protocol, its rules, templates for other commands.

PROTOCOL.md beside this file is the whole protocol, for people who write a machine's firmware.
"""
