"""Taps on the recorder: what a stylist does at the chair, on a page whose clocks the test turns."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Download, Page

# both clocks stand still but for what a test lets pass: `far` moves the wall clock and the steady one,
# `shift` the wall clock alone. Tones are counted.
CLOCKS = """(() => {
    window.far = 0;
    window.shift = 0;
    window.tones = [];
    const morning = Date.UTC(2026, 2, 14, 9);
    Date.now = () => morning + window.far + window.shift;
    performance.now = () => window.far;
    let away = false;
    Object.defineProperty(document, "hidden", { get: () => away });
    window.out = (hidden) => {
        away = hidden;
        document.dispatchEvent(new Event("visibilitychange"));
    };
    const make = AudioContext.prototype.createOscillator;
    AudioContext.prototype.createOscillator = function () {
        const made = make.call(this);
        window.tones.push(made);
        return made;
    };
})();"""

PLAN = {"zone": "lengths", "hair": "natural", "start_level": "4", "goal_level": "8", "heat": "none"}

# the smallest side of everything that takes a tap, with its name; a label is its control's target
TARGETS = """() => [...document.querySelectorAll("button, input, select, textarea, summary, a[href]")]
    .filter(one => one.checkVisibility() && one.type !== "hidden")
    .map(one => [one.id || one.textContent, one.getBoundingClientRect()])
    .map(([name, box]) => [name, Math.min(box.width, box.height)])"""

# what has the focus, where the bar lies over it
BEHIND = """() => {
    const one = document.activeElement, bar = document.querySelector("#bar");
    const isBehind = !bar.contains(one) && one !== document.body
        && one.getBoundingClientRect().top < bar.getBoundingClientRect().bottom;
    return isBehind ? [one.id] : [];
}"""


class Tablet:
    """The page in a stylist's hands."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self._turned = {"far": 0, "shift": 0}

    def passes(self, minutes: float, name: str = "far") -> None:
        """Both clocks run on; `shift` as the name sets the wall clock alone."""
        self._turned[name] += round(minutes * 60_000)
        self.page.evaluate("turned => Object.assign(window, turned)", self._turned)

    def reload(self, minutes: float = 0) -> None:
        """Closed and opened again so many minutes later."""
        self._turned["far"] += round(minutes * 60_000)
        self.page.add_init_script(f"Object.assign(window, {self._turned})")
        self.page.reload()
        self.page.wait_for_selector("#new-visit")

    def another(self) -> Tablet:
        """A second window of the same page, by the same clocks."""
        other = Tablet(self.page.context.new_page())
        other._turned = dict(self._turned)
        other.page.add_init_script(f"Object.assign(window, {self._turned})")
        other.page.goto(self.page.url)
        other.page.wait_for_selector("#new-visit")
        return other

    def pick(self, scope: str, **values: str) -> None:
        for name, value in values.items():
            self.page.locator(f'input[name="{scope}-{name}"][value="{value}"]').check()

    def begin(self, client: str = "C014", **tests: str) -> None:
        """A new visit, with everything that is asked of it as a whole."""
        self.page.click("#new-visit")
        self.page.fill("#visit-client", client)
        self.page.fill("#visit-stylist", "S1")
        self.pick("visit", **({"patch_test": "yes", "strand_test": "yes"} | tests))

    def plan(
        self, number: int = 1, peroxide: str = "6", longest: str = "45", every: str = "10", **more: str
    ) -> None:
        self.pick(f"plan-{number}", **(PLAN | more))
        for name, text in {"peroxide_pct": peroxide, "planned_minutes": longest, "look_every": every}.items():
            self.page.fill(f"#plan-{number}-{name}", text)

    def start(self, zone: int = 1) -> None:
        self.page.click(f"#start-{zone}")
        self.page.wait_for_selector(f"#rinse-{zone}")

    def look(self, level: str, zone: int = 1) -> None:
        card = self.page.locator(f"[data-zone='{zone}'] .seen li")
        before = card.count()
        if not self.page.locator(f"#look-{zone}-{level.replace('.', '_')}").count():
            self.page.click(f"#looks-{zone}-all")
        self.page.click(f"#look-{zone}-{level.replace('.', '_')}")
        card.nth(before).wait_for()

    def rinse(self, zone: int = 1) -> None:
        self.page.click(f"#rinse-{zone}")
        self.page.wait_for_selector(f"#result-{zone}-minutes")

    def result(self, zone: int = 1, stop: str = "time", achieved: str = "7") -> None:
        self.pick(f"result-{zone}", stop=stop, achieved_level=achieved)

    def finish(self) -> None:
        self.page.click("#finish")
        self.page.wait_for_selector("#new-visit")

    def whole_visit(self, client: str = "C014") -> None:
        """One zone, one look, from the first screen back to it."""
        self.begin(client)
        self.plan()
        self.start()
        self.passes(20)
        self.look("6")
        self.passes(15)
        self.rinse()
        self.result()
        self.finish()

    def seen(self, zone: int = 1) -> list[str]:
        """Looks of a zone, as the page shows them."""
        return self.page.locator(f"[data-zone='{zone}'] .seen li").all_inner_texts()

    def clock(self, zone: int = 1) -> str:
        """What a zone's clock shows."""
        return self.page.locator(f"[data-zone='{zone}'] .clock span").last.inner_text()

    def alarms(self) -> list[str]:
        return self.page.locator("#bar .alarm strong").all_inner_texts()

    def exported(self, folder: Path) -> dict[str, str]:
        """The files of one tap, by name."""
        found: list[Download] = []

        def came(one: Download) -> None:
            found.append(one)

        self.page.on("download", came)
        self.page.click("#to-export")
        self.page.click("#export")
        for _ in range(60):
            if len(found) == 3:
                break
            self.page.wait_for_timeout(100)
        self.page.remove_listener("download", came)
        folder.mkdir(exist_ok=True)
        for one in found:
            one.save_as(folder / one.suggested_filename)
        return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.iterdir())}

    def heights(self, selector: str) -> list[float]:
        return [box["height"] for one in self.page.locator(selector).all() if (box := one.bounding_box())]

    def border(self, selector: str) -> float:
        """How wide the upper border of the first such element is, in pixels."""
        width = "one => parseFloat(getComputedStyle(one).borderTopWidth)"
        return float(self.page.locator(selector).first.evaluate(width))

    def hidden_by_bar(self) -> list[str]:
        """What has the focus, by its id, where the bar lies over it."""
        return list(self.page.evaluate(BEHIND))

    def small_targets(self) -> list[Any]:
        """Whatever takes a tap and is smaller than 44 pixels."""
        return [[name, size] for name, size in self.page.evaluate(TARGETS) if size < 44]
