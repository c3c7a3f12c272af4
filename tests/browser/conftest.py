"""Debian's Chromium for tests of pages; where there is none, they are reported as skipped."""

from __future__ import annotations

import ctypes
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from outcomes.show.recorder.write import write_recorder
from tests.browser.pages import SIZES, OpenedPage, watched
from tests.browser.recording import CLOCKS, Tablet

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAMES = ("chromium", "chromium-browser")
# what the program needs by which Playwright drives it; a bare Debian lacks it
LIBRARY = "libatomic.so.1"
NOT_RUN = (
    "not run: no Chromium here, or not all that driving it takes; "
    "on Debian `apt-get install chromium fonts-dejavu-core libatomic1` gets both"
)
# the last one finds no address, so nothing reaches a network, sockets included
QUIET = (
    *("--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP * ~NOTFOUND"),
)


def _browser() -> str | None:
    """Where the browser is, if it can be driven."""
    try:
        ctypes.CDLL(LIBRARY)
    except OSError:
        return None
    return next(filter(None, map(shutil.which, NAMES)), None)


@pytest.fixture(scope="session")
def launching() -> dict[str, Any]:
    """How a browser is started."""
    found = _browser()
    # a browser is no Python package, so the tests' own command can't bring it; `.ci/run` installs one as
    # root, and ends with an error where that fails, so that nothing is skipped there
    if found is None:
        pytest.skip(NOT_RUN)
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    # its sandbox refuses to start as root
    return {"executable_path": found, "args": list(QUIET), "chromium_sandbox": not as_root}


@pytest.fixture(scope="module")
def browser(launching: dict[str, Any]) -> Iterator[Browser]:
    """A headless browser of the module's own.

    Not of the whole run: until it is closed an event loop runs in this thread, and whatever is tested later
    in the same process couldn't start one of its own.
    """
    # loaded by those tests alone that open a page
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        launched = driver.chromium.launch(**launching)
        yield launched
        launched.close()


@pytest.fixture
def opened(browser: Browser) -> Iterator[Callable[..., OpenedPage]]:
    """Opens a file in a window of so many pixels: `opened(path, 390, 844)`; closed when the test ends."""
    with ExitStack() as windows:

        def in_window(path: Path, width: int = 1280, height: int = 800, **more: Any) -> OpenedPage:
            return windows.enter_context(watched(browser, path, width, height, **more))

        yield in_window


@pytest.fixture(scope="module")
def recorder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page that records visits, as a file."""
    place = tmp_path_factory.mktemp("recorder") / "recorder.html"
    write_recorder(place)
    return place


@pytest.fixture
def tablet(opened: Callable[..., OpenedPage], recorder: Path) -> Tablet:
    """The recorder on a tablet whose clocks the test turns."""
    page = opened(recorder, *SIZES["tablet"], scale=1, before=CLOCKS)
    page.page.wait_for_selector("#new-visit")
    return Tablet(page.page)
