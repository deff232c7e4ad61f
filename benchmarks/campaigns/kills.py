"""Commands killed, interrupted or left without room at random moments, and run again.

Run ``python -m benchmarks.campaigns.kills --size N --seed S [--json FILE]``: N kills, a fifth as
many interrupts, a tenth as many runs on a full disk, in a folder that can't be written or
that is lost. Most are forks of one warmed process, one in twenty a process of its own.

After each: no process, no temporary file and no shared memory is left, every file there is
whole, no traceback was said, an interrupt is one line and one of the documented
statuses, a plan is taken off the stock once, and the same command once more ends well.
"""

from __future__ import annotations

import os
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from xml.etree import ElementTree

from .row import Tally, options
from .runs import Run, alive, warm_up

__all__ = ["main", "run"]

_ROOT = Path(__file__).resolve().parents[2]
_SHOP = _ROOT / "sample_markers/shops/pen_plotter.toml"
_PATTERN = _ROOT / "sample_markers/rucksack/laid/lining.dxf"
_JOB = """
[job]
name = "made-up sleeve"
[table]
plies = 2
[[cloth]]
name = "canvas"
width = "60 cm"
price = 20
[[sheet]]
name = "foam"
size = ["30 cm", "40 cm"]
[[piece]]
name = "panel"
rectangle = [300, 220]
[[piece]]
name = "gusset"
outline = "M 0,0 L 250,0 L 180,90 L 0,90 Z"
[[cut]]
piece = "panel"
material = ["canvas", "foam"]
copies = 2
[[cut]]
piece = "gusset"
material = "canvas"
copies = 4
pairs = true
[[bag]]
name = "sleeve"
count = 2
"""
_STOCK = 'unit = "cm"\n[at_hand]\ncanvas = ["2 m", "80 cm"]\nfoam = 3\n'
_ENDED, _SAVED = 130, 3
_APART = "KILLS_APART"
"""In the environment of a campaign that has a name space of its own."""
_FIRST = 600.0
"""Seconds that the first run may take: the kernels may have to be compiled."""
_SOON = 10.0
"""Seconds within which nothing of a killed run lives any more, on a machine with much to do."""
_TRUE = 20
"""One in so many runs is a process of its own."""


@dataclass(frozen=True, slots=True)
class Command:
    """A command; what it makes, of which the last is made last; whether it may be told to replace.

    `saves`: interrupted it may save, or tell, the best so far; `often`: how often it is tried.
    """

    words: tuple[str, ...]
    makes: tuple[str, ...] = ()
    replaces: bool = True
    saves: bool = False
    often: int = 1

    @property
    def name(self) -> str:
        """What it is called."""
        return self.words[0]


_LAY = ("job.toml", "--out", "o")
COMMANDS = (
    Command(
        ("lay", *_LAY, "--rounds", "1", "--workers", "1", "--write", "dxf,svg,report,remnants"),
        ("o/plan.json",),
        saves=True,
        often=4,
    ),
    Command(("lay", *_LAY, "--time", "1s", "--workers", "2"), ("o/plan.json",), saves=True),
    Command(("order", *_LAY, "--rounds", "1", "--workers", "2"), ("o/plan.json",), saves=True),
    Command(
        ("compare", "job.toml", "--rounds", "1", "--workers", "1", "--chart", "o.png"),
        ("o.png",),
        saves=True,
    ),
    Command(("write", "laid/plan.json", "--out", "o"), ("o/plan.json",)),
    Command(
        ("write", "laid/plan.json", "--out", "o", "--write", "dxf,svg,report"),
        ("o/plan.json",),
        often=4,
    ),
    Command(("cut", "laid/plan.json", "--machine", "shop.toml", "--out", "o"), ("o",)),
    Command(("print", "laid/plan.json", "--out", "o.pdf"), ("o.pdf",), often=2),
    Command(("print", "laid/plan.json", "--what", "templates", "--out", "o.pdf"), ("o.pdf",)),
    Command(("done", "laid/plan.json", "--stock", "stock.toml"), replaces=False, often=4),
    Command(("check", "laid/plan.json"), replaces=False),
    Command(("pieces", "pattern.dxf", "--out", "o.toml", "--picture", "o.png"), ("o.toml",)),
    Command(("schema",), replaces=False),
)
_OFTEN = [command for command in COMMANDS for _ in range(command.often)]


class Bench:
    """Where runs are tried: what they need, how long each takes, what the stock becomes."""

    def __init__(self, base: Path) -> None:
        self.base = base
        self.given = base / "given"
        self.given.mkdir()
        (self.given / "job.toml").write_text(_JOB)
        (self.given / "stock.toml").write_text(_STOCK)
        shutil.copy(_SHOP, self.given / "shop.toml")
        shutil.copy(_PATTERN, self.given / "pattern.dxf")
        words = ("lay", "job.toml", "--out", "laid", "--stock", "stock.toml", "--rounds", "1")
        self.seconds: dict[tuple[str, ...], float] = {}
        self.after = _STOCK
        self._ready(words)

    def warm_up(self) -> None:
        """Run once in this process whatever does not search; note what the stock becomes."""
        folder = self.fresh("warm")
        here = Path.cwd()
        os.chdir(folder)
        try:
            warm_up([c.words for c in COMMANDS if not c.saves])
        finally:
            os.chdir(here)
        self.after = (folder / "stock.toml").read_text()
        shutil.rmtree(folder)
        if self.after == _STOCK:
            raise RuntimeError("nothing was taken off the stock")

    def _ready(self, words: Sequence[str]) -> None:
        run = self.start(words, self.given, forked=False)
        if not run.wait(_FIRST) or run.status:
            run.hit(signal.SIGKILL, everybody=True)
            raise RuntimeError(f"{words[0]} ended with {run.status}: {run.said}")

    def fresh(self, name: str) -> Path:
        """Return a new folder with what commands need."""
        folder = self.base / name
        shutil.copytree(self.given, folder, ignore=shutil.ignore_patterns(".run"))
        return folder

    def start(self, words: Sequence[str], folder: Path, *, forked: bool, **more: object) -> Run:
        """Start a command in a folder."""
        here = Path.cwd()
        os.chdir(folder)
        try:
            return Run.begin(words, folder / ".run", forked=forked, **more)  # type: ignore[arg-type]
        finally:
            os.chdir(here)

    def usual(self, command: Command, *, forked: bool) -> float:
        """Return the seconds that a command takes when nobody disturbs it."""
        key = (*command.words, str(forked))
        if key not in self.seconds:
            folder = self.fresh("usual")
            began = time.monotonic()
            run = self.start(command.words, folder, forked=forked)
            if not run.wait() or run.status:
                raise RuntimeError(f"{command.words} ended with {run.status}: {run.said}")
            self.seconds[key] = time.monotonic() - began
            shutil.rmtree(folder)
        return self.seconds[key]


# ---------------------------------------------------------------- what has to hold


def broken(path: Path) -> str | None:
    """Say why a file is not whole, or nothing."""
    from matplotlib.image import imread
    from pypdf import PdfReader

    from nesting import load_plan

    def text(end: str) -> Callable[[Path], object]:
        def read(path: Path) -> None:
            if not path.read_text(encoding="utf-8").rstrip().endswith(end):
                raise ValueError(f"does not end with {end!r}")

        return read

    readers: dict[str, Callable[[Path], object]] = {
        ".dxf": text("EOF"),
        ".svg": ElementTree.parse,
        ".png": imread,
        ".pdf": lambda path: PdfReader(path).pages[-1].extract_text(),
        ".toml": lambda path: tomllib.loads(path.read_text(encoding="utf-8")),
        ".html": text("</html>"),
        ".json": load_plan,
        ".csv": text(""),
        ".txt": text(""),
    }
    read = readers.get(path.suffix, text(""))
    try:
        if path.stat().st_size == 0:
            raise ValueError("is empty")
        read(path)
    except Exception as error:
        return f"{path.name} is not whole: {type(error).__name__}: {str(error)[:100]}"
    return None


def shared() -> set[str]:
    """Name what is in shared memory, where nobody else shares any."""
    folder = Path("/dev/shm")
    mine = folder.is_dir() and os.environ.get(_APART)
    return {path.name for path in folder.iterdir()} if mine else set()


def visible(folder: Path) -> Iterator[Path]:
    """Yield the files that a run made and that are not hidden."""
    for name in ("o", "o.png", "o.pdf", "o.toml", "stock.toml"):
        path = folder / name
        found = path.iterdir() if path.is_dir() else [path] if path.exists() else []
        yield from (file for file in found if not file.name.startswith("."))


def hidden(folder: Path) -> list[str]:
    """Name what is hidden beside what a run made."""
    folders = [folder, folder / "o"] if (folder / "o").is_dir() else [folder]
    found = [path.name for of in folders for path in of.glob(".*")]
    return [name for name in found if name != ".run"]


def left(run: Run, folder: Path, before: set[str]) -> Iterator[str]:
    """Say what of a run that has ended lives on, or was left outside its own folder."""
    if others := alive(run, within=_SOON):
        yield f"{len(others)} processes live on"
        for number in others:
            os.kill(number, signal.SIGKILL)
    if litter := [path.name for path in (folder / ".run/tmp").iterdir()]:
        yield f"left in the temporary folder: {litter[:3]}"
    if more := shared() - before:
        yield f"left in shared memory: {sorted(more)[:3]}"
    if "Traceback" in run.said or "Exception ignored" in run.said:
        yield f"said: {run.said.strip().splitlines()[-1][:200]}"
    for path in visible(folder):
        if why := broken(path):
            yield why


def goes_on(bench: Bench, command: Command, folder: Path, *, forked: bool) -> Iterator[str]:
    """Run the command again and say what is wrong then."""
    words: tuple[str, ...] = command.words
    if command.replaces and any(path.name != "stock.toml" for path in visible(folder)):
        words += ("--replace",)
    before = shared()
    taken = (folder / "stock.toml").read_text() == bench.after
    run = bench.start(words, folder, forked=forked)
    if not run.wait():
        run.hit(signal.SIGKILL, everybody=True)
        run.wait()
        yield "again: does not end"
        return
    good = 2 if command.name == "done" and taken else 0
    if run.status != good:
        yield f"again: status {run.status}: {run.said.strip()[-200:]}"
    yield from (f"again: {line}" for line in left(run, folder, before))
    if command.name == "done" and (folder / "stock.toml").read_text() != bench.after:
        yield "again: the plan is not taken off the stock once"
    if litter := hidden(folder):
        yield f"again: left {litter[:3]}"
    missing = [made for made in command.makes if not (folder / made).exists()]
    if missing:
        yield f"again: {missing[0]} is not there"


def half(command: Command, bench: Bench, folder: Path) -> Iterator[str]:
    """Say what of several files is there without the others."""
    if command.name == "done" and (folder / "stock.toml").read_text() not in (_STOCK, bench.after):
        yield "the stock is neither as before nor as after"
    made = {path.name for path in visible(folder)} - {"stock.toml"}
    if command.makes == ("o/plan.json",) and made and "plan.json" not in made:
        yield f"files without their plan: {sorted(made)[:3]}"


# ---------------------------------------------------------------- what is done to them


def killed(bench: Bench, rng: Random, folder: Path, tally: Tally) -> Iterator[str]:
    """Kill a run, or all of its group, at a random moment."""
    command, forked = rng.choice(_OFTEN), rng.randrange(_TRUE) > 0
    moment = rng.uniform(0.0, 1.05) * bench.usual(command, forked=forked)
    before = shared()
    run = bench.start(command.words, folder, forked=forked)
    in_time = run.wait(moment)
    run.hit(signal.SIGKILL, everybody=rng.random() < 0.3)
    run.wait()
    tally.tried["kills"] += 1
    tally.found["ended before the kill" if in_time else "killed in the midst"] += 1
    where = f"{' '.join(command.words)} killed after {moment:.3f} s"
    faults = [*left(run, folder, before)]
    faults += goes_on(bench, command, folder, forked=rng.randrange(_TRUE) > 0)
    yield from (f"{where}: {line}" for line in faults)


def interrupted(bench: Bench, rng: Random, folder: Path, tally: Tally) -> Iterator[str]:
    """Interrupt a run once or twice, as a terminal or a supervisor does."""
    command, forked = rng.choice(_OFTEN), rng.randrange(_TRUE) > 0
    moment = rng.uniform(0.0, 1.05) * bench.usual(command, forked=forked)
    number = rng.choice((signal.SIGINT, signal.SIGTERM))
    everybody = rng.random() < 0.6
    twice = rng.random() < 0.3
    before = shared()
    run = bench.start(command.words, folder, forked=forked)
    began = time.monotonic()
    if run.listens():
        run.wait(max(0.0, moment - (time.monotonic() - began)))
    run.hit(number, everybody=everybody)
    if twice:
        run.wait(rng.uniform(0.0, 0.1))
        run.hit(number, everybody=everybody)
    if not run.wait():
        run.hit(signal.SIGKILL, everybody=True)
        run.wait()
    tally.tried["interrupts"] += 1
    words = {0: "ended before", _SAVED: "saved the best so far", _ENDED: "ended with nothing"}
    tally.found[words.get(run.status or 0, "other")] += 1
    where = f"{' '.join(command.words)}, {number.name} after {moment:.3f} s"
    faults = [*left(run, folder, before), *half(command, bench, folder)]
    faults += _answered(run, command, folder)
    if run.status != _SAVED and (litter := hidden(folder)) and not command.saves:
        faults.append(f"left {litter[:3]}")
    faults += goes_on(bench, command, folder, forked=rng.randrange(_TRUE) > 0)
    yield from (f"{where}: {line}" for line in faults)


def _answered(run: Run, command: Command, folder: Path) -> Iterator[str]:
    """Say what is wrong with the status and the words that answer an interrupt."""
    lines = [line for line in run.said.splitlines() if "interrupted" in line]
    may = {0, _ENDED, _SAVED} if command.saves else {0, _ENDED}
    if run.status not in may:
        yield f"status {run.status}: {run.said.strip()[-200:]}"
    elif len(lines) != (run.status != 0):
        yield f"status {run.status}, said of it: {lines}"
    there = any((folder / made).exists() for made in command.makes)
    if run.status == _ENDED and there:
        yield "nothing was written, it says, but it was"
    if run.status == _SAVED and not there:
        yield "the best is saved, it says, but it isn't"


def no_room(bench: Bench, rng: Random, folder: Path, tally: Tally) -> Iterator[str]:
    """Let a run have no room: no file, or no output, may grow; or its folder is lost."""
    makers = [command for command in COMMANDS if command.makes or command.name == "done"]
    command, forked = rng.choice(makers), rng.randrange(_TRUE) > 0
    kind = rng.choice(("large files", "output", "lost", "disk", "read-only"))
    before = shared()
    with _Disk(folder, kind, rng) as works:
        if not works:
            kind = "large files"
        more: dict[str, object] = {}
        if kind == "large files":
            # What it says is a file, too, and has to find room.
            more["largest"] = rng.choice((500, 3_000, 20_000))
        if kind == "output":
            more["out"] = Path("/dev/full")
        moment = rng.uniform(0.0, 1.0) * bench.usual(command, forked=forked)
        run = bench.start(command.words, folder, forked=forked, **more)
        tally.found["no file system to mount"] += not works
        if kind == "lost" and not run.wait(moment):
            shutil.rmtree(folder / "o", ignore_errors=True)
        if not run.wait():
            run.hit(signal.SIGKILL, everybody=True)
            run.wait()
        tally.tried[f"without room ({kind})"] += 1
        tally.found["ended well" if run.status == 0 else "refused"] += 1
        faults = [*left(run, folder, before), *half(command, bench, folder)]
    if run.status not in (0, 2):
        faults.append(f"status {run.status}: {run.said.strip()[-200:]}")
    if run.status == 2 and sum("thriftlay: " in line for line in run.said.splitlines()) != 1:
        faults.append(f"said: {run.said.strip()[-200:]}")
    if run.status == 2 and (litter := hidden(folder)) and not command.saves:
        faults.append(f"left {litter[:3]}")
    faults += goes_on(bench, command, folder, forked=True)
    yield from (f"{' '.join(command.words)}, {kind}: {line}" for line in faults)


class _Disk:
    """A small or a read-only file system in a run's place, if this process may mount one."""

    def __init__(self, folder: Path, kind: str, rng: Random) -> None:
        self.folder, self.kind, self.rng = folder, kind, rng
        self.mounted = False

    def __enter__(self) -> bool:
        if self.kind not in ("disk", "read-only"):
            return True
        (self.folder / ".run/tmp").mkdir(parents=True)
        aside = self.folder.with_name("aside")
        self.folder.rename(aside)
        self.folder.mkdir()
        size = sum(path.stat().st_size for path in aside.rglob("*") if path.is_file())
        room = self.rng.choice((8, 40, 100, 300)) * 1024 + size + 4096 * 60
        self.mounted = not self._do("mount", "-t", "tmpfs", "-o", f"size={room}", "tmpfs")
        shutil.copytree(aside, self.folder, dirs_exist_ok=True)
        shutil.rmtree(aside)
        if self.mounted and self.kind == "read-only":
            # What is said and the temporary folder have a place of their own.
            self._do("mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", at=self.folder / ".run")
            (self.folder / ".run/tmp").mkdir()
            self._do("mount", "-o", "remount,ro")
        return self.mounted

    def _do(self, *words: str, at: Path | None = None) -> int:
        none = subprocess.DEVNULL
        words = (*words, str(at or self.folder))
        return subprocess.run(words, stdout=none, stderr=none, check=False).returncode

    def __exit__(self, *_: object) -> None:
        if not self.mounted:
            return
        kept = self.folder.with_name("kept")
        shutil.copytree(self.folder, kept, symlinks=True)
        self._do("umount", at=self.folder / ".run")
        self._do("umount")
        self.folder.rmdir()
        kept.rename(self.folder)


def run(size: int, seed: int, *, base: Path | None = None) -> Tally:
    """Kill so many runs, interrupt a fifth and leave a tenth as many without room."""
    tally = Tally("kills", seed)
    kinds = ((killed, size), (interrupted, max(1, size // 5)), (no_room, max(1, size // 10)))
    with tempfile.TemporaryDirectory(dir=base) as folder:
        bench = Bench(Path(folder))
        bench.warm_up()
        for kind, number in kinds:
            for k in range(number):
                rng = Random(f"{seed}/{kind.__name__}/{k}")
                place = bench.fresh("run")
                for line in kind(bench, rng, place, tally):
                    tally.faults.append(f"{seed}/{kind.__name__}/{k}: {line}")
                    print(f"fault: {tally.faults[-1]}", flush=True)
                shutil.rmtree(place, ignore_errors=True)
    return tally


def _apart() -> None:
    """Be where nobody else mounts file systems or shares memory, if this process may."""
    alone = ("unshare", "--mount", "--propagation", "private")
    if os.environ.get(_APART) or not shutil.which("unshare"):
        return
    if subprocess.run([*alone, "true"], capture_output=True, check=False).returncode:
        return
    os.environ[_APART] = "1"
    order = f"mount -t tmpfs tmpfs /dev/shm && exec {shlex.join(sys.orig_argv)}"
    os.execvp("unshare", [*alone, "sh", "-c", order])


def main() -> int:
    """Run the campaign."""
    _apart()
    asked = options("Commands killed and interrupted.", size=100).parse_args()
    return run(asked.size, asked.seed).tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
