"""What the page asks and is told: each address of the server, and who answers it."""

from __future__ import annotations

import errno
import json
from collections.abc import AsyncIterator, Callable, Collection
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from nesting.errors import JobError, NestingError

from . import advising, beside, comparing, hand, shown
from .at_piece import at_piece, turned
from .begin import beginnings, chosen
from .cutting import ticked, to_files, true_size
from .cutting.machines import is_machine, taken_in
from .cutting.ticked import TICKED_FILE
from .disk.keeping import StaleError
from .disk.watching import Watch
from .guard import Guard, Keys
from .job_file import JobFile
from .making import HOW, PATTERNS, dropped, edited, kept_file, making
from .news import News
from .seen import under
from .seen.kept import picture_taken
from .seen.prints import Prints
from .seen.under import beside_job
from .stock import taken_off
from .taking import searching_time
from .work import Work

__all__ = ["Page", "page_app"]

STATIC = Path(__file__).parent / "static"

Json = dict[str, Any]


class Page:
    """What the server holds: where work begins, and the work that is open.

    Parameters
    ----------
    folder
        Where jobs are looked for, and samples copied to.
    seconds, workers
        For searches.

    """

    def __init__(self, folder: Path, *, seconds: float = 30.0, workers: int | None = None) -> None:
        self.folder, self.seconds, self.workers = folder, seconds, workers
        self.news = News()
        self.work: Work | None = None
        self.making: JobFile | None = None
        self.prints = Prints()

    def open(self, path: Path) -> None:
        """Open a job or a plan; search for markers where there are none.

        A job that can't be laid yet is opened to be gone on with.
        """
        making = None if path.suffix == ".json" else JobFile(path)
        if making is not None and not making.ready:
            self.making = making
            self.news.tell("all")
            return
        work = Work(path, tell=self.news.tell, seconds=self.seconds, workers=self.workers)
        self.work, before, self.making = work, self.work, making
        if before is not None:
            before.close()
        if work.plan is None and work.file is not None:
            work.search()
        self.news.tell("all")

    def opened(self) -> Work:
        """Return the work that is open, or say that none is."""
        if self.work is None:
            raise JobError("no job is open", hint="choose one first")
        return self.work

    def made(self) -> JobFile:
        """Return the job file that can be changed, or say that there is none."""
        if self.making is None:
            raise JobError("no job file is open", hint="open the job, not its plan.json")
        return self.making

    def drop(self, name: str, data: bytes) -> Json:
        """Take a file that was dropped: a job to open, or a pattern or machine for one."""
        toml, is_open = name.lower().endswith(".toml"), self.work or self.making
        if toml and is_open and is_machine(data):
            home = self.made().path.parent if self.work is None else self.work.home
            return taken_in(home, name, data)
        if toml and is_open:
            raise JobError("a job is open already", hint="start thriftlay page again for it")
        if self.work is not None:
            self.made()  # or refused, before anything is written
        folder = self.folder if self.making is None else self.making.path.parent
        path = kept_file(folder, name, data)
        if toml:
            self.open(path)
            return {}
        begun = self.making is None and self.work is None
        if begun:
            self.making = JobFile.begun(folder, name=path.stem, inches=False)
        return {"read": dropped(self.made(), path, how={}, begun=begun)}

    def files(self) -> list[Path]:
        """Return the files that others may write meanwhile: job, plan, what is ticked."""
        found = [] if self.making is None else [self.making.path]
        if self.work is not None:
            found += [self.work.keeper.file, self.work.keeper.folder / TICKED_FILE]
        return found

    def close(self) -> None:
        """End what goes on, saved."""
        if self.work is not None:
            self.work.close()


Answer = Callable[[Page, Json], Any]


def _state(page: Page, asked: Json) -> Json:
    if page.work is None and page.making is None:
        return {"job": None, "begin": beginnings(page.folder)}
    if page.work is None:
        return shown.beginning(page.made())
    views = [] if page.making is None else ["pattern", "goods"]
    return {**shown.overview(page.work), "views": [*views, "lay", "buy", "cut"]}


def _open(page: Page, asked: Json) -> Json:
    if page.work is not None or page.making is not None:
        raise JobError("a job is open already", hint="start thriftlay page again for another")
    page.open(chosen(page.folder, kind=str(asked.get("kind")), name=str(asked.get("file"))))
    return _state(page, {})


def _begin(page: Page, asked: Json) -> Json:
    if page.work is not None or page.making is not None:
        raise JobError("a job is open already", hint="start thriftlay page again for another")
    name = str(asked.get("name") or "").strip()
    if not name or len(name) > 200:
        raise JobError("the bag has no name", hint="give it one")
    page.making = JobFile.begun(page.folder, name=name, inches=asked.get("unit") == "in")
    return {}


def _making(page: Page, asked: Json) -> Json:
    page.made().read_again()
    return making(page.made())


def _piece(page: Page, asked: Json) -> Json:
    return at_piece(page.made(), asked)


def _turned(page: Page, asked: Json) -> Json:
    return turned(page.made(), asked)


def _picture(page: Page, asked: Json) -> Response:
    """Show a picture that lies beside the job."""
    return beside_job(page.made().path.parent, str(asked.get("name")))


def _edit(page: Page, asked: Json) -> Json:
    file = page.made()
    told = asked.pop("seen", None)
    seen = None if told is None else str(told)
    taken = asked.get("what") == "print picture"
    made = page.prints.take(file, asked, seen=seen) if taken else edited(file, asked, seen=seen)
    page.news.tell("job")
    return {"seen": made}


def _back(page: Page, asked: Json) -> Json:
    made = page.made().back(str(asked["to"]), seen=str(asked["seen"]))
    page.news.tell("job")
    return {"seen": made}


def _read_so(page: Page, asked: Json) -> Json:
    file = page.made()
    path = file.path.parent / Path(str(asked.get("file"))).name
    if path.suffix.lower() not in PATTERNS or not path.is_file():
        raise JobError("there is no such pattern any more", hint="drop it again")
    how = {key: str(asked[key]) for key in HOW if asked.get(key)}
    told = dropped(file, path, how=how, asked=asked)
    if "seen" in told:
        page.news.tell("job")
    return {"read": told}


def _lay(page: Page, asked: Json) -> Json:
    file = page.made()
    if not file.ready:
        raise JobError(file.trouble)
    if page.work is None:
        page.open(file.path)
    else:
        page.work.search()
    return {}


def _search(page: Page, asked: Json) -> Json:
    only = asked.get("only")
    page.opened().search(None if only is None else str(only), searching_time(asked))
    return {}


def _stop(page: Page, asked: Json) -> Json:
    page.opened().stop()
    return {}


def _keep(page: Page, asked: Json) -> Json:
    work = page.opened()
    if asked.get("which") == "mine":
        work.keep_mine()
    else:
        work.keep_theirs()
    return {}


def _taken_off(page: Page, asked: Json) -> Json:
    told = taken_off(page.made(), page.opened().settled())
    page.news.tell("job")
    return told


def _buying(page: Page, asked: Json) -> Json:
    return shown.buying(page.opened())


def _of_work(answer: Callable[[Work, Json], Any]) -> Answer:
    return lambda page, asked: answer(page.opened(), asked)


ANSWERS: dict[str, tuple[str, Answer]] = {
    "/state": ("GET", _state),
    "/open": ("POST", _open),
    "/making": ("GET", _making),
    "/making/picture": ("GET", _picture),
    "/making/begin": ("POST", _begin),
    "/making/edit": ("POST", _edit),
    "/making/back": ("POST", _back),
    "/making/piece": ("GET", _piece),
    "/making/turned": ("POST", _turned),
    "/making/read": ("POST", _read_so),
    "/making/lay": ("POST", _lay),
    "/search": ("POST", _search),
    "/stop": ("POST", _stop),
    "/keep": ("POST", _keep),
    "/buying": ("GET", _buying),
    "/stock/cut": ("POST", _taken_off),
    **{
        path: (method, _of_work(answer))
        for path, (method, answer) in {
            **hand.ANSWERS,
            **to_files.ANSWERS,
            **ticked.ANSWERS,
            **comparing.ANSWERS,
            **advising.ANSWERS,
            **beside.ANSWERS,
            **true_size.ANSWERS,
            **under.ANSWERS,
        }.items()
    },
}


AT_ONCE = frozenset({"/hand/try"})
"""What takes less than to have a thread do it: a hand that drags waits for it."""


def _route(page: Page, path: str, method: str, answer: Answer) -> Route:
    async def end(request: Request) -> Response:
        asked: Any = dict(request.query_params)
        if method == "POST":
            try:
                asked = json.loads(await request.body() or b"{}")
            except (ValueError, RecursionError):
                asked = None
            if not isinstance(asked, dict):
                return _said("what was sent can't be read", 400)
        try:
            at_once = path in AT_ONCE
            told = answer(page, asked) if at_once else await run_in_threadpool(answer, page, asked)
        except (NestingError, OSError) as error:
            return _refused(error)
        except (TypeError, ValueError, KeyError, IndexError, OverflowError):
            return _said("what was sent can't be used", 400)
        return told if isinstance(told, Response) else JSONResponse(told)

    return Route(path, end, methods=[method])


def _dropped(page: Page, asked: Json, data: bytes) -> Json:
    return page.drop(str(asked.get("name", "")), data)


def _hide_dropped(page: Page, asked: Json, data: bytes) -> Json:
    return picture_taken(page.made().path.parent, str(asked.get("name", "")), data)


def _print_dropped(page: Page, asked: Json, data: bytes) -> Json:
    unit = str(page.made().document.get("job", {}).get("unit", "mm"))
    return page.prints.look(data, asked, unit=unit)


DROPPED: dict[str, Callable[[Page, Json, bytes], Json]] = {
    "/drop": _dropped,
    "/drop/hide": _hide_dropped,
    "/drop/print": _print_dropped,
}
"""What files are sent to, and who takes them."""


def _drop_route(page: Page, path: str, take: Callable[[Page, Json, bytes], Json]) -> Route:
    async def end(request: Request) -> Response:
        asked, data = dict(request.query_params), await request.body()
        try:
            return JSONResponse(await run_in_threadpool(take, page, asked, data))
        except (NestingError, OSError) as error:
            return _refused(error)

    return Route(path, end, methods=["POST"])


def _refused(error: NestingError | OSError) -> JSONResponse:
    """Say what went wrong, and what to do."""
    if isinstance(error, NestingError):
        return _said(str(error), 409 if isinstance(error, StaleError) else 422)
    said = f"a file can't be used: {(error.strerror or str(error)).lower()}"
    full = error.errno in (errno.ENOSPC, errno.EDQUOT)
    return _said(f"{said} (make room on the disk, then do it again)" if full else said, 422)


def _said(text: str, status: int) -> JSONResponse:
    return JSONResponse({"trouble": text}, status_code=status)


def page_app(page: Page, *, hosts: Collection[str], keys: Keys) -> ASGIApp:
    """Return the server's application, guarded."""

    async def first(request: Request) -> Response:
        return FileResponse(STATIC / "index.html")

    async def heard(request: Request) -> Response:
        if page.news.full:
            return _said("too many pages are open", 503)
        return StreamingResponse(page.news.heard(), media_type="text/event-stream")

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        page.news.begin()
        watch = Watch(page.files, lambda: page.news.tell("disk"))
        yield
        await run_in_threadpool(watch.end)
        await run_in_threadpool(page.close)

    async def refused(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        return _said("there is nothing of that name here", status)

    routes: list[Any] = [
        Route("/", first),
        Route("/news", heard),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    routes += [_drop_route(page, path, take) for path, take in DROPPED.items()]
    routes += [_route(page, path, *how) for path, how in ANSWERS.items()]
    app = Starlette(routes=routes, lifespan=life, exception_handlers={404: refused, 405: refused})
    return Guard(app, hosts=hosts, keys=keys)
