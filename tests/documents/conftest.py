"""A headless browser for the tests of pages."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from tests.documents.browsing import FLAGS, Tab


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A headless browser; without one the tests are skipped, on a CI machine they fail."""
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        found = None
    if found is None:
        words = "no browser: install chromium and the Python package playwright to run these tests"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=found, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def tab(browser: Any) -> Iterator[Tab]:
    tab = Tab(browser)
    yield tab
    tab.context.close()
