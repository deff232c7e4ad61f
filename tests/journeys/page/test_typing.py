"""What is typed outlives news; what was refused is not shown; two tabs don't undo each other."""

from __future__ import annotations

import time
from pathlib import Path

from playwright.sync_api import Browser, Page, Route, expect

from tests.journeys.page.browsing import opened, served

JOB = """# a bag
[job]
name = "Pouch"
unit = "cm"

[[cloth]]
name = "canvas"
width = "140 cm"

[cloth.print]
along = "32 cm"

[[piece]]
name = "front"
rectangle = [24, 18]

[[piece.mark]]
kind = "drill"
at = [6, 9]
size = "4 mm"

[[cut]]
piece = "front"
material = "canvas"
"""


def slowly(page: Page) -> None:
    """Have every change take a while, so that one goes on before it is answered."""

    def later(route: Route) -> None:
        time.sleep(0.5)
        route.continue_()

    page.route("**/making/edit", later)


def test_what_is_typed_stays_and_what_was_refused_does_not(
    browser: Browser, tmp_path: Path
) -> None:
    job = tmp_path / "pouch.toml"
    job.write_text(JOB, encoding="utf-8")
    with served(job, folder=tmp_path) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Goods").click()
        canvas = page.get_by_role("group", name="canvas")
        canvas.get_by_text("Its print").press("Enter")
        # One change is refused while the next is on its way: that one is taken all the same.
        slowly(page)
        along, across = (canvas.get_by_label(f"{way} after") for way in ("along", "across"))
        along.fill("far")
        page.keyboard.press("Tab")
        across.fill("24 cm")
        page.keyboard.press("Tab")
        expect(canvas.get_by_text("32 cm along, 24 cm across")).to_be_visible()
        expect(along).to_have_value("32 cm")
        expect(across).to_have_value("24 cm")
        assert 'across = "24 cm"' in job.read_text(encoding="utf-8")
        # A form that is filled in, and a field that is, while another program writes the file.
        canvas.get_by_text("Left-overs and stock").press("Enter")
        canvas.get_by_label("left-over called").fill("rest of May")
        canvas.get_by_label("width as sold").fill("150 cm")
        page.locator("legend", has_text="canvas").evaluate("e => e.append(' as it was')")
        job.write_text(job.read_text().replace("# a bag", "# our bag"), encoding="utf-8")
        expect(page.get_by_text("as it was")).to_have_count(0)  # drawn anew
        expect(canvas.get_by_label("width as sold")).to_be_focused()
        expect(canvas.get_by_label("width as sold")).to_have_value("150 cm")
        expect(canvas.get_by_label("left-over called")).to_have_value("rest of May")
        page.keyboard.press("Tab")
        expect(page.locator(".keep")).to_contain_text("Saved")
        said = job.read_text(encoding="utf-8")
        assert "# our bag" in said
        assert 'width = "150 cm"' in said
        # What she overwrites she has to have seen.
        canvas.get_by_label("width as sold").fill("160 cm")
        job.write_text(said.replace('"150 cm"', '"148 cm"'), encoding="utf-8")
        expect(canvas.get_by_label("width as sold")).to_have_value("148 cm")
        # Of a piece, too.
        page.get_by_role("link", name="Pattern").click()
        page.get_by_role("button", name="Work on front").click()
        page.get_by_label("In hand").select_option("mark 0")
        page.locator("#piece-at").fill("8 cm x 90 cm")
        page.keyboard.press("Tab")
        expect(page.locator("[role=alert]")).to_contain_text("off the piece")
        expect(page.locator("#piece-at")).to_have_value("6 x 9")
        page.locator("#draw-new").click()
        page.locator("#new-strap-name").fill("strap")
        page.get_by_label("The grain runs").select_option("across")
        expect(page.locator(".keep")).to_contain_text("Saved")
        expect(page.get_by_label("degrees")).to_have_value("90")
        expect(page.locator("#new-strap-name")).to_have_value("strap")


def test_two_tabs_do_not_undo_each_other(browser: Browser, tmp_path: Path) -> None:
    job = tmp_path / "pouch.toml"
    job.write_text(JOB, encoding="utf-8")
    with served(job, folder=tmp_path) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Pattern").click()
        page.get_by_role("button", name="Work on front").click()
        page.get_by_label("In hand").select_option("edge 1")
        other = page.context.new_page()
        other.route("**/news", lambda route: route.abort())  # it hears of nothing
        other.goto(page.url)
        other.get_by_role("button", name="Work on front").click()
        other.get_by_label("In hand").select_option("edge 1")
        expect(other.locator("#piece-allowance")).to_have_value("")
        other.wait_for_load_state("networkidle")  # and has asked for nothing that comes later
        page.locator("#piece-allowance").fill("2")
        page.keyboard.press("Tab")
        expect(page.locator("#piece-allowance")).to_have_value("20 mm")
        other.locator("#piece-allowance").fill("1")
        other.keyboard.press("Tab")
        expect(other.locator("[role=alert]")).to_contain_text("changed elsewhere")
        expect(other.locator("#piece-allowance")).to_have_value("20 mm")
        assert "{1 = 2}" in job.read_text(encoding="utf-8")
        # Having seen it, she may.
        other.locator("#piece-allowance").fill("1")
        other.keyboard.press("Tab")
        expect(other.locator("#piece-allowance")).to_have_value("10 mm")
        expect(page.locator("#piece-allowance")).to_have_value("10 mm")
