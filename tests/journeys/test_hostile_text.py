"""Text of files reaches the terminal as text, whatever the terminal can show."""

from __future__ import annotations

import io
import json
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from cli.main import main

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">'
    '<g id="F\u00e4cher \u2460\u009b31m"><rect width="200" height="100"/>'
    "<text x='50' y='50'>Material: \u202efelt\u009b5m</text></g></svg>"
)


def run(monkeypatch: pytest.MonkeyPatch, *words: str, encoding: str) -> tuple[int, str, str]:
    raw = io.BytesIO(), io.BytesIO()
    out, err = (io.TextIOWrapper(stream, encoding=encoding, newline="\n") for stream in raw)
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    status = main(list(words))
    out.flush()
    err.flush()
    return status, raw[0].getvalue().decode(encoding), raw[1].getvalue().decode(encoding)


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-8"])
@pytest.mark.parametrize("more", [(), ("--json",)])
def test_any_name_on_any_terminal(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, encoding: str, more: tuple[str, ...]
) -> None:
    file = tmp_path / "a.svg"
    file.write_text(SVG, encoding="utf-8")
    status, out, err = run(monkeypatch, "pieces", str(file), *more, encoding=encoding)
    assert (status, err) == (0, "")
    assert not {"\x1b", "\x9b", "\u202e"} & set(out)
    if more:
        assert "\u2460" in json.dumps(json.loads(out), ensure_ascii=False)


def test_a_complaint_acts_on_no_terminal(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text('[job]\nname = "a"\ncurrency = "\\u001b[31mEUR"\nunit = "\\u009b2J"\n')
    for words in (("lay", str(file), "--out", str(tmp_path / "o")), ("\x1b[2J",)):
        status, out, err = run(monkeypatch, *words, encoding="utf-8")
        assert (status, out) == (2, "")
        assert not {"\x1b", "\x9b"} & set(err)
        assert err.count("\n") == 1


def test_characters_that_xml_lacks_are_left_out() -> None:
    from nesting.writing.files import one_line

    text = one_line("a\uffff\ufffe\U0001ffff\x1b\ud800b")
    assert ET.fromstring(f"<t>{text}</t>").text == "a b"
