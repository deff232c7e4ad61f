"""Nobody gets in who wasn't given the address, and what gets in can do no harm."""

from __future__ import annotations

import errno
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from starlette.testclient import TestClient
from thriftlay.page.app import ANSWERS, DROPPED, STATIC, Page, page_app
from thriftlay.page.guard import CONTENT, Keys
from thriftlay.page.news import MOST
from thriftlay.page.server import address_of, hosts_of, listening

from nesting.errors import JobError
from nesting.planning.plan import Plan
from nesting.planning.plan_file import save_plan

HOST = "127.0.0.1:8000"
OURS = f"http://{HOST}"


@pytest.fixture
def keys() -> Keys:
    return Keys()


@pytest.fixture
def client(tmp_path: Path, keys: Keys, hand_laid_plan: Plan) -> Iterator[TestClient]:
    """Return a browser that was not given the address yet."""
    folder = tmp_path / "work" / "laid"
    folder.mkdir(parents=True)
    (tmp_path / "secret.json").write_text('{"not": "yours"}')
    save_plan(hand_laid_plan, folder / "plan.json")
    page = Page(tmp_path / "work")
    page.open(folder / "plan.json")
    app = page_app(page, hosts=hosts_of("127.0.0.1", 8000), keys=keys)
    with TestClient(app, base_url=OURS, raise_server_exceptions=False) as client:
        yield client


@pytest.fixture
def inside(client: TestClient, keys: Keys) -> TestClient:
    assert client.get("/", params={"key": keys.address}).status_code == 200
    return client


def test_the_address_opens_and_the_cookie_is_strict(client: TestClient, keys: Keys) -> None:
    assert client.get("/").status_code == 403
    answer = client.get("/", params={"key": keys.address})
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert keys.address not in cookie
    assert client.get("/state").status_code == 200


def test_the_key_that_the_browser_is_opened_with_is_good_once(
    client: TestClient, keys: Keys
) -> None:
    once = keys.once
    assert client.get("/", params={"key": once}).status_code == 200
    client.cookies.clear()
    assert client.get("/", params={"key": once}).status_code == 403
    assert client.get("/", params={"key": ""}).status_code == 403


@pytest.mark.parametrize("path", ["/", "/static/main.js", "/news", *DROPPED, *ANSWERS])
def test_without_the_cookie_there_is_nothing(client: TestClient, path: str) -> None:
    method = ANSWERS[path][0] if path in ANSWERS else "GET"
    answer = client.request(method, path, headers={"Origin": OURS})
    assert answer.status_code == 403
    client.cookies.set("thriftlay-8000", "x" * 43)
    assert client.request(method, path, headers={"Origin": OURS}).status_code == 403


@pytest.mark.parametrize(
    "host", ["evil.example:8000", "evil.example", "127.0.0.1", "127.0.0.1:80", "localhost:8001", ""]
)
def test_names_that_were_made_to_point_here_are_refused(inside: TestClient, host: str) -> None:
    """DNS rebinding: the attacker's name leads here, and `Host` still says it."""
    assert inside.get("/state", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1:8001", ""])
@pytest.mark.parametrize("path", ["/stop", "/state"])
def test_pages_of_others_are_refused(inside: TestClient, origin: str, path: str) -> None:
    method = ANSWERS[path][0]
    assert inside.request(method, path, headers={"Origin": origin}).status_code == 403


def test_what_changes_anything_has_to_say_where_it_comes_from(inside: TestClient) -> None:
    assert inside.post("/stop", json={}).status_code == 403
    assert inside.post("/stop", json={}, headers={"Origin": OURS}).status_code == 200
    assert inside.get("/stop").status_code == 405
    for method in ("PUT", "DELETE", "OPTIONS"):
        assert inside.request(method, "/stop", headers={"Origin": OURS}).status_code == 405


@pytest.mark.parametrize("path", ["/", "/state", "/static/main.js", "/nothing", "/stop"])
def test_every_answer_says_what_the_page_may_do(inside: TestClient, path: str) -> None:
    headers = inside.get(path).headers
    assert headers["content-security-policy"] == CONTENT
    assert "unsafe" not in CONTENT
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2f..%2fmain.py",
        "/static//etc/passwd",
        "/static/%00",
        "/file?name=../secret.json",
        "/file?name=..%2F..%2Fsecret.json",
        "/file?name=/etc/passwd",
        "/file?name=plan.json%00",
        "/../../etc/passwd",
    ],
)
def test_no_path_leads_out(inside: TestClient, path: str) -> None:
    answer = inside.get(path)
    assert answer.status_code in (400, 404, 422)
    assert "yours" not in answer.text
    assert "root:" not in answer.text
    assert "import" not in answer.text


def test_what_is_too_large_is_refused_before_it_is_read(inside: TestClient) -> None:
    origin = {"Origin": OURS}
    assert inside.post("/stop", content=b" " * 1_000_001, headers=origin).status_code == 413
    drop = inside.post("/drop?name=a.svg", content=b" " * 100_000_001, headers=origin)
    assert drop.status_code == 413
    sent = inside.post("/stop", content=iter([b"{}"]), headers=origin)
    assert sent.status_code == 411
    lying = inside.post("/stop", content=b"{}", headers={**origin, "Content-Length": "-1"})
    assert lying.status_code == 413


@pytest.mark.parametrize(
    "body",
    [b"{", b"[]", b"null", b'"x"', b"[" * 100_000, b'{"marker": "x"}', b'{"marker": 1e400}'],
)
def test_what_cannot_be_read_is_refused_in_words(inside: TestClient, body: bytes) -> None:
    answer = inside.post("/hand/move", content=body, headers={"Origin": OURS})
    assert answer.status_code == 400
    assert answer.json()["trouble"]


@pytest.mark.parametrize(
    "asked",
    [
        {"marker": 99, "part": 0, "version": 1},
        {"marker": -1, "part": 0, "version": 1},
        {"marker": 0, "part": 999, "version": 1},
        {"marker": 0, "part": 0, "version": 1, "along": "1e999"},
        {"marker": 0, "part": 0, "version": 1, "along": "nan"},
        {"marker": 0, "part": 0, "version": 1, "turn": 1e300},
    ],
)
def test_what_is_not_there_is_refused_in_words(
    inside: TestClient, asked: dict[str, object]
) -> None:
    before = inside.get("/marker", params={"marker": 0}).json()
    answer = inside.post("/hand/move", json=asked, headers={"Origin": OURS})
    assert answer.status_code in (400, 422)
    assert inside.get("/marker", params={"marker": 0}).json() == before


def test_a_full_disk_is_said_where_something_is_brought_and_nothing_is_half_kept(
    tmp_path: Path, keys: Keys, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = tmp_path / "bag.toml"
    job.write_text('[job]\nname = "bag"\n[[leather]]\nname = "calf"\n')
    page = Page(tmp_path)
    page.open(job)
    held = io.BytesIO()
    Image.new("RGB", (800, 600)).save(held, "PNG")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    for where in ("making", "job_file", "seen.kept"):
        monkeypatch.setattr(f"thriftlay.page.{where}.whole_file", full)
    before = sorted(tmp_path.iterdir())
    app = page_app(page, hosts=hosts_of("127.0.0.1", 8000), keys=keys)
    with TestClient(app, base_url=OURS, raise_server_exceptions=False) as client:
        client.get("/", params={"key": keys.address})
        origin = {"Origin": OURS}
        edit = b'{"what": "job", "name": "other"}'
        for path, data in (
            ("/drop?name=a.svg", b"<svg/>"),
            ("/drop/hide?name=a.png", held.getvalue()),
            ("/making/edit", edit),
        ):
            answer = client.post(path, content=data, headers=origin)
            assert answer.status_code == 422, path
            assert "no space left on device (make room on the disk" in answer.json()["trouble"]
        assert client.get("/making").json()["name"] == "bag"
    assert sorted(tmp_path.iterdir()) == before


def test_pictures_may_be_as_large_as_patterns(tmp_path: Path, keys: Keys) -> None:
    """A telephone's photograph has some 3 to 8 MB; what is no file is refused at 1 MB.

    These bytes are no picture, which is told once they are read.
    """
    job = tmp_path / "bag.toml"
    job.write_text('[job]\nname = "bag"\n[[leather]]\nname = "calf"\n')
    page = Page(tmp_path)
    page.open(job)
    app = page_app(page, hosts=hosts_of("127.0.0.1", 8000), keys=keys)
    large = b"\xff" * 3_000_000
    with TestClient(app, base_url=OURS, raise_server_exceptions=False) as client:
        client.get("/", params={"key": keys.address})
        for path in DROPPED:
            answer = client.post(f"{path}?name=a.png", content=large, headers={"Origin": OURS})
            assert answer.status_code == 422, path
        answer = client.post("/making/edit", content=large, headers={"Origin": OURS})
        assert answer.status_code == 413


def test_a_hundred_tabs_hear_no_more_than_there_is_room_for(tmp_path: Path) -> None:
    page = Page(tmp_path)
    heard = [page.news.heard() for _ in range(100)]

    async def listen() -> int:
        refused = 0
        page.news.begin()
        for one in heard:
            if page.news.full:
                refused += 1
                continue
            await one.__anext__()
        for one in heard:
            await one.aclose()
        return refused

    import asyncio

    assert asyncio.run(listen()) == 100 - MOST
    assert not page.news.full


def test_the_page_holds_no_markup_that_is_made_of_text() -> None:
    for path in STATIC.glob("*.js"):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacent|document\.write|eval\(", text)
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    assert not re.search(r"\son\w+=|style=|<script(?! type=\"module\" src=\"/static)", page)


def test_the_page_is_small_and_its_own() -> None:
    files = [path for path in STATIC.rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in files) < 500_000
    for path in files:
        said = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://", said), path


def test_it_listens_at_one_address_of_this_machine() -> None:
    assert address_of("127.0.0.1") == "127.0.0.1"
    for host in ("0.0.0.0", "::", "workshop.example", "224.0.0.1"):
        with pytest.raises(JobError, match="address"):
            address_of(host)
    assert hosts_of("192.168.1.20", 81) == {"192.168.1.20:81"}
    assert "localhost:81" in hosts_of("127.0.0.1", 81)
    with listening("127.0.0.1", 0) as door:
        door.listen()
        with pytest.raises(JobError, match="can't listen"):
            listening("127.0.0.1", door.getsockname()[1])


@pytest.mark.parametrize("name", ["../secret.json", "../../etc/passwd", "/etc/passwd", "..", ""])
@pytest.mark.parametrize("path", ["/open", "/making/read"])
def test_no_name_that_is_sent_leads_out(tmp_path: Path, keys: Keys, path: str, name: str) -> None:
    work = tmp_path / "work"
    work.mkdir()
    (tmp_path / "secret.json").write_text("yours")
    page = Page(work)
    if path == "/making/read":
        (work / "bag.toml").write_text('[job]\nname = "bag"\n')
        page.open(work / "bag.toml")
    app = page_app(page, hosts=hosts_of("127.0.0.1", 8000), keys=keys)
    with TestClient(app, base_url=OURS, raise_server_exceptions=False) as client:
        client.get("/", params={"key": keys.address})
        for kind in ("here", "samples"):
            asked = {"file": name, "kind": kind}
            answer = client.post(path, json=asked, headers={"Origin": OURS})
            assert answer.status_code == 422
            assert "there is no such" in answer.json()["trouble"]
            assert "yours" not in answer.text


def test_what_is_dropped_lies_in_the_folder_whatever_it_is_called(inside: TestClient) -> None:
    """The job that is open has no file, so nothing may come beside it."""
    answer = inside.post(
        "/drop", params={"name": "../../a.svg"}, content=b"<svg/>", headers={"Origin": OURS}
    )
    assert answer.status_code == 422


def test_dropped_files_are_named_safely_and_no_more_than_so_many(
    tmp_path: Path, keys: Keys
) -> None:
    work = tmp_path / "work"
    work.mkdir()
    (work / "bag.toml").write_text('[job]\nname = "bag"\n')
    page = Page(work)
    page.open(work / "bag.toml")
    app = page_app(page, hosts=hosts_of("127.0.0.1", 8000), keys=keys)
    with TestClient(app, base_url=OURS, raise_server_exceptions=False) as client:
        client.get("/", params={"key": keys.address})
        for name in ("../up.svg", "/etc/root.svg", "..\\..\\back.svg", ".hidden.svg", "a\0b.svg"):
            client.post(
                "/drop",
                params={"name": name},
                content=f"<svg>{name[1:4]}</svg>".encode(),
                headers={"Origin": OURS},
            )
        kept = [path for path in work.rglob("*") if path.suffix == ".svg"]
        assert all(path.parent == work and not path.name.startswith(".") for path in kept)
        assert [path.name for path in tmp_path.iterdir()] == ["work"]
        for number in range(301):
            (work / f"{number}.txt").touch()
        answer = client.post(
            "/drop", params={"name": "b.svg"}, content=b"<svg>b</svg>", headers={"Origin": OURS}
        )
        assert answer.status_code == 422
        assert "so many files" in answer.json()["trouble"]
        assert not (work / "b.svg").exists()
