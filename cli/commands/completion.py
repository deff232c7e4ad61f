"""``thriftlay completion SHELL``: a script that completes commands, options and choices."""

from __future__ import annotations

import argparse
import shlex
from dataclasses import dataclass
from typing import Any

from ..arguments import new_command

__all__ = ["SHELLS", "add", "run", "script"]

SHELLS = ("bash", "zsh", "fish")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Option:
    """An option of a command: whether a value follows, and of which choices."""

    name: str
    about: str
    valued: bool
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Command:
    """A command, its options, and the choices of what stands without an option."""

    name: str
    about: str
    options: tuple[_Option, ...]
    choices: tuple[str, ...]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "completion",
        about="print a script for the shell that completes commands and options",
        example='eval "$(thriftlay completion bash)"',
    )
    parser.add_argument(
        "shell",
        choices=SHELLS,
        help="bash and zsh: write the example's line into .bashrc, or into .zshrc after compinit; "
        "fish: thriftlay completion fish | source",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the script."""
    from ..main import parser

    print(script(parser(), arguments.shell))
    return 0


def script(top: argparse.ArgumentParser, shell: str) -> str:
    """Return the script for a shell (bash, zsh or fish), made from the parsers themselves."""
    return {"bash": _bash, "zsh": _zsh, "fish": _fish}[shell](_commands(top))


def _commands(top: argparse.ArgumentParser) -> list[_Command]:
    held = next(a for a in top._actions if isinstance(a, argparse._SubParsersAction))
    about = {choice.dest: choice.help or "" for choice in held._choices_actions}
    found = []
    for name, parser in held.choices.items():
        loose = [a for a in parser._actions if not a.option_strings and a.choices]
        found.append(
            _Command(
                name=name,
                about=about[name],
                options=tuple(_options(parser)),
                choices=tuple(str(c) for a in loose for c in a.choices or ()),
            )
        )
    return found


def _options(parser: argparse.ArgumentParser) -> list[_Option]:
    return [
        _Option(
            name=action.option_strings[-1],
            about=(action.help or "").replace("%%", "%"),
            valued=action.nargs != 0,
            choices=tuple(str(choice) for choice in action.choices or ()),
        )
        for action in parser._actions
        if action.option_strings
    ]


def _bash(commands: list[_Command]) -> str:
    names = " ".join(command.name for command in commands)
    lines = [
        "_thriftlay() {",
        '  local word="${COMP_WORDS[COMP_CWORD]}" before="${COMP_WORDS[COMP_CWORD-1]}"',
        '  local options="" choices=""',
        "  COMPREPLY=()",
        "  if [ $COMP_CWORD -eq 1 ]; then",
        f'    COMPREPLY=($(compgen -W "{names} --version --help" -- "$word"))',
        "    return",
        "  fi",
        '  case "${COMP_WORDS[1]}" in',
    ]
    for command in commands:
        options = " ".join(option.name for option in command.options)
        choices = " ".join(command.choices)
        lines.append(f'    {command.name}) options="{options}"; choices="{choices}" ;;')
    lines += ["  esac", '  case "${COMP_WORDS[1]} $before" in']
    for command in commands:
        for option in command.options:
            if option.choices:
                words = " ".join(option.choices)
                lines.append(
                    f'    "{command.name} {option.name}") options=""; choices="{words}" ;;'
                )
    return "\n".join(
        [
            *lines,
            "  esac",
            '  if [ -n "$choices" ] && [[ "$word" != -* ]]; then',
            '    COMPREPLY=($(compgen -W "$choices" -- "$word"))',
            '  elif [[ "$word" == -* ]]; then',
            '    COMPREPLY=($(compgen -W "$options" -- "$word"))',
            "  else",
            '    COMPREPLY=($(compgen -f -- "$word"))',
            "  fi",
            "}",
            "complete -o filenames -F _thriftlay thriftlay",
        ]
    )


def _zsh(commands: list[_Command]) -> str:
    def said(text: str) -> str:
        for mark in "\\[]:":
            text = text.replace(mark, f"\\{mark}")
        return text

    described = [shlex.quote(f"{said(c.name)}:{said(c.about)}") for c in commands]
    lines = [
        "#compdef thriftlay",
        "_thriftlay() {",
        "  if (( CURRENT == 2 )); then",
        f"    local -a commands=({' '.join(described)})",
        "    _describe command commands",
        "    return",
        "  fi",
        "  local command=$words[2]",
        "  shift words; (( CURRENT-- ))",
        "  case $command in",
    ]
    for command in commands:
        given = [
            shlex.quote(
                f"*{option.name}[{said(option.about)}]"
                + (f":value:{_values(option.choices)}" if option.valued else "")
            )
            for option in command.options
        ]
        given.append(shlex.quote(f"*:what:{_values(command.choices)}"))
        lines.append(f"    {command.name}) _arguments {' '.join(given)} ;;")
    return "\n".join([*lines, "  esac", "}", "compdef _thriftlay thriftlay"])


def _values(choices: tuple[str, ...]) -> str:
    return f"({' '.join(choices)})" if choices else "_files"


def _fish(commands: list[_Command]) -> str:
    first = "__fish_use_subcommand"
    lines = [f"complete -c thriftlay -n {first} -l version -d 'the version'"]
    for command in commands:
        about = _fish_quoted(command.about)
        lines.append(f"complete -c thriftlay -f -n {first} -a {command.name} -d {about}")
        when = f"'__fish_seen_subcommand_from {command.name}'"
        for option in command.options:
            valued = " -r" if option.valued else ""
            choices = f" -f -a '{' '.join(option.choices)}'" if option.choices else ""
            lines.append(
                f"complete -c thriftlay -n {when} -l {option.name.lstrip('-')}"
                f"{valued}{choices} -d {_fish_quoted(option.about)}"
            )
        if command.choices:
            lines.append(f"complete -c thriftlay -f -n {when} -a '{' '.join(command.choices)}'")
    return "\n".join(lines)


def _fish_quoted(text: str) -> str:
    inner = text.replace("\\", "\\\\").replace("'", "\\'")
    return f"'{inner}'"
