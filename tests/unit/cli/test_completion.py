"""Completion, tried in the shells themselves: what stands on the line after the tab key."""

from __future__ import annotations

import os
import pty
import re
import select
import shutil
import subprocess
import time
from pathlib import Path

import pytest
from thriftlay.commands.completion import SHELLS, script
from thriftlay.main import COMMANDS, parser

TYPED = [
    ("thriftlay la", "thriftlay lay"),
    ("thriftlay lay --onl", "thriftlay lay --only"),
    ("thriftlay lay job.toml --wri", "thriftlay lay job.toml --write"),
    ("thriftlay print p.json --paper lett", "thriftlay print p.json --paper letter"),
    ("thriftlay completion z", "thriftlay completion zsh"),
    ("thriftlay lay hand", "thriftlay lay handbag.toml"),
    ("thriftlay order handbag.toml --stock she", "thriftlay order handbag.toml --stock shelf.toml"),
]


def program(shell: str) -> str:
    """Return the shell's path; a missing one is told, and a failure where all are installed."""
    found = shutil.which(shell)
    if found is None:
        said = (
            f"{shell} is not on this machine: its completion is NOT TRIED (apt-get install {shell})"
        )
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    return found


def options(command: str) -> list[str]:
    top = parser()
    held = next(action for action in top._actions if action.dest == "command")
    assert isinstance(held.choices, dict)
    return [name for a in held.choices[command]._actions for name in a.option_strings]


@pytest.mark.parametrize("shell", SHELLS)
def test_a_script_knows_every_command_and_option(shell: str) -> None:
    text = script(parser(), shell)
    for command in COMMANDS:
        assert command in text
        for option in options(command):
            assert option.lstrip("-") in text, (shell, command, option)


@pytest.mark.parametrize("shell", SHELLS)
def test_the_shell_takes_its_script(shell: str) -> None:
    check = subprocess.run(
        [program(shell), "-n"],
        input=script(parser(), shell),
        text=True,
        capture_output=True,
        check=False,
    )
    assert (check.returncode, check.stderr) == (0, "")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with two files to complete, and the scripts."""
    (tmp_path / "handbag.toml").touch()
    (tmp_path / "shelf.toml").touch()
    for shell in SHELLS:
        (tmp_path / f"complete.{shell}").write_text(script(parser(), shell))
    return tmp_path


@pytest.mark.parametrize(("typed", "stands"), TYPED)
def test_fish_completes(typed: str, stands: str, folder: Path) -> None:
    asked = f"source complete.fish; complete --do-complete '{typed}'"
    done = subprocess.run(
        [program("fish"), "--no-config", "-c", asked],
        cwd=folder,
        env={**os.environ, "HOME": str(folder), "XDG_CONFIG_HOME": str(folder / "config")},
        capture_output=True,
        text=True,
        check=True,
    )
    offered = [line.split("\t")[0] for line in done.stdout.splitlines()]
    assert offered == [stands.split()[-1]]


SHOW = {
    # A key (control-x, then s) that shows the line as it stands.
    "bash": r"""bind -x '"\C-xs": printf "<%s>\n" "$READLINE_LINE"'""",
    "zsh": "show() { print; print -r -- \"<$BUFFER>\" }; zle -N show; bindkey '^Xs' show",
}
START = {
    "bash": ["--norc", "--noprofile", "-i"],
    "zsh": ["-f", "-i"],
}
LOAD = {
    "bash": "source complete.bash",
    "zsh": "autoload -Uz compinit; compinit -D -u; source complete.zsh",
}


@pytest.mark.parametrize(("typed", "stands"), TYPED)
@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_the_tab_key_completes(shell: str, typed: str, stands: str, folder: Path) -> None:
    line = on_the_line(shell, typed, folder)
    assert line.rstrip() == stands


def on_the_line(shell: str, typed: str, folder: Path) -> str:
    """Type into a shell on a terminal of its own, press tab, and return what then stands there."""
    terminal, inside = pty.openpty()
    child = subprocess.Popen(
        [program(shell), *START[shell]],
        stdin=inside,
        stdout=inside,
        stderr=inside,
        cwd=folder,
        env={"TERM": "dumb", "HOME": str(folder), "PATH": os.defpath},
        start_new_session=True,
    )
    os.close(inside)
    try:
        say(terminal, f"{LOAD[shell]}; {SHOW[shell]}; echo rea''dy\n")
        until(terminal, "ready")
        say(terminal, f"{typed}\t")
        time.sleep(0.1)  # a shell may throw away what is typed while it completes
        say(terminal, "\x18s")
        return re.findall(r"<(thriftlay[^<>]*)>", until(terminal, ">"))[-1]
    finally:
        child.kill()
        child.wait()
        os.close(terminal)


def say(terminal: int, text: str) -> None:
    os.write(terminal, text.encode())


def until(terminal: int, sign: str) -> str:
    """Return what the shell has written once it has written the sign."""
    told, end = "", time.monotonic() + 60.0
    while sign not in told:
        if not select.select([terminal], [], [], end - time.monotonic())[0]:
            raise AssertionError(f"nothing more came than {told!r}")
        told += os.read(terminal, 4096).decode(errors="replace")
    return told
