"""Spoilt files, read as a user would have them read: refused in one line, or accepted.

Run ``python -m benchmarks.campaigns.hostile --size N --seed S [--json FILE] [--keep FOLDER]``.

Job, pattern (DXF and SVG), plan, stock and machine files of ours are spoilt in one to five
places: bytes changed, cut out, repeated or swapped, numbers made odd. Each is read in a process
of its own with 10 s and 1 GB. Wrong is: an exception that isn't the library's own or that says
more than one line, and what takes too long or too much. Those files are kept if asked for.
"""

from __future__ import annotations

import os
import re
import resource
import shutil
import signal
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path
from random import Random
from types import FrameType

from nesting import (
    NestingError,
    judge_plan,
    load_plan,
    read_job,
    read_machine,
    read_pattern,
    read_stock,
)

from .row import Tally, options

__all__ = ["main", "run", "spoilt"]

_SECONDS, _BYTES = 10, 1 << 30
_SAMPLES = Path(__file__).resolve().parents[2] / "sample_markers"
_ODD = (b"-1", b"0", b"1e308", b"-1e-300", b"nan", b"inf", b"99999999999999999999", b'""', b"[]")
_STOCK = b"""unit = "cm"
[at_hand]
canvas = ["120 cm", { length = "80 cm", width = "140 cm" }]
foam = 3
[[remnant]]
name = "corner"
material = "canvas"
points = [[0, 0], [40, 0], [35, 30]]
"""


class _TooLongError(BaseException):
    """The time is over; no handler of the library's may swallow it."""


def _read_plan(path: Path) -> object:
    return judge_plan(load_plan(path))


_READERS: tuple[tuple[str, str, Callable[[Path], object]], ...] = (
    ("job", "*/*.toml", read_job),
    ("pattern", "*/laid/*.dxf", read_pattern),
    ("pattern", "*/laid/*.svg", read_pattern),
    ("plan", "*/laid/plan.json", _read_plan),
    ("machine", "shops/*.toml", read_machine),
)


def spoilt(data: bytes, rng: Random) -> bytes:
    """Return the bytes of a file with one to five things wrong."""
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        if not data:
            return data
        at = rng.randrange(len(data))
        end = min(len(data), at + rng.choice((1, 4, 40, 400)))
        kind = rng.randrange(7)
        if kind == 0:  # a byte
            data = data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
        elif kind == 1:  # a bit is missing
            data = data[:at] + data[end:]
        elif kind == 2:  # a bit is there twice, or very often
            data = data[:end] + data[at:end] * rng.choice((1, 1, 1, 300)) + data[end:]
        elif kind == 3:  # torn off
            data = data[:at] if rng.random() < 0.3 else data
        elif kind == 4:  # two lines swapped
            lines = data.split(b"\n")
            i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
            lines[i], lines[j] = lines[j], lines[i]
            data = b"\n".join(lines)
        elif numbers := list(re.finditer(rb"-?\d+(?:\.\d+)?", data)):  # an odd number
            number = rng.choice(numbers)
            data = data[: number.start()] + rng.choice(_ODD) + data[number.end() :]
    return data


def _tried(reader: Callable[[Path], object], file: Path) -> tuple[str, str]:
    """Read a file in a process of its own; return what came of it, and the traceback if any."""
    receiver, sender = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(receiver)
        os.write(sender, "\n".join(_in_child(reader, file)).encode()[:60000])
        os._exit(0)
    os.close(sender)
    with os.fdopen(receiver, "rb") as told:
        text = told.read().decode()
    _, status = os.waitpid(child, 0)
    if not text:
        return "died", f"status {status}"
    outcome, _, trace = text.partition("\n")
    return outcome, trace


def _in_child(reader: Callable[[Path], object], file: Path) -> tuple[str, str]:
    def over(_signal: int, _frame: FrameType | None) -> None:
        raise _TooLongError

    signal.signal(signal.SIGALRM, over)
    signal.alarm(_SECONDS)
    with open("/proc/self/statm", encoding="ascii") as sizes:
        now = int(sizes.read().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (now + _BYTES, now + _BYTES))
    try:
        reader(file)
    except NestingError as error:
        said = str(error)
        return ("refused", "") if said and "\n" not in said else ("more than a line", said)
    except _TooLongError:
        return "over time", traceback.format_exc()
    except MemoryError:
        return "over memory", traceback.format_exc()
    except BaseException:
        return "traceback", traceback.format_exc()
    return "accepted", ""


def _sound(base: Path, tally: Tally) -> dict[str, list[tuple[Path, Callable[[Path], object]]]]:
    """Return the files that are accepted as they are: of others nothing could be learnt."""
    sound: dict[str, list[tuple[Path, Callable[[Path], object]]]] = {}
    for kind, pattern, reader in (*_READERS, ("stock", "stock.toml", read_stock)):
        files = [f for f in sorted(base.glob(pattern)) if kind != "job" or f.parent.name != "shops"]
        good = [f for f in files if _tried(reader, f)[0] == "accepted"]
        sound.setdefault(kind, []).extend((f, reader) for f in good)
        tally.found["samples refused as they are"] += len(files) - len(good)
    for kind in [kind for kind, files in sound.items() if not files]:
        tally.faults.append(f"{kind}: no sample is accepted as it is, so none was spoilt")
        del sound[kind]
    return sound


def run(size: int, seed: int, *, keep: Path | None = None) -> Tally:
    """Read so many spoilt files."""
    tally = Tally("hostile", seed)
    with tempfile.TemporaryDirectory() as folder:
        # A copy, so that what a spoilt file names is still beside it.
        base = Path(shutil.copytree(_SAMPLES, Path(folder) / "samples"))
        (base / "stock.toml").write_bytes(_STOCK)
        sources = _sound(base, tally)
        for k in range(size if sources else 0):
            rng = Random(f"{seed}/{k}")
            kind = rng.choice(sorted(sources))
            whole, reader = rng.choice(sources[kind])
            suffix = whole.suffix
            file = whole.with_name(f"spoilt{suffix}")
            file.write_bytes(spoilt(whole.read_bytes(), rng))
            outcome, trace = _tried(reader, file)
            tally.tried[kind] += 1
            tally.found[outcome] += 1
            if outcome in ("refused", "accepted"):
                continue
            last = trace.strip().splitlines()[-1:] or [""]
            tally.faults.append(f"{kind} {seed}/{k}: {outcome}: {last[0][:200]}")
            if keep is not None:
                keep.mkdir(parents=True, exist_ok=True)
                (keep / f"{seed}-{k}{suffix}").write_bytes(file.read_bytes())
                (keep / f"{seed}-{k}.txt").write_text(trace, encoding="utf-8")
    return tally


def main() -> int:
    """Run the campaign."""
    parser = options("Spoilt files, read.", size=500)
    parser.add_argument("--keep", type=Path, help="folder for files that went wrong")
    asked = parser.parse_args()
    return run(asked.size, asked.seed, keep=asked.keep).tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
