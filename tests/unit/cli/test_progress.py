"""Progress fits the terminal, from the first moment on."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from thriftlay.progress import Display

from nesting import Progress
from nesting.amounts import Amounts
from nesting.quantity import of_length

SHOWN = Progress(
    lay="lining",
    rounds=1,
    seconds=1.0,
    length=1234.0,
    sheets=1,
    density=0.75,
    bound=of_length(1000.0),
)


class Terminal(io.StringIO):
    """A text stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setenv("LINES", "10")


def plain(text: str) -> list[str]:
    return re.split(r"[\r\n]+", re.sub(r"\x1b\[[?\d;]*[A-Za-z]", "", text))


@pytest.mark.usefixtures("small")
def test_a_terminal_is_never_overrun() -> None:
    out = Terminal()
    with Display([], 30.0, out, amounts=Amounts()) as display:
        assert "getting ready" in out.getvalue()  # before any report
        for number in range(40):
            display(replace(SHOWN, lay=f"a material with a name that is far too long {number}"))
        display.say("writing 412 files")
        assert "writing 412 files" in out.getvalue()
    assert max(map(len, plain(out.getvalue()))) <= 40
    ups = [int(n or 1) for n in re.findall(r"\x1b\[(\d*)A", out.getvalue())]
    assert max(ups, default=0) <= 10


@pytest.mark.usefixtures("small")
def test_nothing_stays_on_the_terminal() -> None:
    out = Terminal()
    with Display(["lining"], None, out, amounts=Amounts()):
        pass
    assert out.getvalue().rstrip().endswith(("\x1b[2K", "\x1b[?25h"))


def test_plain_lines_where_there_is_no_terminal() -> None:
    out = io.StringIO()
    with Display(["lining"], None, out, amounts=Amounts()) as display:
        display(SHOWN)
        display(replace(SHOWN, density=0.8))
        display.say("writing 3 files")
    assert out.getvalue() == " 75.0 %    123.4 cm  lining\nwriting 3 files\n"


@pytest.mark.usefixtures("small")
def test_a_terminal_shows_which_file_is_written() -> None:
    out = Terminal()
    with Display(["lining"], None, out, amounts=Amounts()) as display:
        display.writing("plan.json", 1, 2)
        display.writing("lining.dxf", 2, 2)
    assert "writing lining.dxf (2 of 2)" in out.getvalue()


def test_elsewhere_it_is_said_once_that_files_are_written() -> None:
    out = io.StringIO()
    with Display(["lining"], None, out, amounts=Amounts()) as display:
        display.writing("plan.json", 1, 2)
        display.writing("lining.dxf", 2, 2)
    assert out.getvalue() == "writing 2 files\n"
