"""A page in a real browser, watched: what it asks for, what it complains of, what its view shows."""

import base64
import io
from typing import Any

import numpy as np
import pytest
from PIL import Image

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


class Tab:
    """A page that remembers what it asked for and what it complained of."""

    def __init__(self, browser: Any, context: Any = None, **options: Any) -> None:
        options = {"viewport": DESK, "reduced_motion": "reduce"} | options
        self.context = context or browser.new_context(**options)
        self.page = self.context.new_page()
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda line: line.type == "error" and self.complaints.append(line.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def asked_for(self) -> list[str]:
        """What was asked for in all, once nothing is loading any more; what stands inside the page left out."""
        self.page.wait_for_load_state("networkidle")
        return [url for url in self.requests if not url.startswith("data:")]

    def ticked(self, count: int) -> None:
        """Wait until so many boxes are ticked."""
        self.page.wait_for_function("n => document.querySelectorAll('input:checked').length === n", arg=count)

    def forbids(self) -> str:
        """The rule of the page's own policy by which the browser refuses a request."""
        return self.page.evaluate(
            """() => new Promise(done => {
                document.addEventListener("securitypolicyviolation", event => done(event.effectiveDirective));
                fetch("http://127.0.0.1:9/").catch(() => {});
            })"""
        )

    def width(self) -> int:
        """Of the page, whatever the window shows of it [px]."""
        return self.page.evaluate("document.documentElement.scrollWidth")

    def headings(self) -> list[int]:
        """Their ranks, in order."""
        return self.page.evaluate("[...document.querySelectorAll('h1, h2, h3, h4')].map(head => +head.tagName[1])")

    def barriers(self) -> tuple[list[tuple[str, str]], set[str]]:
        """What keeps people out by the rules of axe-core, best practice included, and the rules that are kept."""
        axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
        response = axe.run(self.page).response
        broken = [(rule["id"], rule["nodes"][0]["html"][:120]) for rule in response["violations"]]
        return broken, {rule["id"] for rule in response["passes"]}

    def alpha(self) -> np.ndarray:
        """How opaque each pixel of the view is, two frames from now."""
        return self.pixels()[..., 3]

    def pixels(self) -> np.ndarray:
        """What the view shows, two frames from now: red, green, blue, and how opaque."""
        self.page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        text = self.page.evaluate("document.getElementById('view').toDataURL('image/png')")
        return np.asarray(Image.open(io.BytesIO(base64.b64decode(text.partition(",")[2]))).convert("RGBA"))


def changed(a: np.ndarray, b: np.ndarray) -> float:
    return float(np.mean(a != b))
