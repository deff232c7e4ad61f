"""``thriftlay page``: the work in the browser, served by this machine to itself."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from ..arguments import duration, new_command, whole
from ..interrupt import ENDED, no_more
from ..say import say

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "page",
        about="open a page in the browser to lay a job on, move parts and print",
        example="thriftlay page tote.toml",
    )
    parser.add_argument(
        "job",
        type=Path,
        nargs="?",
        metavar="JOB.toml|plan.json",
        help="a job, or the plan of a folder (default: choose on the page)",
    )
    parser.add_argument(
        "--time", type=duration, default=30.0, metavar="T", help="of a search (default 30s)"
    )
    parser.add_argument(
        "--workers",
        type=whole,
        metavar="N",
        help="how many searches side by side (default: one a core)",
    )
    parser.add_argument("--no-open", action="store_true", help="print the address only")
    parser.add_argument(
        "--host",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="an address of this machine that others reach, for a tablet in the workshop",
    )
    parser.add_argument(
        "--port", type=whole, default=0, metavar="N", help="to listen at (default: a free one)"
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Serve the page until Ctrl-C."""
    from nesting.planning.running.server import start_server

    start_server(behind=True)  # what searches come from, before there are threads
    from ..page.app import Page
    from ..page.guard import Keys
    from ..page.server import address_of, hosts_of, listening, serve

    door = listening(address_of(arguments.host), arguments.port)
    with door:
        page = Page(Path.cwd(), seconds=arguments.time, workers=arguments.workers)
        if arguments.job is not None:
            page.open(arguments.job)
        keys = Keys()
        host, port = door.getsockname()[:2]
        here = max(hosts_of(host, port), key=lambda name: not name.startswith("localhost"))
        say(f"the page is at http://{here}/?key={keys.address}")
        if not host.startswith(("127.", "::1")):
            say(
                f"whoever has this address and reaches {host} can see this job, change it and"
                f" write files beside it; what is sent can be read by others in that network",
                trouble=True,
            )
        say("Ctrl-C ends it; what was laid is saved", trouble=True)
        sys.stdout.flush()
        saved = serve(page, door, keys, browse=not arguments.no_open)
    no_more()
    if not saved:
        return ENDED
    work = page.work
    if work is not None and work.unsaved:
        say(f"thriftlay: not saved: {work.unsaved}", trouble=True)
        return 2
    where = "" if work is None else f"; the markers are in {work.keeper.folder}"
    say(f"the page is closed{where}")
    return 0
