"""A job file that is changed on the page: its comments and its order stay.

What is written can be laid, unless it could not be laid before: then the page says what is
still missing. A file that somebody else has changed meanwhile is not written.
"""

from __future__ import annotations

import threading
import zlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.exceptions import TOMLKitError

import nesting
from nesting.bounded import text_of
from nesting.errors import JobError, NestingError
from nesting.leftover import temporary_name
from nesting.limits import LARGEST_JOB
from nesting.reading.job_file import drawn_pieces
from nesting.whole import whole_file
from nesting.writing.files import file_name

from .disk.keeping import StaleError, mark_of

if TYPE_CHECKING:
    from nesting import Job
    from nesting.job.by_hand.drawn import Drawn

__all__ = ["JobFile"]


class JobFile:
    """A job file on disk, as it was read or written last.

    Parameters
    ----------
    path
        The file.

    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._changing = threading.Lock()
        self._texts: dict[str, bytes] = {}
        self.read()

    def read(self) -> None:
        """Read the file as it is now."""
        self.text = text_of(self.path, most=LARGEST_JOB, what="a job file", error=JobError)
        self.mark = mark_of(self.path)
        with suppress(OSError):
            self._texts[self.mark] = zlib.compress(self.path.read_bytes())
        self._take(_tried(self.text, self.path))
        try:
            begun = isinstance(self.document.get("job"), dict)
        except TOMLKitError:
            begun = False
        if not begun:
            raise JobError(self.trouble)

    def read_again(self) -> None:
        """Read the file if it is another by now; while it can't be read it stays as it was."""
        if mark_of(self.path) != self.mark:
            with self._changing, suppress(NestingError):
                self.read()

    @classmethod
    def begun(cls, folder: Path, *, name: str, inches: bool) -> JobFile:
        """Begin a new job file in a folder, under a name that is not taken."""
        document = tomlkit.document()
        head = tomlkit.table()
        head["name"] = name.strip() or "New bag"
        head["unit"] = "in" if inches else "cm"
        head.add(tomlkit.nl())
        document["job"] = head
        taken = [path.stem for path in folder.glob("*.toml")]
        path = folder / f"{file_name(head['name'], taken=taken)}.toml"
        with whole_file(path) as temporary:
            temporary.write_text(tomlkit.dumps(document), encoding="utf-8")
        return cls(path)

    @property
    def document(self) -> TOMLDocument:
        """The file's text as it can be changed."""
        return tomlkit.parse(self.text)

    @property
    def ready(self) -> bool:
        """Whether it can be laid."""
        return self.job is not None

    def change(self, how: Callable[[TOMLDocument], None], *, seen: str | None = None) -> str:
        """Change the file, whole or not at all; return its mark; see `changed`."""
        return self.changed(how, seen=seen)[1]

    def changed(
        self, how: Callable[[TOMLDocument], None], *, seen: str | None = None
    ) -> tuple[str, str]:
        """Change the file, whole or not at all; return its marks before and after that.

        `seen`: that where it was shown.

        Raises
        ------
        JobError
            Somebody else has changed it, or it could not be laid any more.
        StaleError
            It was changed since it was shown.

        """
        with self._changing:
            if seen is not None and seen != self.mark:
                raise StaleError("the job was changed elsewhere meanwhile", hint="change it again")
            was = self.mark
            self._change(how)
            return was, self.mark

    def pieces_after(self, how: Callable[[TOMLDocument], None]) -> dict[str, Drawn | NestingError]:
        """Return the pieces as they would be after a change."""
        document = self.document
        how(document)
        return _tried(tomlkit.dumps(document), self.path).pieces

    def back(self, to: str, *, seen: str) -> str:
        """Have the file be as it was, whatever that was, if it is as `seen`; return its mark.

        Raises
        ------
        StaleError
            Somebody else has changed it since: that is not undone.
        JobError
            Nobody knows any more how it was.

        """
        with self._changing:
            if mark_of(self.path) != self.mark:
                self.read()
            if seen != self.mark:
                raise StaleError(
                    "the job was changed elsewhere since, in another tab or by another program",
                    hint="undo it there: what others have changed is not undone here",
                )
            held = self._texts.get(to)
            if held is None:
                raise JobError(
                    "how the job was then is not known any more",
                    hint="it was before thriftlay was started; change it by hand",
                )
            self._write(zlib.decompress(held))
            self._take(_tried(self.text, self.path))
            return self.mark

    def _change(self, how: Callable[[TOMLDocument], None]) -> None:
        if mark_of(self.path) != self.mark:
            self.read()
            raise JobError(
                "was changed by another program meanwhile, and is shown as it is now",
                file=self.path.name,
                hint="change it again",
            )
        document = self.document
        how(document)
        text = tomlkit.dumps(document)
        tried = _tried(text, self.path)
        if self.ready and tried.job is None:
            raise JobError(tried.trouble)
        for name, piece in tried.pieces.items():
            spoilt = isinstance(piece, NestingError)
            if spoilt and not isinstance(self.pieces.get(name), NestingError):
                raise JobError(str(piece))
        if tried.unread and not self.unread:
            raise JobError(tried.unread)
        self._write(text.encode())
        self._take(tried)

    def _write(self, data: bytes) -> None:
        with whole_file(self.path, overwrite=True) as temporary:
            temporary.write_bytes(data)
        self.text, self.mark = data.decode("utf-8-sig"), mark_of(self.path)
        self._texts[self.mark] = zlib.compress(data)

    def _take(self, tried: _Tried) -> None:
        self.trouble, self.job = tried.trouble, tried.job
        self.pieces, self.unread = tried.pieces, tried.unread


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """A job file's text, read: the job or what is wrong, and the pieces or why none can be read."""

    trouble: str = ""
    job: Job | None = None
    pieces: dict[str, Drawn | NestingError]
    unread: str = ""


def _tried(text: str, path: Path) -> _Tried:
    """Return what a text says in the file's place."""
    trial = path.with_name(temporary_name(".toml"))
    try:
        trial.write_text(text, encoding="utf-8")
        unread, pieces = "", dict[str, "Drawn | NestingError"]()
        try:
            pieces = drawn_pieces(trial)
        except NestingError as error:
            unread = _of(error, trial, path)
        pieces = {
            name: JobError(_of(piece, trial, path)) if isinstance(piece, NestingError) else piece
            for name, piece in pieces.items()
        }
        try:
            return _Tried(job=nesting.read_job(trial), pieces=pieces)
        except NestingError as error:
            return _Tried(trouble=_of(error, trial, path), pieces=pieces, unread=unread)
    finally:
        trial.unlink(missing_ok=True)


def _of(error: NestingError, trial: Path, path: Path) -> str:
    return str(error).replace(str(trial), path.name)
