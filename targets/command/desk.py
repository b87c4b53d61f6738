"""`desk`: a script and its balls side by side in the browser."""

import argparse
import sys
from pathlib import Path

from ...compiler.printable import say
from ...compiler.scripts import Refusal, decoded, read_bytes
from . import CLEAN, Commands, command


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "desk",
        "write a script in the browser, with its balls drawn beside it",
        (
            ("feedwright desk", "a first practice, as practice.feed in this folder once it is saved"),
            ("feedwright desk tuesday.feed", "this script; a new one if there is no file of this name"),
            ("feedwright desk tuesday.feed --shortcut", "write a file that opens this desk at one click"),
        ),
    )
    parser.add_argument("file", metavar="FILE", nargs="?", help="the script to write; the desk changes no other file")
    parser.add_argument("--port", type=int, default=0, metavar="N", help="port on this computer (default: a free one)")
    parser.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    parser.add_argument("--shortcut", metavar="FOLDER", nargs="?", const="",
                        help="write a file that opens this desk at one click, in FOLDER; without FOLDER on the "
                             "desktop, or beside the script if there is none")  # fmt: skip
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    import asyncio

    from ... import __version__

    try:
        from ..desk.script_file import free_name
        from ..desk.serving import DeskServer
    except ImportError as error:
        raise Refusal(f"desk needs packages more: pip install 'feedwright[editor]' ({error})") from error

    path = Path(options.file).resolve() if options.file else Path.cwd() / free_name(Path.cwd())
    if path.suffix != ".feed":
        raise Refusal(f"{options.file} does not end in .feed, as the name of a script does")
    if not path.parent.is_dir():
        raise Refusal(f"there is no folder {path.parent}")
    if path.exists():
        decoded(path.name, read_bytes(str(path)))

    if options.shortcut is not None:
        return _shortcut(path, options.shortcut)

    def ready(address: str) -> None:
        say(f"The desk for {path.name} is at {address}")
        say("It is for this computer alone; Ctrl-C ends it.")
        sys.stdout.flush()
        if not options.no_browser:
            import webbrowser

            if not webbrowser.open(address):
                say("No browser could be opened; open the address in one.", sys.stderr)

    async def served() -> None:
        desk = DeskServer(path.parent, path.name, __version__, unnamed=not options.file)
        await desk.run(options.port, ready, asyncio.Event())

    try:
        asyncio.run(served())
    except (OSError, OverflowError) as error:
        raise Refusal(f"cannot serve on port {options.port}: {error}") from error
    except KeyboardInterrupt:
        say("The desk has ended.")
    return CLEAN


def _shortcut(script: Path, folder: str) -> int:
    from ..desk.shortcut import entry, written

    try:
        desktop = Path.home() / "Desktop"
    except RuntimeError:  # no home folder
        desktop = script.parent
    place = Path(folder) if folder else desktop if desktop.is_dir() else script.parent
    made = written(entry(sys.platform, sys.executable, script), place)
    say(f"wrote {made}")
    say("A click on it opens the desk. Some systems ask once whether it may be started.")
    return CLEAN
