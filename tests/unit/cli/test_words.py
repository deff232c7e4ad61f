"""What the command line takes and says, without a search."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest
from thriftlay.main import COMMANDS, IN_OPTIONS, in_options, main, parser

from nesting import read_job
from nesting.errors import WriteError
from nesting.whole import whole_file

ROOT = Path(__file__).resolve().parents[3]

SQUARE_JOB = """
[job]
name = "made-up square"

[[cloth]]
name = "lining"
width = "50 cm"
nap = "none"

[[piece]]
name = "square"
rectangle = ["60 cm", "60 cm"]

[[cut]]
piece = "square"
material = "lining"
"""


def ended(*words: str) -> int:
    """Run the command in this process; the status, however it ends."""
    try:
        return main(list(words))
    except SystemExit as end:
        return int(end.code or 0)


def options(command: str) -> dict[str, object]:
    """Return each option's action, by name."""
    top = parser()
    held = next(action for action in top._actions if action.dest == "command")
    assert isinstance(held.choices, dict)
    return {name: a for a in held.choices[command]._actions for name in a.option_strings}


def test_the_version_is_the_installed_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert ended("--version") == 0
    assert capsys.readouterr().out == f"thriftlay {version('thriftlay')}\n"


def test_the_bare_command_is_its_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert ended() == 0
    out = capsys.readouterr().out
    assert all(f"    {command}" in out for command in COMMANDS)
    assert "exit status:" in out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["lya", "job.toml"], "did you mean lay?"),
        (["lay", "job.toml", "--outt", "o"], "no option is named --outt; did you mean --out?"),
        (["lay", "job.toml", "--outt=o"], "did you mean --out?"),
        (["lay", "job.toml", "--out", "o", "--tim", "1s"], "did you mean --time?"),
        (["polish"], "no command is named 'polish' (see"),
    ],
)
def test_a_slip_of_the_pen_is_answered_with_what_was_meant(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended(*words) == 2
    told = capsys.readouterr().err
    assert says in told
    assert told.count("\n") == 1


@pytest.mark.parametrize("command", COMMANDS)
def test_help_holds_an_example_that_parses(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    import shlex

    assert ended(command, "--help") == 0
    example = capsys.readouterr().out.split("example:\n")[1].strip().removeprefix('eval "$(')
    words = shlex.split(example.removesuffix(')"').split(" > ")[0])
    assert words[0] == "thriftlay"
    assert parser().parse_args(words[1:]).command == command


def test_an_option_is_the_same_in_every_command() -> None:
    for command in COMMANDS:
        held = options(command)
        if "--only" in held:
            assert getattr(held["--only"], "default", "") is None
            assert type(held["--only"]).__name__ == "_AppendAction", command
        if command not in {"page", "samples", "schema", "completion"}:
            assert "--json" in held, command
        if "--out" in held:
            assert "--replace" in held, command
        assert held.get("--material") is (held["--only"] if command == "advise" else None)


@pytest.mark.parametrize("as_json", [False, True])
def test_what_fits_nowhere_is_no_success(
    as_json: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(SQUARE_JOB)
    words = ["compare", str(job), "--rounds", "1", "--workers", "1"]
    assert ended(*words, *(["--json"] if as_json else [])) == 1
    out = capsys.readouterr().out
    if as_json:
        record = json.loads(out)
        assert record["schema"] == "thriftlay/compare/1"
        assert record["units"]["length"] == "mm"
        assert record["currency"] is None
        assert record["result"]["trials"][0]["why_not"]
    else:
        assert "fits on none of these widths: lining" in out
        assert "0.000" not in out


def test_plain_widths_are_in_the_unit_of_the_job(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    text = SQUARE_JOB.replace("60 cm", "10 in").replace("50 cm", "44 in")
    job.write_text(text.replace("[job]", '[job]\nunit = "in"'))
    words = ["compare", str(job), "--rounds", "1", "--workers", "1", "--json"]
    assert ended(*words, "--widths", "44, 54") == 0
    found = json.loads(capsys.readouterr().out)["result"]["trials"]
    assert [trial["width"] for trial in found] == pytest.approx([44 * 25.4, 54 * 25.4])


def test_samples_are_jobs_that_can_be_read_where_they_are_put(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = tmp_path / "new" / "samples"
    assert ended("samples", "--out", str(there)) == 0
    told = capsys.readouterr().out.splitlines()
    assert {Path(line).name for line in told} >= {"WORDS.md", "FORMAT.md", "rucksack.toml"}
    for name in ("rucksack", "foam", "order", "pouch", "tool_roll"):
        assert read_job(there / name / f"{name}.toml").bags
    for page in there.glob("*.md"):
        for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
            assert (there / target).exists(), (page.name, target)
    assert not list(there.rglob("laid"))
    assert [file.name for file in there.parent.iterdir()] == ["samples"]


def test_samples_are_not_put_over_what_is_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "WORDS.md").write_text("mine")
    assert ended("samples", "--out", str(tmp_path)) == 2
    assert "exists already" in capsys.readouterr().err
    assert [file.name for file in tmp_path.iterdir()] == ["WORDS.md"]
    assert ended("samples", "--out", str(tmp_path), "--replace") == 0
    assert (tmp_path / "WORDS.md").read_text() != "mine"


def test_help_names_the_words_and_how_to_get_them(capsys: pytest.CaptureFixture[str]) -> None:
    assert ended("--help") == 0
    out = capsys.readouterr().out
    assert "thriftlay samples --out samples" in out
    assert "samples/WORDS.md" in out


def test_a_hint_is_in_the_words_of_its_reader(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    there = tmp_path / "there.txt"
    there.touch()
    with pytest.raises(WriteError) as caught, whole_file(there):
        pytest.fail("it was to be refused")
    assert str(caught.value).endswith("(name another file, or say overwrite=True)")
    assert in_options(caught.value).endswith("(name another file, or say --replace)")


def test_keywords_that_hints_name_are_options_of_the_command() -> None:
    held = {name for command in COMMANDS for name in options(command)}
    assert set(IN_OPTIONS.values()) <= held
    said: set[str] = set()
    for file in (ROOT / "nesting").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.keyword) and node.arg == "hint":
                words = ast.unparse(node.value)
                said.update(re.findall(r"\w+=True", words))
                options_said = re.findall(r"--[a-z-]+", words)
                assert not options_said or "of the command" in words, (file, words)
    assert said <= set(IN_OPTIONS)


@pytest.mark.parametrize(
    "words", [["--help"], ["--version"], ["completion", "bash"], *([c, "--help"] for c in COMMANDS)]
)
def test_help_waits_for_no_heavy_library(words: list[str]) -> None:
    heavy = "{'numba', 'numpy', 'matplotlib', 'shapely', 'ezdxf', 'ortools', 'pydantic', 'tomlkit'}"
    code = (
        "import sys; from contextlib import suppress; from thriftlay.main import main\n"
        f"with suppress(SystemExit): main({words})\n"
        f"print(sorted({heavy} & set(sys.modules)), file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "thriftlay" in run.stdout
    assert run.stderr.strip() == "[]"
