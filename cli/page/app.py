"""What the page asks and is told: each address of the server, and who answers it."""

from __future__ import annotations

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

from . import hand, shown, to_files
from .begin import beginnings, chosen
from .guard import Guard, Keys
from .news import News
from .work import StaleError, Work

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

    def open(self, path: Path) -> None:
        """Open a job or a plan; search for markers where there are none."""
        work = Work(path, tell=self.news.tell, seconds=self.seconds, workers=self.workers)
        self.work, before = work, self.work
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

    def close(self) -> None:
        """End what goes on, saved."""
        if self.work is not None:
            self.work.close()


Answer = Callable[[Page, Json], Any]


def _state(page: Page, asked: Json) -> Json:
    if page.work is None:
        return {"job": None, "begin": beginnings(page.folder)}
    return shown.overview(page.work)


def _open(page: Page, asked: Json) -> Json:
    if page.work is not None:
        raise JobError("a job is open already", hint="start thriftlay page again for another")
    page.open(chosen(page.folder, kind=str(asked.get("kind")), name=str(asked.get("file"))))
    return _state(page, {})


def _search(page: Page, asked: Json) -> Json:
    only, seconds = asked.get("only"), asked.get("seconds")
    page.opened().search(
        None if only is None else str(only),
        None if seconds is None else min(max(float(seconds), 1.0), 3600.0),
    )
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


def _buying(page: Page, asked: Json) -> Json:
    return shown.buying(page.opened())


def _of_work(answer: Callable[[Work, Json], Any]) -> Answer:
    return lambda page, asked: answer(page.opened(), asked)


ANSWERS: dict[str, tuple[str, Answer]] = {
    "/state": ("GET", _state),
    "/open": ("POST", _open),
    "/search": ("POST", _search),
    "/stop": ("POST", _stop),
    "/keep": ("POST", _keep),
    "/buying": ("GET", _buying),
    **{
        path: (method, _of_work(answer))
        for path, (method, answer) in {**hand.ANSWERS, **to_files.ANSWERS}.items()
    },
}


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
            told = await run_in_threadpool(answer, page, asked)
        except StaleError as error:
            return _said(str(error), 409)
        except NestingError as error:
            return _said(str(error), 422)
        except (TypeError, ValueError, KeyError, IndexError, OverflowError):
            return _said("what was sent can't be used", 400)
        return told if isinstance(told, Response) else JSONResponse(told)

    return Route(path, end, methods=[method])


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
        yield
        await run_in_threadpool(page.close)

    async def refused(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        return _said("there is nothing of that name here", status)

    routes: list[Any] = [
        Route("/", first),
        Route("/news", heard),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    routes += [_route(page, path, *how) for path, how in ANSWERS.items()]
    app = Starlette(routes=routes, lifespan=life, exception_handlers={404: refused, 405: refused})
    return Guard(app, hosts=hosts, keys=keys)
