"""A self-contained page in a real browser: what goes wrong as it opens, and what can be measured on it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desktop": (1280, 800)}
A4 = (210, 297)
# a narrower window is a phone's: without a viewport line it lays pages out for a desk and makes them tiny
PHONE_BELOW = 600

# screen by screen to the end and back, so that what waits until it's seen is asked for
SCROLL = """async () => {
    const frame = () => new Promise(requestAnimationFrame), root = document.documentElement;
    for (let y = 0; y < root.scrollHeight; y += innerHeight) { scrollTo(0, y); await frame(); await frame(); }
    scrollTo(0, 0);
    await document.fonts.ready;
}"""
# these reach out without a request that could be seen
REACHING = "links => links.filter(link => !/^(data|blob):/.test(link.href)).map(link => link.href)"
REACHING_LINKS = "link[rel~=preconnect], link[rel~=dns-prefetch], link[rel~=prefetch], link[rel~=prerender]"
FIGURES = """figures => figures.filter(one => !one.ownerSVGElement).map((one, number) => {
    const box = one.getBoundingClientRect();
    const drawn = one instanceof SVGElement ? one.getBBox()
        : one instanceof HTMLImageElement ? {width: one.naturalWidth, height: one.naturalHeight} : box;
    const name = one.localName + (one.id ? '#' + one.id : ' ' + (number + 1));
    return [name, box.width, box.height, Math.max(drawn.width, drawn.height) > 0];
})"""
# innermost elements beyond the edge, but for those in a box that scrolls by itself
STICKING_OUT = """width => {
    const beyond = one => one.getBoundingClientRect().right + scrollX > width + 0.5;
    const scrolls = one => one && (/auto|scroll/.test(getComputedStyle(one).overflowX)
        || scrolls(one.parentElement));
    const out = [...document.querySelectorAll('body *')].filter(one => beyond(one)
        && ![...one.children].some(beyond) && !scrolls(one.parentElement));
    const root = document.scrollingElement ?? document.documentElement;
    const names = out.map(one => one.localName + (one.id ? '#' + one.id : ''));
    return [Math.max(root.scrollWidth - width, 0), names.slice(0, 5)];
}"""


class Figure(NamedTuple):
    """An svg, img or canvas as laid out, in pixels; `is_drawn` where there is something in it."""

    name: str
    width: float
    height: float
    is_drawn: bool

    @property
    def is_seen(self) -> bool:
        return self.is_drawn and min(self.width, self.height) > 0


class Overflow(NamedTuple):
    """Pixels that a page is wider than its window, and what sticks out."""

    pixels: int
    elements: list[str]


@dataclass(eq=False)
class OpenedPage:
    """A page that stays open, and what was heard from it up to now."""

    page: Page
    width: int
    console_errors: list[str] = field(default_factory=list)
    page_errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def figures(self) -> list[Figure]:
        """All figures, in the order of the page."""
        return [Figure(*one) for one in self.page.eval_on_selector_all("svg, img, canvas", FIGURES)]

    def overflow(self, width: int | None = None, height: int | None = None) -> Overflow:
        """How much wider than its window the page is; with a size, in a window made so large."""
        if width is not None and height is not None:
            self.page.set_viewport_size({"width": width, "height": height})
            self.width = width
        return Overflow(*self.page.evaluate(STICKING_OUT, self.width))

    def barriers(self) -> list[str]:
        """What keeps people out by the rules of axe-core: the rule and the elements that break it."""
        from axe_playwright_python.sync_playwright import Axe

        broken = Axe().run(self.page).response["violations"]
        return [f"{one['id']}: {', '.join(str(node['target']) for node in one['nodes'])}" for one in broken]

    def printed(self, to: Path | None = None) -> list[tuple[int, int]]:
        """Width and height in mm of every sheet, printed on A4 (if the page asks for nothing else) without
        backgrounds, as browsers do by themselves; `to` keeps the PDF."""
        edge = dict.fromkeys(("top", "right", "bottom", "left"), "10mm")
        pdf = self.page.pdf(path=to, format="A4", prefer_css_page_size=True, margin=edge)
        boxes = re.findall(rb"/MediaBox\s*\[\s*0\s+0\s+([\d.]+)\s+([\d.]+)\s*\]", pdf)
        return [
            (round(float(width) * 25.4 / 72), round(float(height) * 25.4 / 72)) for width, height in boxes
        ]

    def screenshot(self, to: Path | None = None, grey: bool = False) -> bytes:
        """The whole page as a PNG; in grey, as a printer without colours shows it."""
        # a style of the element itself, which no security policy of the page forbids
        colours = "shade => { document.documentElement.style.filter = shade }"
        self.page.evaluate(colours, "grayscale(1)" if grey else "")
        try:
            # a drawing opened by itself has no body, and is waited for in vain if it's to be taken whole
            return self.page.screenshot(path=to, full_page=self.page.evaluate("Boolean(document.body)"))
        finally:
            self.page.evaluate(colours, "")

    def faults(self) -> list[str]:
        """Everything that is wrong in this window, a line each; none for a sound page."""
        pixels, elements = self.overflow()
        return [
            *(f"console: {text}" for text in self.console_errors),
            *(f"script: {text}" for text in self.page_errors),
            *(f"asks for {address}" for address in self.requests),
            *(f"nothing to see: {one}" for one in self.figures() if not one.is_seen),
            *([f"{pixels} pixels too wide: {', '.join(elements)}"] if pixels else []),
            *self.barriers(),
        ]


@contextmanager
def watched(
    browser: Browser, path: Path, width: int, height: int, scale: float = 2, before: str = "", **more: Any
) -> Iterator[OpenedPage]:
    """A file in a window of its own; nothing but the file itself is let through, everything is noted.

    `before` is a script that runs before the page's own, `more` what a browser context takes: a locale, a
    colour scheme.
    """
    address, is_phone = path.resolve().as_uri(), width < PHONE_BELOW
    context = browser.new_context(
        viewport={"width": width, "height": height},
        device_scale_factor=scale,
        is_mobile=is_phone,
        has_touch=is_phone,
        service_workers="block",
        **more,
    )
    if before:
        context.add_init_script(before)
    opened = OpenedPage(context.new_page(), width)
    context.route(lambda asked: asked != address, lambda route: route.abort())
    context.on("console", lambda said: said.type == "error" and opened.console_errors.append(said.text))
    context.on("weberror", lambda failed: opened.page_errors.append(str(failed.error)))
    context.on("request", lambda one: one.url != address and opened.requests.append(one.url))
    opened.page.on("websocket", lambda socket: opened.requests.append(socket.url))
    try:
        opened.page.goto(address)
        opened.page.evaluate(SCROLL)
        opened.requests += opened.page.eval_on_selector_all(REACHING_LINKS, REACHING)
        yield opened
    finally:
        context.close()
