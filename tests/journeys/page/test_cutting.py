"""Cutting from the screen: parts ticked off on a phone, that stay so."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf
from playwright.sync_api import APIResponse, Browser, Route, expect

from nesting.planning.plan_file import load_plan
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

SHOPS = Path(__file__).resolve().parents[3] / "sample_markers" / "shops"


def test_parts_are_ticked_off_on_a_phone_and_stay_so(browser: Browser, laid: Path) -> None:
    phone = {"width": 390, "height": 800}
    entry = load_plan(laid).entries[0]
    with served(laid, folder=laid.parent) as server:
        with opened(browser, server.address, viewport=phone) as page:
            page.get_by_role("link", name="Cut", exact=True).click()
            page.locator("details.ticking summary").first.click()
            boxes = page.locator("details.ticking").first.get_by_role("checkbox")
            expect(boxes).to_have_count(len(entry.marker.placements))
            boxes.nth(0).check()
            boxes.nth(2).check()
            boxes.nth(0).uncheck()
            expect(page.locator(".keep")).to_contain_text("Saved")  # all three, one by one
            left = f"{len(entry.marker.placements) - 1} of {len(entry.marker.placements)} left"
            expect(page.locator("details.ticking summary").first).to_contain_text(left)
            axe_finds_nothing(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
        with opened(browser, server.address) as page:
            page.get_by_role("link", name="Cut", exact=True).click()
            page.locator("details.ticking summary").first.click()
            boxes = page.locator("details.ticking").first.get_by_role("checkbox")
            expect(boxes.nth(2)).to_be_checked()
            expect(boxes.nth(0)).not_to_be_checked()
    third = entry.marker.lay.parts[entry.marker.placements[2].part].name
    held = json.loads((laid.parent / "cut.json").read_text())
    assert held == {entry.marker.lay.name: [third]}


def test_news_of_before_unticks_nothing(browser: Browser, laid: Path) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Cut", exact=True).click()
        page.locator("details.ticking summary").first.click()
        boxes = page.locator("details.ticking").first.get_by_role("checkbox")
        boxes.nth(0).wait_for()
        late: list[tuple[Route, APIResponse]] = []
        page.route("**/cut", lambda route: late.append((route, route.fetch())))
        boxes.nth(0).check()
        for _ in range(100):
            if late:
                break
            page.wait_for_timeout(50)
        (route, answer), *_ = late  # which are cut, as asked for after the first tick
        with page.expect_response("**/cut/tick"):
            boxes.nth(2).check()
        route.fulfill(response=answer)
        page.wait_for_timeout(300)
        assert [boxes.nth(n).is_checked() for n in range(3)] == [True, False, True]


def test_files_for_her_machine_with_the_cautions_first_and_faults_only_if_she_insists(
    browser: Browser, laid: Path, tmp_path: Path
) -> None:
    mine = tmp_path / "mine.toml"
    text = (SHOPS / "pen_plotter.toml").read_text().replace("Invented roll", "My roll")
    mine.write_text(text)
    folder = laid.parent / "for-mine"
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Cut", exact=True).click()
        which = page.get_by_label("Cut on")
        expect(which.locator("option")).to_have_count(4)  # examples only
        expect(page.locator("main")).to_contain_text("No real machine is meant")
        care = page.get_by_role("region", name="Before you cut")
        expect(care).to_contain_text("The machine's manual")
        above = care.bounding_box()
        below = page.get_by_role("button", name="Write the machine's files").bounding_box()
        assert above
        assert below
        assert above["y"] + above["height"] < below["y"]
        # A machine that can't be read is told and not kept.
        bad = tmp_path / "bad.toml"
        bad.write_text(text.replace('"plotter"', '"plough"'))
        page.get_by_label("A file that describes your machine").set_input_files(bad)
        expect(page.locator("[role=alert]")).to_contain_text("kind")
        page.get_by_label("A file that describes your machine").set_input_files(mine)
        expect(which.locator("option")).to_have_count(5)
        which.select_option(label="My roll plotter")
        expect(page.locator("main")).not_to_contain_text("No real machine is meant")
        page.get_by_label("DXF", exact=True).check()
        page.get_by_label("Foam", exact=True).uncheck()
        axe_finds_nothing(page)
        page.get_by_role("button", name="Write the machine's files").press("Enter")
        with page.expect_download() as waiting:
            page.get_by_role("link", name="for-mine/Waxed-canvas.plt", exact=True).click()
        assert Path(waiting.value.path()).read_bytes().startswith(b"IN;")
        assert {"Waxed-canvas.plt", "Waxed-canvas.dxf"} <= {f.name for f in folder.iterdir()}
        assert not [*folder.glob("Foam*")]
        axe_finds_nothing(page)
        # A laser is refused what has to be asked first, as the command does.
        which.select_option(label="Invented hobby laser (example)")
        page.get_by_label("Foam", exact=True).check()
        page.get_by_role("button", name="Write the machine's files").click()
        expect(page.locator("[role=alert]")).to_contain_text("safety data sheet")
        # With a fault there are files only for her who insists, and they say so.
        page.get_by_role("link", name="Lay", exact=True).click()
        page.locator("svg.marker .part").first.wait_for()
        page.get_by_label("Part in hand").select_option("0")
        page.locator("svg.marker").focus()
        page.keyboard.press("Shift+ArrowLeft")
        expect(page.locator(".says .bad-word").first).to_contain_text("fault")
        page.get_by_role("link", name="Cut", exact=True).click()
        expect(page.locator(".plain li").first).to_contain_text("before the markers were changed")
        which.select_option(label="My roll plotter")
        page.get_by_role("button", name="Write the machine's files").click()
        expect(page.locator("[role=alert]")).to_contain_text("is not good")
        page.get_by_label("I want files of markers with faults").check()
        page.get_by_role("button", name="Write the machine's files").click()
        page.get_by_role("link", name="for-mine/Waxed-canvas-not-good.plt", exact=True).wait_for()
        expect(page.get_by_role("region", name="For a cutting machine")).to_contain_text(
            "DO NOT CUT"
        )
        axe_finds_nothing(page)
    assert "DO NOT CUT" in (folder / "Waxed-canvas-not-good.plt.txt").read_text()
    assert not (folder / "Waxed-canvas.plt").exists()


def test_a_roll_and_labels_are_printed_of_one_material(browser: Browser, laid: Path) -> None:
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Cut", exact=True).click()
        page.get_by_label("of", exact=True).select_option("Waxed canvas")
        page.get_by_label("Paper").select_option("roll")
        page.get_by_label("as wide as").fill("5 cm")
        page.get_by_role("button", name="Make the PDF").click()
        expect(page.locator("[role=alert]")).to_contain_text("too narrow")
        page.get_by_label("as wide as").fill("1600 mm")
        page.get_by_role("button", name="Make the PDF").click()
        page.get_by_role("link", name="markers-Waxed-canvas-roll").wait_for()
        expect(page.locator("main")).to_contain_text("measure the square")
        page.get_by_label("What", exact=True).select_option("labels")
        page.get_by_label("Paper").select_option("a4")
        page.get_by_role("button", name="Make the PDF").click()
        page.get_by_role("link", name="labels-Waxed-canvas-a4.pdf").wait_for()
        axe_finds_nothing(page)
    (roll,) = laid.parent.glob("markers-*.pdf")
    pages = pypdf.PdfReader(roll).pages
    assert any(float(one.mediabox.height) * 25.4 / 72 > 1590 for one in pages)
    text = " ".join(
        p.extract_text() for p in pypdf.PdfReader(next(laid.parent.glob("labels*"))).pages
    )
    assert "Front panel" in text


def test_a_list_stays_open_when_its_marker_changes(browser: Browser, laid: Path) -> None:
    count = len(load_plan(laid).entries[0].marker.placements)
    with (
        served(laid, folder=laid.parent) as server,
        opened(browser, server.address) as page,
        opened(browser, server.address) as other,
    ):
        page.get_by_role("link", name="Cut", exact=True).click()
        page.locator("details.ticking summary").first.click()
        boxes = page.locator("details.ticking").first.get_by_role("checkbox")
        expect(boxes).to_have_count(count)
        page.locator("details.ticking").first.evaluate("list => { list.id = 'before'; }")
        other.locator("svg.marker .part").first.wait_for()
        other.get_by_label("Part in hand").select_option("0")
        other.locator("svg.marker").first.focus()
        other.keyboard.press("Shift+ArrowRight")
        expect(page.locator("#before")).to_have_count(0)
        expect(boxes).to_have_count(count)


def test_what_another_program_ticks_is_seen(browser: Browser, laid: Path) -> None:
    entry = load_plan(laid).entries[0]
    name = entry.marker.lay.parts[entry.marker.placements[1].part].name
    with served(laid, folder=laid.parent) as server, opened(browser, server.address) as page:
        page.get_by_role("link", name="Cut", exact=True).click()
        page.locator("details.ticking summary").first.click()
        boxes = page.locator("details.ticking").first.get_by_role("checkbox")
        boxes.nth(0).check()
        count = len(entry.marker.placements)
        expect(page.locator("details.ticking summary").first).to_contain_text(f"{count - 1} of")
        file = laid.parent / "cut.json"
        held = json.loads(file.read_text())
        held[entry.marker.lay.name].append(name)
        file.write_text(json.dumps(held))
        expect(boxes.nth(1)).to_be_checked()
        expect(boxes.nth(0)).to_be_checked()
