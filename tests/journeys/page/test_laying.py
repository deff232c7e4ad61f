"""From a job to markers that were found, moved by hand, and files."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from nesting import Marker, check, figures, load_plan
from tests.journeys.page.browsing import SLOW, axe_finds_nothing, box_of, opened, served

SAMPLES = Path(__file__).resolve().parents[3] / "sample_markers"


def first_place(plan: Path) -> tuple[float, float, float, bool]:
    placement = load_plan(plan).entries[0].marker.placements[0]
    return (placement.x, placement.y, placement.angle, placement.flipped)


def is_saved(page: Page) -> None:
    expect(page.locator(".keep")).to_contain_text("Saved in", timeout=SLOW)


def marker_of(plan: Path) -> Marker:
    return load_plan(plan).entries[0].marker


def saved_anew(page: Page, plan: Path, *, before: Marker) -> Marker:
    """Wait until another marker is on disk, which "Saved" of the one before doesn't say."""
    for _ in range(SLOW // 50):
        if (now := marker_of(plan)) != before:
            is_saved(page)
            return now
        page.wait_for_timeout(50)
    raise AssertionError("nothing was saved anew")


def take(page: Page, part: int) -> None:
    page.get_by_label("Part in hand").select_option(str(part))
    page.locator("svg.marker").focus()


def drag(page: Page, part: int, *, along: float) -> None:
    """Drag a part by so many pixels with the mouse, and wait for the answer."""
    # Once names are there, the page stays as it is.
    page.locator("svg.marker text").first.wait_for(state="attached")
    page.wait_for_timeout(300)
    marker = page.locator("svg.marker")
    before = marker.get_attribute("data-version") or ""
    box = box_of(page.locator(f"svg.marker [data-part='{part}']"))
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + along / 2, y, steps=6)
    page.mouse.move(x + along, y, steps=6)
    page.mouse.up()
    expect(marker).not_to_have_attribute("data-version", before)


def test_from_no_job_to_a_sample_laid_and_printed(browser: Browser, tmp_path: Path) -> None:
    with served("--time", "2s", folder=tmp_path) as server, opened(browser, server.address) as page:
        expect(page.get_by_role("heading", level=1)).to_have_text("What would you like to lay?")
        assert "key=" not in page.url
        axe_finds_nothing(page)
        page.locator("[aria-describedby='samples-tool_roll/tool_roll.toml']").click()
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_role("button", name="Search on").wait_for()
        is_saved(page)
        plan = tmp_path / "samples" / "tool_roll" / "tool_roll-laid" / "plan.json"
        assert all(entry.good for entry in load_plan(plan).entries)
        axe_finds_nothing(page)
        page.get_by_role("link", name="Buy").click()
        expect(page.locator("tbody th").first).to_be_visible()
        axe_finds_nothing(page)
        page.get_by_role("link", name="Cut", exact=True).click()
        page.get_by_role("button", name="Write DXF").click()
        page.get_by_role("link", name="report.html").wait_for()
        page.get_by_role("button", name="Make the PDF").click()
        with page.expect_download() as waiting:
            page.get_by_role("link", name="markers-a4.pdf").click()
        axe_finds_nothing(page)
        assert Path(waiting.value.path()).read_bytes().startswith(b"%PDF")
        names = {path.name for path in plan.parent.iterdir()}
        assert {"report.html", "waxed-canvas.dxf", "markers-a4.pdf"} <= names
        status, said = server.interrupt()
        assert (status, "the markers are in" in said) == (0, True)
        assert {path.name for path in plan.parent.iterdir()} == names


def test_a_part_moved_by_keys_is_judged_undone_and_saved(browser: Browser, laid: Path) -> None:
    before = first_place(laid)
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker .part").first.wait_for()
        take(page, 0)
        page.keyboard.press("Shift+ArrowLeft")
        expect(page.locator(".verdict")).to_contain_text("reaches 10.000 mm beyond the start")
        expect(page.locator(".ring").first).to_be_visible()
        expect(page.locator(".says .bad-word").first).to_contain_text("fault")
        is_saved(page)
        assert first_place(laid) == (before[0] - 10.0, *before[1:])
        axe_finds_nothing(page)
        page.keyboard.press("ArrowUp")
        page.keyboard.press("t")
        page.keyboard.press("m")
        expect(page.locator(".verdict")).to_contain_text("lies face down")
        for _ in range(4):
            page.keyboard.press("z")
        expect(page.get_by_role("button", name="Undo")).to_have_attribute("aria-disabled", "true")
        expect(page.locator(".says .good").first).to_be_visible()
        is_saved(page)
        assert first_place(laid) == before
        page.keyboard.press("y")
        expect(page.locator(".says .bad-word").first).to_be_visible()


def test_a_part_is_dragged_slides_to_touch_and_the_page_says_what_is_on_disk(
    browser: Browser, laid: Path
) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        last = page.locator("svg.marker .part").last
        last.wait_for()
        number = int(last.get_attribute("data-part") or "-1")
        was = load_plan(laid).entries[0].marker.placements[number]
        drag(page, number, along=120)
        expect(page.locator(".verdict .good")).to_be_visible()
        is_saved(page)
        now = load_plan(laid).entries[0].marker.placements[number]
        assert now.x > was.x + 50
        assert now.y == pytest.approx(was.y, abs=0.01)
        page.get_by_label("When let go").select_option("start")
        drag(page, number, along=60)
        expect(page.locator(".verdict .good")).to_be_visible()
        is_saved(page)
        plan = load_plan(laid)
        assert plan.entries[0].marker.placements[number].x < now.x
        assert check(plan.entries[0].marker) == ()
        # Killed at once, it comes back with what was said to be saved.
        server.kill()
        expect(page.locator("[role=alert]")).to_contain_text("lost its server", timeout=SLOW)
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker .part").first.wait_for()
        assert load_plan(laid) == plan


def test_killed_in_the_middle_of_a_search_it_comes_back_with_what_was_saved(
    browser: Browser, tmp_path: Path
) -> None:
    job = Path(shutil.copytree(SAMPLES / "foam", tmp_path / "foam")) / "foam.toml"
    shutil.rmtree(tmp_path / "foam" / "laid", ignore_errors=True)
    asked = ("--time", "10 min", job)
    with served(*asked, folder=tmp_path) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Lay").click()
        page.locator("svg.marker .part").first.wait_for()
        is_saved(page)
        expect(page.get_by_role("button", name="Stop with the best so far")).to_be_visible()
        server.kill()
        expect(page.locator("[role=alert]")).to_contain_text("lost its server", timeout=SLOW)
    (stored,) = (tmp_path / "foam").glob("*-laid/plan.json")
    kept = load_plan(stored)
    assert kept.entries[0].marker.placements
    with served(stored, folder=tmp_path) as server, opened(browser, server.address) as page:
        expect(page.locator("svg.marker .part")).not_to_have_count(0)
        assert load_plan(stored) == kept


def test_two_tabs_and_the_command_never_overwrite_silently(browser: Browser, laid: Path) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as one:
        one.locator("svg.marker .part").first.wait_for()
        with opened(browser, server.address) as other:
            other.locator("svg.marker .part").first.wait_for()
            take(other, 0)
            laid_first = marker_of(laid)
            other.keyboard.press("ArrowRight")
            others = saved_anew(other, laid, before=laid_first)
            version = other.locator("svg.marker").get_attribute("data-version")
            expect(one.locator("svg.marker")).to_have_attribute("data-version", version or "")
            take(one, 1)  # the first tab was told, and goes on from there
            one.keyboard.press("ArrowRight")
            moved = saved_anew(one, laid, before=others)
        stored = json.loads(laid.read_text())
        stored["plan"]["seconds"] = 77.0
        laid.write_text(json.dumps(stored))
        theirs = laid.read_bytes()
        one.keyboard.press("ArrowRight")
        expect(one.locator(".keep")).to_contain_text("Not saved")
        assert laid.read_bytes() == theirs
        axe_finds_nothing(one)
        one.get_by_role("button", name="Keep what this page shows").click()
        saved_anew(one, laid, before=moved)


def test_what_waits_for_its_turn_is_not_said_to_be_saved(browser: Browser, laid: Path) -> None:
    late: list[Route] = []
    named = re.compile(r"/marker\?marker=\d+&sheet=0$")
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker .part").first.wait_for()
        is_saved(page)
        page.route(named, lambda route: late.append(route))  # names of parts take their time
        page.get_by_role("button", name="Foam", exact=True).click()
        foam = page.get_by_role("region", name="Foam")
        foam.locator("svg.marker .part").first.wait_for()
        foam.get_by_label("Part in hand").select_option(index=1)
        foam.locator("svg.marker").first.focus()
        page.keyboard.press("ArrowRight")
        expect(page.locator(".keep")).not_to_contain_text("Saved in", timeout=2_000)
        page.unroute(named)  # now they come
        is_saved(page)


def test_a_marker_with_faults_gives_files_only_if_she_insists(browser: Browser, laid: Path) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker .part").first.wait_for()
        take(page, 0)
        page.keyboard.press("Shift+ArrowLeft")
        is_saved(page)
        page.get_by_role("link", name="Cut", exact=True).click()
        page.get_by_role("button", name="Write DXF").click()
        page.get_by_role("link", name="report.html").wait_for()
        assert not (laid.parent / "Waxed-canvas.svg").exists()
        page.get_by_role("button", name="Make the PDF").click()
        expect(page.locator("[role=alert]")).to_contain_text("is not good")
        page.get_by_label("I want files of markers with faults").check()
        page.get_by_role("button", name="Write DXF").click()
        page.get_by_role("link", name="Waxed-canvas.svg").wait_for()
        assert "DO NOT CUT" in (laid.parent / "Waxed-canvas.svg").read_text()


def test_narrow_dark_and_without_motion(browser: Browser, laid: Path) -> None:
    with (
        served(laid, folder=laid.parent) as server,
        opened(
            browser,
            server.address,
            viewport={"width": 390, "height": 800},
            color_scheme="dark",
            reduced_motion="reduce",
        ) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        for view in ("Lay", "Buy", "Cut"):
            page.get_by_role("link", name=view, exact=True).click()
            page.wait_for_timeout(300)
            axe_finds_nothing(page)
            wide = page.evaluate("document.documentElement.scrollWidth")
            assert wide <= 390, view
            if view == "Buy":  # in the shop: what, how much, at what cost
                for head in ("What", "Buy", "Cost"):
                    box = page.get_by_role("columnheader", name=head).first.bounding_box()
                    assert box is not None
                    assert box["x"] + box["width"] <= 390, head
        # At the table: the list is one step away, though the cautions stand first.
        page.get_by_role("navigation", name="On this page").get_by_role(
            "button", name="Cut them one by one"
        ).click()
        expect(page.get_by_role("heading", name="Cut them one by one")).to_be_focused()
        expect(page.locator("details.ticking summary").first).to_be_in_viewport()


def test_names_are_text_everywhere(browser: Browser, laid: Path) -> None:
    text = laid.read_text(encoding="utf-8")
    for name in ("Front panel", "Waxed canvas", "Market bag", "top <edge>"):
        text = text.replace(name, f"{name} <img src=x onerror='document.title=1'>&amp;${{1}}")
    laid.write_text(text, encoding="utf-8")
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.locator("svg.marker .part").first.wait_for()
        expect(page.locator("header .job")).to_contain_text("<img src=x")
        expect(page.locator("svg.marker")).to_contain_text("<img src=x")
        for view in ("Buy", "Cut"):
            page.get_by_role("link", name=view, exact=True).click()
            expect(page.locator("main")).to_contain_text("Waxed canvas <img src=x")
        assert page.locator("img").count() == 0
        assert page.title().startswith("Cut")


def test_a_part_is_held_and_the_rest_is_laid_round_it(browser: Browser, tmp_path: Path) -> None:
    shutil.copy(SAMPLES / "tool_roll" / "laid" / "plan.json", tmp_path)
    laid = tmp_path / "plan.json"
    with (
        served(laid, "--time", "4s", folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_label("Part in hand").select_option(label="dust flap")
        page.locator("svg.marker").focus()
        for _ in range(30):
            page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("h")
        expect(page.locator(".pinned")).to_have_count(1)
        expect(page.get_by_role("button", name="Let it go")).to_be_visible()
        is_saved(page)
        held = load_plan(laid).entries[0].marker
        page.get_by_role("button", name="Lay the rest round what is held").click()
        page.get_by_role("button", name="Stop with the best so far").wait_for()
        page.get_by_role("button", name="Search on").wait_for()
        is_saved(page)
        found = load_plan(laid).entries[0]
        assert found.good
        where = next(i for i, part in enumerate(held.lay.parts) if part.held)
        assert held.placements[where] in found.marker.placements
        expect(page.locator(".pinned")).to_have_count(1)
        axe_finds_nothing(page)
        page.get_by_role("button", name="Let all go").click()
        expect(page.locator(".pinned")).to_have_count(0)
        loose = saved_anew(page, laid, before=found.marker)
        page.get_by_role("button", name="Push together").click()
        pushed = saved_anew(page, laid, before=loose)
        assert figures(pushed).length < figures(found.marker).length


def test_more_time_for_one_marker_is_what_she_says(browser: Browser, laid: Path) -> None:
    """The page was started with an hour: a search that ends has heard her."""
    with (
        served(laid, "--time", "1h", folder=laid.parent) as server,
        opened(browser, server.address) as page,
    ):
        page.locator("svg.marker .part").first.wait_for()
        one = page.get_by_role("region").filter(has=page.locator("svg.marker"))
        time = one.get_by_label("for (as 30 s, 2 min, 1 h)")
        expect(time).to_have_value("1 h")
        for wrong in ("soon", "0 s", "2 weeks", "99 h"):
            time.fill(wrong)
            one.get_by_role("button", name="More time for this one").click()
            expect(page.locator("main [role=alert]")).to_contain_text("say ")
        expect(page.get_by_role("button", name="Stop with the best so far")).to_have_count(0)
        time.fill("3 seconds")  # long enough to be seen
        one.get_by_role("button", name="More time for this one").click()
        page.get_by_role("button", name="Stop with the best so far").wait_for()
        page.get_by_role("button", name="Search on").wait_for()
        expect(time).to_have_value("3 seconds")
        # All materials, too; what is typed there stays while the markers are drawn anew.
        page.get_by_label("for (as 30 s, 2 min, 1 h)").first.fill("3s")
        page.get_by_role("button", name="Search on").click()
        page.get_by_role("button", name="Stop with the best so far").wait_for()
        page.get_by_role("button", name="Search on").wait_for()
        axe_finds_nothing(page)
        # What else searches waits for a search of an hour, which can be ended there as well.
        page.get_by_label("for (as 30 s, 2 min, 1 h)").first.fill("1 h")
        page.get_by_role("button", name="Search on").click()
        page.get_by_role("button", name="Stop with the best so far").wait_for()
        page.get_by_role("link", name="Buy").click()
        stop = page.get_by_role("button", name="Stop with the best so far")
        find = page.get_by_role("button", name="Find what would save")
        expect(stop).to_be_visible()
        expect(find).to_have_count(0)
        stop.click()
        expect(find).to_be_visible()
        expect(stop).to_have_count(0)
