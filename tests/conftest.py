"""What tests share: a headless browser, and files that commands made, once in each process."""

import gc
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from tests.calling import run
from tests.documents.browsing import FLAGS, Tab

# a busy machine must not fail a test, and one commit gives one answer; `--hypothesis-profile hunt` draws anew
hypothesis.settings.register_profile("hunt", deadline=None)
hypothesis.settings.register_profile("nutgen", deadline=None, derandomize=True)
hypothesis.settings.load_profile("nutgen")


def pytest_collection_finish() -> None:
    """What was loaded stays to the end: looking through it for garbage again and again was a tenth of the time."""
    gc.freeze()


@dataclass(frozen=True)
class Made:
    """What a command wrote and said; only to be read, since other tests read it too."""

    folder: Path
    said: str


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Made]:
    """`made("make", "bass-4")`: the files of a command that must succeed and writes one folder."""

    @cache
    def call(*words: str) -> Made:
        where = tmp_path_factory.mktemp("made")
        done = run(*words, cwd=where)
        assert done.returncode == 0, done.stderr
        (folder,) = (where / "output").iterdir()
        return Made(folder, done.stdout)

    return call


@pytest.fixture(scope="session")
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
    """A page of its own in the browser."""
    tab = Tab(browser)
    yield tab
    tab.context.close()
