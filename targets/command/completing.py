"""`completion`: a script with which bash, zsh or fish completes commands, options, scripts, codes and profiles."""

import argparse
import sys
from collections.abc import Callable
from typing import NamedTuple

from . import CLEAN, Commands, Parser, command

PROGRAM = "feedwright"


class CommandOption(NamedTuple):
    names: tuple[str, ...]
    words: tuple[str, ...]
    """The words that may follow; one empty word if the value cannot be listed; none for a switch."""
    folder: bool
    help: str


class Command(NamedTuple):
    name: str
    help: str
    options: tuple[CommandOption, ...]
    words: tuple[str, ...]
    """The words that may stand in place of an option."""
    scripts: bool
    """Whether a script's file may stand there."""


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "completion",
        "print a script that makes a shell complete commands",
        (
            ('eval "$(feedwright completion bash)"', "in ~/.bashrc"),
            ('eval "$(feedwright completion zsh)"', "in ~/.zshrc, after compinit"),
            ("feedwright completion fish | source", "in ~/.config/fish/config.fish"),
        ),
    )
    parser.add_argument("shell", metavar="SHELL", choices=tuple(SHELLS), help="bash, zsh or fish")
    parser.set_defaults(run=lambda options: run(options, commands))


def run(options: argparse.Namespace, commands: Commands) -> int:
    described = [_described(name, parser, commands) for name, parser in commands.choices.items()]
    sys.stdout.write(SHELLS[options.shell](described))
    return CLEAN


def _described(name: str, parser: Parser, commands: Commands) -> Command:
    options, scripts = [], False
    words: tuple[str, ...] = ()
    for action in parser._actions:
        listed = _words(action)
        if action.option_strings:
            follows = () if action.nargs == 0 else listed or ("",)
            options.append(
                CommandOption(tuple(action.option_strings), follows, action.metavar == "DIR", action.help or "")
            )
        else:
            words += listed
            scripts |= action.metavar == "FILE"
    helps = {action.dest: action.help or "" for action in commands._choices_actions}
    return Command(name, helps.get(name, ""), tuple(options), words, scripts)


def _words(action: argparse.Action) -> tuple[str, ...]:
    if action.choices:
        return tuple(str(choice) for choice in action.choices)
    if action.metavar == "CODE":
        from ...compiler.findings import MESSAGES

        return tuple(MESSAGES)
    from ...compiler.starter import HANDS, MACHINES, PERSONS, VARIATIONS
    from ...programs.shelf import shelf

    kept = shelf()
    programs = tuple(entry["name"] for entry in kept["programs"])
    if action.dest == "names":
        return programs + tuple(entry["name"] for entry in kept["profiles"])
    known = {"--feeder": sorted((*MACHINES, *PERSONS)), "--hand": HANDS, "--variation": tuple(VARIATIONS),
             "--from": programs}  # fmt: skip
    return next((tuple(words) for option, words in known.items() if option in action.option_strings), ())


def _bash(commands: list[Command]) -> str:
    """Also run by zsh: the words for the cursor, from the word before it or else from the command."""
    lines = [
        "# What may come next: words, flags and kind of files, from the command and the word before the cursor.",
        "_feedwright_next() {",
        "    words= flags= files=",
        '    case "$1" in',
    ]
    for entry in commands:
        lines.append(f"        {entry.name})")
        follows = [option for option in entry.options if option.words]
        if follows:
            lines.append('            case "$2" in')
        for option in follows:
            words, kind = " ".join(option.words).strip(), "dir" * option.folder
            lines.append(f'            {"|".join(option.names)}) words="{words}"; files={kind}; return;;')
        if follows:
            lines.append("            esac")
        flags = " ".join(name for option in entry.options for name in option.names)
        lines.append(f'            words="{" ".join(entry.words)}"; flags="{flags}"; files={"feed" * entry.scripts};;')
    names = " ".join(entry.name for entry in commands)
    return "\n".join([*lines, f'        *) words="{names}"; flags="-h --help";;', "    esac", "}", ""])


def _for_bash(commands: list[Command]) -> str:
    return _bash(commands) + (
        "_feedwright() {\n"
        "    local words flags files command= cursor=${COMP_WORDS[COMP_CWORD]}\n"
        "    (( COMP_CWORD > 1 )) && command=${COMP_WORDS[1]}\n"
        '    _feedwright_next "$command" "${COMP_WORDS[COMP_CWORD-1]}"\n'
        "    [[ $cursor == -* ]] && words=$flags files=\n"
        "    local IFS=$'\\n'\n"
        '    COMPREPLY=( $(IFS=" "; compgen -W "$words" -- "$cursor") )\n'
        "    [[ $files == feed ]] &&\n"
        '        COMPREPLY+=( $(compgen -f -X "!*.feed" -- "$cursor"; compgen -S / -d -- "$cursor") )\n'
        '    [[ $files == dir ]] && COMPREPLY=( $(compgen -S / -d -- "$cursor") )\n'
        "    [[ ${#COMPREPLY[@]} == 1 && $COMPREPLY == */ ]] && compopt -o nospace 2>/dev/null\n"
        "    return 0\n"
        "}\n"
        f"complete -o filenames -F _feedwright {PROGRAM}\n"
    )


def _for_zsh(commands: list[Command]) -> str:
    # The array that zsh calls words is read before the name is used for the answer.
    return _bash(commands).replace("words", "answers") + (
        "_feedwright() {\n"
        "    local answers flags files command=\n"
        "    (( CURRENT > 2 )) && command=${words[2]}\n"
        '    _feedwright_next "$command" "${words[CURRENT-1]}"\n'
        "    if [[ ${words[CURRENT]} == -* ]]; then compadd -- ${=flags}; return; fi\n"
        "    [[ -n $answers ]] && compadd -- ${=answers}\n"
        "    [[ $files == feed ]] && _files -g '*.feed'\n"
        "    [[ $files == dir ]] && _files -/\n"
        "    return 0\n"
        "}\n"
        f"compdef _feedwright {PROGRAM}\n"
    )


_FISH_FILES = r"(__fish_complete_path (commandline -ct) | string match -r '^[^\t]*(?:\.feed|/)(?:\t.*)?$')"


def _for_fish(commands: list[Command]) -> str:
    lines = [f"complete -c {PROGRAM} -f"]
    none, folders = "__fish_use_subcommand", "(__fish_complete_directories)"
    for entry in commands:
        lines.append(f"complete -c {PROGRAM} -n {none} -a {entry.name} -d {_quoted(entry.help)}")
    for entry in commands:
        here = f"complete -c {PROGRAM} -n '__fish_seen_subcommand_from {entry.name}'"
        if entry.words:
            lines.append(f"{here} -a {_quoted(' '.join(entry.words))}")
        if entry.scripts:
            lines.append(f"{here} -a {_quoted(_FISH_FILES)}")
        for option in entry.options:
            names = " ".join(f"-l {n[2:]}" if n.startswith("--") else f"-s {n[1:]}" for n in option.names)
            follows = (
                f" -x -a {_quoted(' '.join(option.words).strip() or folders * option.folder)}" if option.words else ""
            )
            lines.append(f"{here} {names}{follows} -d {_quoted(option.help)}")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


SHELLS: dict[str, Callable[[list[Command]], str]] = {"bash": _for_bash, "zsh": _for_zsh, "fish": _for_fish}
