"""News that come faster than answers: the server is asked once at a time, and once more."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, Route, expect

from tests.journeys.page.browsing import opened, served

JOB = """[job]
name = "pouch"
[[cloth]]
name = "canvas"
width = "145 cm"
"""
_EDIT = """(count) => fetch('/making/edit', {method: 'POST',
  body: JSON.stringify({what: 'job', bags: String(count)})})"""


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
        page.wait_for_timeout(300)
        assert len(held) == 1
        held.pop().continue_()
        page.wait_for_timeout(300)
        (last,) = held
        holding = False  # there may be news of other things by now
        last.continue_()
        expect(bags).to_have_value("7")
