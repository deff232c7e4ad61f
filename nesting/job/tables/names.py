"""Names of pieces, materials and bags: they stand on labels and in file names."""

from __future__ import annotations

import re
import unicodedata

from nesting.errors import JobError

__all__ = ["LONGEST_NAME", "check_name", "file_name"]

LONGEST_NAME = 60

# Devices of one widespread operating system, whatever follows the dot.
_RESERVED = {"con", "prn", "aux", "nul"} | {f"{d}{i}" for d in ("com", "lpt") for i in range(1, 10)}


def check_name(name: str) -> str:
    """Return the name if it can stand on a label and in a file name.

    Raises
    ------
    JobError
        If it is empty, too long, begins or ends with a space or ends with a dot, has
        characters that can't be printed or that file names can't have, or is reserved.

    """
    if not name.strip():
        raise JobError("the name is empty", hint="give it a name")
    if len(name) > LONGEST_NAME:
        raise JobError(f"the name is longer than {LONGEST_NAME} characters", hint="shorten it")
    if not name.isprintable():
        raise JobError("the name has characters that can't be printed", hint="remove them")
    bad = sorted(set(name) & set('/\\<>:"|?*'))
    if bad:
        raise JobError(
            f"the name has {' '.join(bad)}, which file names can't have", hint="leave it out"
        )
    if name != name.strip() or name.endswith(".") or name.startswith("."):
        raise JobError(
            "the name begins or ends with a space or a dot", hint="remove the space or dot"
        )
    if name.split(".")[0].strip().lower() in _RESERVED or not file_name(name).strip("-"):
        raise JobError("the name can't be used as a file name", hint="choose another")
    return name


def file_name(name: str) -> str:
    """Return the name as a file's: small letters, digits and dashes, accents kept.

    Two names that give the same one clash.
    """
    text = unicodedata.normalize("NFKC", name).casefold()
    return re.sub(r"[^\w.]+", "-", text).strip("-.")
