"""The watch over opened pages sees what is wrong with each of these, and nothing wrong with a sound one."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.browser.conftest import NOT_RUN
from tests.browser.grey import grey_contrasts
from tests.browser.pages import A4, SIZES, Figure

in_browser = pytest.mark.browser

VIEWPORT = '<meta name="viewport" content="width=device-width, initial-scale=1">'
BAR = '<rect width="90" height="9"/>'
DRAWING = f'<svg id="bar" role="img" aria-label="a bar" width="200" height="80">{BAR}</svg>'
SOUND = f"<h1>Looks</h1><p>Every few minutes.</p>{DRAWING}"


@pytest.fixture
def written(tmp_path):
    """Writes a page around what its body holds, and gives its path."""

    def page(body=SOUND, head=VIEWPORT):
        path = tmp_path / "page of the test.html"
        text = (
            f'<!doctype html><html lang="en"><head><meta charset="utf-8">{head}<title>A page</title></head>'
        )
        path.write_text(f"{text}<body><main>{body}</main></body></html>", encoding="utf-8")
        return path

    return page


@in_browser
@pytest.mark.parametrize("size", SIZES)
def test_a_sound_page_has_no_faults(opened, written, size):
    page = opened(written(), *SIZES[size])
    assert page.page.evaluate("[innerWidth, innerHeight]") == list(SIZES[size])
    assert page.faults() == []
    assert page.figures() == [Figure("svg#bar", 200, 80, True)]
    assert page.overflow() == (0, [])


@in_browser
def test_errors_on_the_console_and_in_scripts(opened, written):
    body = "<script>console.error('no rows'); console.log('fine'); nothing.there</script>"
    page = opened(written(SOUND + body))
    assert page.console_errors == ["no rows"]
    assert page.page_errors == ["nothing is not defined"]
    assert page.faults() == ["console: no rows", "script: nothing is not defined"]
    with page.page.expect_console_message():
        page.page.evaluate("setTimeout(() => console.error('later'))")
    assert page.console_errors == ["no rows", "later"]


@in_browser
@pytest.mark.parametrize(
    ("body", "address"),
    [
        ('<img src="http://example.invalid/x.png" alt="x">', "http://example.invalid/x.png"),
        ('<p style="height: 9000px"></p><img loading="lazy" src="https://example.invalid/low.png" alt="x">',
         "https://example.invalid/low.png"),
        ('<style>@import "https://example.invalid/x.css";</style>', "https://example.invalid/x.css"),
        ("<script>fetch('https://example.invalid/tell?x=1').catch(() => 0)</script>",
         "https://example.invalid/tell?x=1"),
        ("<script>new WebSocket('ws://127.0.0.1:9/w')</script>", "ws://127.0.0.1:9/w"),
        ('<iframe title="x" src="https://example.invalid/in.html"></iframe>', "https://example.invalid/in.html"),
        ('<link rel="preconnect" href="https://example.invalid/">', "https://example.invalid/"),
    ],
    ids=["picture", "low down", "style", "fetch", "socket", "frame", "preconnect"],
)  # fmt: skip
def test_every_request_is_seen(opened, written, body, address):
    page = opened(written(SOUND + body))
    assert page.requests == [address]
    assert f"asks for {address}" in page.faults()


@in_browser
def test_nothing_leaves(opened, written):
    with socket.create_server(("127.0.0.1", 0)) as server:
        place = f"127.0.0.1:{server.getsockname()[1]}"
        script = f"new WebSocket('ws://{place}/w').onclose = () => {{ document.title = 'closed' }}"
        body = f'{SOUND}<img src="http://{place}/x.png" alt="x"><script>{script}</script>'
        page = opened(written(body))
        page.page.wait_for_function("document.title == 'closed'")
        assert sorted(page.requests) == [f"http://{place}/x.png", f"ws://{place}/w"]
        server.setblocking(False)
        with pytest.raises(BlockingIOError):
            server.accept()


@in_browser
def test_a_file_beside_the_page_is_a_request_as_well(opened, written):
    path = written(f'{SOUND}<link rel="stylesheet" href="look.css">')
    beside = path.with_name("look.css")
    beside.write_text("h1 { color: #123 }", encoding="utf-8")
    page = opened(path)
    assert page.requests == [beside.as_uri()]
    assert page.page.evaluate("getComputedStyle(document.querySelector('h1')).color") == "rgb(0, 0, 0)"


@in_browser
def test_what_a_page_holds_itself_is_no_request(opened, written):
    dot = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7"
    page = opened(written(f'{SOUND}<img src="{dot}" alt="a dot" width="5"><a href="#bar">down</a>'))
    page.page.click("a")
    assert page.page.url.endswith("#bar")
    page.page.reload()
    assert page.requests == []
    assert page.figures()[1] == Figure("img 2", 5, 5, True)


@in_browser
@pytest.mark.parametrize(
    ("figure", "found"),
    [
        (f'<svg width="0" height="80">{BAR}</svg>', Figure("svg 2", 0, 80, True)),
        ('<svg width="90" height="80"></svg>', Figure("svg 2", 90, 80, False)),
        (f'<svg style="display: none" width="90" height="80">{BAR}</svg>', Figure("svg 2", 0, 0, False)),
        ('<img alt="" width="30" height="20" src="data:,no">', Figure("img 2", 30, 20, False)),
    ],
)
def test_figures_without_anything_to_see(opened, written, figure, found):
    page = opened(written(SOUND + figure))
    assert page.figures() == [Figure("svg#bar", 200, 80, True), found]
    assert f"nothing to see: {found}" in page.faults()


@in_browser
def test_a_page_too_wide_for_a_phone(opened, written):
    wide = '<div style="float: left"><p id="wide" style="width: 600px">wide</p></div>'
    wide += "<style>body { margin: 0 }</style>"
    page = opened(written(SOUND + wide), *SIZES["phone"])
    assert page.overflow() == (210, ["p#wide"])
    assert page.faults() == ["210 pixels too wide: p#wide"]
    assert page.overflow(*SIZES["tablet"]) == (0, [])
    page = opened(written(SOUND + wide), *SIZES["desktop"])
    assert page.faults() == []
    assert page.overflow(500, 900) == (100, ["p#wide"])


@in_browser
def test_a_wide_table_that_scrolls_by_itself_is_no_fault(opened, written):
    inner = '<div style="overflow-x: auto" tabindex="0"><p style="width: 600px">wide</p></div>'
    assert opened(written(SOUND + inner), *SIZES["phone"]).faults() == []
    wider = f'<style>body {{ margin: 0 }}</style>{inner}<p id="wider" style="width: 700px">wider</p>'
    assert opened(written(SOUND + wider), *SIZES["phone"]).overflow() == (310, ["p#wider"])


@in_browser
def test_a_phone_makes_a_page_without_a_viewport_line_tiny(opened, written):
    assert opened(written(head=""), *SIZES["phone"]).overflow().pixels == 980 - 390


@in_browser
def test_people_kept_out(opened, written):
    page = opened(written(f'{SOUND}<button id="b"></button><p id="faint" style="color: #ccc">faint</p>'))
    assert sorted(page.barriers()) == ["button-name: ['#b']", "color-contrast: ['#faint']"]
    assert page.faults() == page.barriers()


@in_browser
def test_contrast_in_grey(opened, written):
    # sRGB luminance by hand: #999 is 0.3185, so (1 + 0.05) / (0.3185 + 0.05) = 2.849; this red and green are
    # 54.2 and 54.4 of 255 by the filter's weights
    big = "font: bold 60px sans-serif; margin: 0; padding: 9px"
    page = opened(written(
        f'<p style="{big}; color: #000">black</p><p style="{big}; color: #999">grey</p>'
        f'<p style="{big}; color: #f00; background: #004c00">red</p><p style="display: none">gone</p>'
        f'<p style="{big}; visibility: hidden">gone</p>'
        '<svg width="300" height="90"><text y="70" font-size="60" fill="#999">drawn</text></svg>'
    ))  # fmt: skip
    found = dict(grey_contrasts(page))
    assert found == pytest.approx({"black": 21, "grey": 2.849, "red": 1, "drawn": 2.849}, abs=0.03)
    assert page.page.evaluate("document.documentElement.style.filter") == ""


@in_browser
def test_pictures_of_the_whole_page(opened, written, tmp_path):
    page = opened(written('<style>body { margin: 0; background: #f00 }</style><p style="height: 3000px">'))
    sizes = {}
    for name, grey in (("colour", False), ("grey", True)):
        page.screenshot(tmp_path / f"{name}.png", grey)
        sizes[name] = _picture(tmp_path / f"{name}.png")
    # 0.2126 of 255 is 54
    assert sizes["colour"][1:] == ((255, 0, 0), (255, 0, 0))
    assert sizes["grey"][1:] == ((54, 54, 54), (54, 54, 54))
    width, height = sizes["grey"][0]
    assert (width, height >= 6000) == (2560, True)


def _picture(path):
    from PIL import Image

    with Image.open(path) as picture:
        whole = picture.convert("RGB")
        return whole.size, whole.getpixel((5, 5)), whole.getpixel((5, whole.height - 5))


@in_browser
@pytest.mark.parametrize(
    ("style", "sheets"), [("", [A4] * 3), ("@page { size: A5 }", [(148, 210)] * 3)], ids=["as it is", "A5"]
)
def test_sheets_of_paper(opened, written, tmp_path, style, sheets):
    body = (
        f"<style>{style} section {{ break-after: page }} section:last-child {{ break-after: auto }}</style>"
    )
    page = opened(written(body + "<section>one</section><section>two</section><section>three</section>"))
    assert page.printed(tmp_path / "sheets.pdf") == sheets
    assert (tmp_path / "sheets.pdf").read_bytes().startswith(b"%PDF")


def test_without_a_browser_it_is_said_that_tests_are_not_run():
    command = [sys.executable, "-m", "pytest", "-n0", "-p", "no:cacheprovider", __file__, "-k", "sound_page"]
    done = subprocess.run(
        command,
        cwd=Path(__file__).parents[2],
        env=os.environ | {"PATH": ""},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout
    assert "3 skipped" in done.stdout
    assert "passed" not in done.stdout
    assert NOT_RUN in " ".join(done.stdout.split())
