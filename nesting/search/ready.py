"""Imported once where searches run: everything they need, the kernels loaded."""

from __future__ import annotations

import sys
from contextlib import suppress

from nesting.search import solve as solve  # so that no worker forked from here imports it
from nesting.search.warm import warm

__all__: list[str] = []


def _say(text: str) -> None:
    with suppress(OSError, ValueError):  # nobody may be there to read it
        print(text, file=sys.stderr, flush=True)


warm(_say)
