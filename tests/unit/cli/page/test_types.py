"""The types that stand in the comments of the page's modules (TypeScript reads them there)."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

STATIC = Path(__file__).resolve().parents[4] / "cli" / "page" / "static"
HOW = "--noEmit --allowJs --checkJs --strict --target es2022 --module es2022"


@pytest.fixture
def checker() -> str:
    found = shutil.which("tsc")
    if found is None:
        said = "tsc is not on this machine: types are NOT CHECKED (apt-get install node-typescript)"
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    return found


def checked(checker: str, folder: Path) -> str:
    """Return what the checker says of the modules of a folder; nothing if all is well."""
    libraries = ["--lib", "dom,dom.iterable,es2022"]
    files = map(str, sorted(folder.glob("*.js")))
    done = subprocess.run(
        [checker, *HOW.split(), *libraries, *files], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    return done.stdout


def test_types_are_right(checker: str) -> None:
    assert checked(checker, STATIC) == ""


def test_a_wrong_type_is_found(checker: str, tmp_path: Path) -> None:
    shutil.copytree(STATIC, tmp_path, dirs_exist_ok=True)
    module = tmp_path / "rulers.js"
    text = module.read_text(encoding="utf-8")
    module.write_text(f"{text}\ndrawRuler(null, 3);\n", encoding="utf-8")
    assert "rulers.js" in checked(checker, tmp_path)
