"""News that come faster than answers: the server is asked once at a time, and once more."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import APIResponse, Browser, Locator, Page, Route, expect

from tests.journeys.page.browsing import SLOW, opened, served

JOB = """[job]
name = "pouch"
[[cloth]]
name = "canvas"
width = "145 cm"
"""
_EDIT = """(count) => fetch('/making/edit', {method: 'POST',
  body: JSON.stringify({what: 'job', bags: String(count)})})"""
_BEGIN = """fetch('/advice/begin', {method: 'POST',
  body: JSON.stringify({only: '', minutes: 1, widths: ''})})"""
_RUNNING = "fetch('/advice').then((answer) => answer.json()).then((now) => now.running)"
_HIDDEN = """(hidden) => {
  Object.defineProperty(document, 'hidden', {value: hidden, configurable: true});
  document.dispatchEvent(new Event('visibilitychange'));
}"""


def only_one(page: Page, held: list[Route]) -> Route:
    """Wait for a request that is held; return it, if no other follows."""
    for _ in range(SLOW // 50):
        if held:
            break
        page.wait_for_timeout(50)
    page.wait_for_timeout(300)
    (one,) = held
    held.clear()
    return one


def test_while_an_answer_is_waited_for_nothing_is_asked_again(
    browser: Browser, tmp_path: Path
) -> None:
    (tmp_path / "pouch.toml").write_text(JOB)
    with (
        served(tmp_path / "pouch.toml", folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        page.get_by_role("link", name="Goods").click()
        bags = page.get_by_label("how many are made")
        bags.wait_for()
        page.wait_for_timeout(300)  # what the first news ask for is over
        held: list[Route] = []
        holding = True
        page.route("**/making", lambda route: held.append(route) if holding else route.continue_())
        for count in range(2, 8):
            with page.expect_response("**/state"):
                page.evaluate(_EDIT, count)
        only_one(page, held).continue_()
        last = only_one(page, held)
        holding = False  # there may be news of other things by now
        last.continue_()
        expect(bags).to_have_value("7")


def has_ended(page: Page) -> None:
    """Wait until nothing looks for advice any more, and the page has heard it."""
    for _ in range(SLOW // 100):
        if not page.evaluate(_RUNNING):
            break
        page.wait_for_timeout(100)
    page.wait_for_timeout(1000)


def _boxes(page: Page) -> Locator:
    """Open the first list of parts to tick off; return its boxes."""
    page.get_by_role("link", name="Cut", exact=True).click()
    page.locator("details.ticking summary").first.click()
    boxes = page.locator("details.ticking").first.get_by_role("checkbox")
    boxes.nth(1).wait_for()
    return boxes


def test_what_was_ticked_while_the_phone_slept_is_seen(browser: Browser, laid: Path) -> None:
    with (
        served(laid, folder=laid.parent) as server,
        opened(browser, server.address) as phone,
        opened(browser, server.address) as other,
    ):
        asleep, boxes = _boxes(phone), _boxes(other)
        phone.evaluate(_HIDDEN, True)
        with other.expect_response("**/cut/tick"):
            boxes.nth(1).check()
        other.wait_for_timeout(2000)  # the news of it are over, those of the file too
        expect(asleep.nth(1)).not_to_be_checked()
        phone.evaluate(_HIDDEN, False)
        expect(asleep.nth(1)).to_be_checked()


def test_whoever_closes_the_page_while_a_change_is_on_its_way_is_asked(
    browser: Browser, laid: Path
) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        boxes = _boxes(page)
        asked: list[str] = []
        page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
        held: list[Route] = []
        page.route("**/cut/tick", lambda route: held.append(route))
        boxes.nth(1).check()
        waiting = only_one(page, held)
        page.close(run_before_unload=True)
        for _ in range(SLOW // 50):
            if asked:
                break
            page.wait_for_timeout(50)
        assert asked == ["beforeunload"]
        waiting.continue_()
        expect(page.locator(".keep")).to_contain_text("Saved")
    assert "Front panel 2" in (laid.parent / "cut.json").read_text()


def test_no_news_is_lost_to_news_of_something_else(browser: Browser, laid: Path) -> None:
    with (
        served(laid, folder=laid.parent) as server,
        opened(browser, server.address) as page,
        opened(browser, server.address) as other,
    ):
        looked_at, boxes = _boxes(page), _boxes(other)
        held: list[Route] = []
        holding = True
        page.route("**/state", lambda route: held.append(route) if holding else route.continue_())
        page.evaluate(_BEGIN)  # its news asks for the state, which waits
        first = only_one(page, held)
        with other.expect_response("**/cut/tick"):
            boxes.nth(1).check()
        page.wait_for_timeout(2000)  # the news of it are over, those of the file too
        page.evaluate("fetch('/advice/stop', {method: 'POST', body: '{}'})")
        has_ended(page)
        holding = False
        first.continue_()
        expect(looked_at.nth(1)).to_be_checked()


def test_an_old_answer_is_not_shown_over_a_newer_one(browser: Browser, laid: Path) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Buy").click()
        heading = page.get_by_role("heading", name="What would save")
        heading.wait_for()
        late: list[tuple[Route, APIResponse]] = []
        holding = True
        page.route(
            "**/advice",
            lambda route: late.append((route, route.fetch())) if holding else route.continue_(),
        )
        page.get_by_role("button", name="Find what would save").click()
        for _ in range(SLOW // 50):
            if late and late[-1][1].json()["running"]:
                break
            page.wait_for_timeout(50)
        holding = False
        stop = page.get_by_role("button", name="Stop with the best so far")
        page.evaluate("fetch('/advice/stop', {method: 'POST', body: '{}'})")
        has_ended(page)
        for route, answer in late:  # it was running then
            route.fulfill(response=answer)
        page.wait_for_timeout(500)
        expect(stop).to_have_count(0)
