"""Can text be read where colours are gone? Measured on the picture, so text in drawings counts as well."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

from tests.browser.pages import OpenedPage

# the first line of every piece of text that is laid out, in pixels of the page
LINES = """() => {
    const lines = [], range = document.createRange();
    const walker = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
    for (let node; (node = walker.nextNode());) {
        range.selectNodeContents(node);
        const box = [...range.getClientRects()].find(one => one.width >= 1 && one.height >= 1);
        const text = node.data.trim().slice(0, 60);
        if (!text || !box || !node.parentElement.checkVisibility({visibilityProperty: true})) continue;
        if (getComputedStyle(node.parentElement).clipPath === 'inset(50%)') continue; // for ears alone
        lines.push([text, box.x + scrollX, box.y + scrollY, box.width, box.height]);
    }
    return lines;
}"""


def grey_contrasts(opened: OpenedPage) -> list[tuple[str, float]]:
    """Every piece of text with the contrast between lightest and darkest in its place, 1 to 21.

    The ratio is that of WCAG 2.2, (L + 0.05) / (l + 0.05), of the page in grey. A line that crosses the text
    counts as well, so a low value is a fault and a high one no promise. Letters drawn as outlines, as in
    figures of this package, are no text and have no ratio.
    """
    picture = Image.open(io.BytesIO(opened.screenshot(grey=True))).convert("L")
    scale = opened.page.evaluate("devicePixelRatio")
    shade = np.asarray(picture) / 255
    light = np.where(shade <= 0.04045, shade / 12.92, ((shade + 0.055) / 1.055) ** 2.4)
    found = []
    for text, *box in opened.page.evaluate(LINES):
        x, y, width, height = (round(scale * value) for value in box)
        seen = light[max(y, 0) : max(y + height, 0), max(x, 0) : max(x + width, 0)]
        if seen.size:
            found.append((text, float((seen.max() + 0.05) / (seen.min() + 0.05))))
    return found
