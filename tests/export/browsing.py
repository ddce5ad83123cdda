"""A page in a real browser, watched: what it asks for, what it complains of, what its view shows."""

import base64
import io
from typing import Any

import numpy as np
from PIL import Image

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


class Tab:
    """A page that remembers what it asked for and what it complained of."""

    def __init__(self, browser: Any, **options: Any) -> None:
        options = {"viewport": DESK, "reduced_motion": "reduce"} | options
        self.context = browser.new_context(**options)
        self.page = self.context.new_page()
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda line: line.type == "error" and self.complaints.append(line.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

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
