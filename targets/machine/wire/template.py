"""Lines for a machine with commands of its own, filled by looking up a fixed set of names."""

from collections.abc import Mapping

from ....compiler.model.command import Template, pieces


class CannotSay(ValueError):
    """A ball that the machine's lines cannot express. The compiler refuses such a ball, so this never happens."""


def fill(template: Template, text: str, settings: Mapping[str, float]) -> bytes:
    """One of the template's lines with its ending, exactly as it is sent; `settings` in the profile's own units."""
    if odd := template.inexpressible(settings):
        raise CannotSay(f"this machine has no command for {odd[0]} {odd[1]:g}")
    line = "".join(
        template.fields[name].written(settings[name]) or "" if name else plain for name, plain in pieces(text)
    )
    return line.encode("ascii") + template.end
