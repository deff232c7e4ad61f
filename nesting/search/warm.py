"""Compile the kernels ahead of the first search; they are cached once per installation."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from nesting.marker.lay import Lay, Part, Strip, Turns
from nesting.pattern.path import Path
from nesting.pattern.piece import Piece
from nesting.search.kernels import overlaps, separation, tables
from nesting.search.kernels.compiled import is_cached
from nesting.search.prepared.pair_records import Capacity
from nesting.search.problem import first_marker, prepare
from nesting.search.squeezing.turn import squeeze_turning

__all__ = ["compile_ahead", "is_warm", "warm"]

# What a helper does; it ends as soon as its input does, for nobody waits for it then.
_HELP = """
import os, threading
threading.Thread(target=lambda: (os.read(0, 1), os._exit(1)), daemon=True).start()
from nesting.search.warm import compile_ahead
compile_ahead()
"""


def is_warm() -> bool:
    """Tell whether the kernels are compiled, in this process or in the cache."""
    return bool(is_cached(separation.separate))


def warm(message: Callable[[str], None] | None = None) -> float:
    """Run all kernels once on a tiny lay; return the seconds it took.

    `message` is called with a line to show if they have to be compiled.
    """
    begin = time.perf_counter()
    helper = None
    if not is_warm():
        if message is not None:
            message("Compiling the search once for this installation (about ten seconds)")
        helper = _helper()
    ring = Path.polyline([(0, 0), (4, 0), (4, 1), (1, 1), (1, 4), (0, 4)], closed=True)
    piece = Piece(name="angle", cut=ring)
    turns = Turns(angles=(0.0, 90.0), slack=1.0)
    parts = tuple(Part(name=f"{i}", piece=piece, turns=turns) for i in range(3))
    capacity = Capacity(singles=200_000, ints=200_000, hits=0)
    problem, _ = prepare(Lay(name="warm", parts=parts, stock=Strip(width=6.0)), capacity=capacity)
    world = first_marker(problem, stop=lambda: False).world
    world.state.seed(1)
    layout = world.save()
    world.state.rows(1.0, implied=False)
    world.state.domains(layout)
    squeeze_turning(world, layout, ends=lambda: False, steps=1)
    world.set_length(3.0)
    world.load(world.save())
    if helper is not None:
        helper.wait()  # what it compiled is in the cache now; if it failed, it is compiled here
        if helper.stdin is not None:
            helper.stdin.close()
    world.overlap()
    world.state.start(100)
    world.state.separate(1000)
    return time.perf_counter() - begin


def compile_ahead() -> None:
    """Compile about half of the kernels without running them; the cache keeps them."""
    _compile(((separation.separate, 1), (separation.start,), (overlaps.list_overlaps,)))


def _compile(calls: Iterable[tuple[Any, ...]]) -> None:
    """Compile kernels for a state and what follows it in a call."""
    state = np.zeros(1, tables.STATE)[0]
    for kernel, *rest in calls:
        kernel.compile(tuple(kernel.typeof_pyval(one) for one in (state, *rest)))


def _helper() -> subprocess.Popen[bytes] | None:
    """Start `compile_ahead` in a process of its own, if there is a core for it.

    Not by multiprocessing, which would import the caller's main module again.
    """
    if (os.cpu_count() or 1) < 2 or not sys.executable:
        return None
    none = subprocess.DEVNULL
    try:
        return subprocess.Popen(
            [sys.executable, "-P", "-c", _HELP],
            stdin=subprocess.PIPE,  # its end says that this process is gone
            stdout=none,
            stderr=none,
        )
    except OSError:
        return None
