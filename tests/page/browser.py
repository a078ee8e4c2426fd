"""A real headless Chromium, spoken to over its debugging pipe; nothing but the standard library.

`/usr/bin/chromium` or whatever `chromium`, `chromium-browser` or `google-chrome` the PATH has; None where there is none.
"""

import base64
import contextlib
import json
import os
import shutil
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
)
WHY_NOT = "no chromium on this machine (apt install chromium)"
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--no-default-browser-check",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-extensions",
    "--hide-scrollbars", "--force-color-profile=srgb", "--remote-debugging-pipe",
)  # fmt: skip
PATIENCE_S = 60


class Browser:
    """One page at a time. `said`: what the console and the page's mistakes said."""

    def __init__(self, profile: Path) -> None:
        assert CHROMIUM is not None
        from_us, to_browser = os.pipe()
        from_browser, to_us = os.pipe()

        def place() -> None:
            os.dup2(os.dup(from_us), 3)
            os.dup2(os.dup(to_us), 4)

        # high numbers, so that 3 and 4 can be taken by the browser's ends
        from_us, to_us = _high(from_us), _high(to_us)
        self._process = subprocess.Popen(
            [CHROMIUM, *FLAGS, f"--user-data-dir={profile}", "about:blank"],
            preexec_fn=place, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        os.close(from_us)
        os.close(to_us)
        self._out, self._in = to_browser, from_browser
        self._rest, self._count = b"", 0
        self.width = 0
        self.said: list[str] = []
        self._loader = ""
        self._asked: list[tuple[str, str]] = []
        self._loaded: set[str] = set()
        target = self._call("Target.createTarget", {"url": "about:blank"}, session=False)["targetId"]
        self._session = self._call("Target.attachToTarget", {"targetId": target, "flatten": True}, session=False)[
            "sessionId"
        ]
        for room in ("Page", "Runtime", "Network", "Log"):
            self._call(f"{room}.enable")
        self._call("Page.setLifecycleEventsEnabled", {"enabled": True})

    @property
    def asked(self) -> list[str]:
        """Every address that the page that is shown asked for."""
        return [url for loader, url in self._asked if loader == self._loader]

    def open(self, page: Path, width: int, height: int = 900, *, dark: bool = False, media: str = "screen") -> None:
        """Shows the page, so wide, and forgets what was said and asked before."""
        self.resize(width, height, dark=dark, media=media)
        self.said.clear()
        # News of the page before, or of the blank one that the browser began with, may still be under way: only what this loader did counts.
        self._loader = self._call("Page.navigate", {"url": f"file://{page}"})["loaderId"]
        while self._loader not in self._loaded:
            self._take()

    def resize(self, width: int, height: int = 900, *, dark: bool = False, media: str = "screen") -> None:
        """The same page in another window, scheme or medium."""
        sizes = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self._call("Emulation.setDeviceMetricsOverride", sizes)
        self.width = width
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self._call("Emulation.setEmulatedMedia", {"media": media, "features": [scheme]})

    def run(self, script: str) -> Any:
        """The value of an expression in the page; a promise is waited for."""
        asked = {"expression": script, "returnByValue": True, "awaitPromise": True}
        answer = self._call("Runtime.evaluate", asked)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def press(self, key: str, code: int) -> None:
        """A key goes down and up."""
        for kind in ("keyDown", "keyUp"):
            pressed = {"type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code}
            self._call(
                "Input.dispatchKeyEvent", pressed | ({"text": "\r"} if key == "Enter" and kind == "keyDown" else {})
            )

    def names(self) -> list[tuple[str, str]]:
        """(role, name) of everything that a screen reader is told of."""
        nodes = self._call("Accessibility.getFullAXTree")["nodes"]
        return [
            (node["role"]["value"], node.get("name", {}).get("value", "")) for node in nodes if not node.get("ignored")
        ]

    def picture(self) -> bytes:
        """The whole page as PNG."""
        return base64.b64decode(self._call("Page.captureScreenshot", {"captureBeyondViewport": True})["data"])

    def pdf(self, height_mm: float | None = None) -> bytes:
        """The page as it is printed, tagged; on its own size of paper, or on one as wide as A4 and so high."""
        self._call("Emulation.setEmulatedMedia", {"media": "", "features": []})
        wanted: dict[str, Any] = {
            "preferCSSPageSize": height_mm is None,
            "printBackground": True,
            "generateTaggedPDF": True,
        }
        if height_mm is not None:
            wanted |= {"paperWidth": 210 / 25.4, "paperHeight": height_mm / 25.4}
        return base64.b64decode(self._call("Page.printToPDF", wanted)["data"])

    def close(self) -> None:
        """Ends the browser."""
        with contextlib.suppress(OSError, AssertionError):
            self._call("Browser.close", session=False)
        os.close(self._out)
        os.close(self._in)
        with contextlib.suppress(ProcessLookupError):
            if self._process.poll() is None:
                os.killpg(self._process.pid, signal.SIGTERM)
        self._process.wait(PATIENCE_S)

    def _call(self, method: str, params: dict[str, Any] | None = None, *, session: bool = True) -> dict[str, Any]:
        self._count += 1
        order: dict[str, Any] = {"id": self._count, "method": method, "params": params or {}}
        if session:
            order["sessionId"] = self._session
        os.write(self._out, json.dumps(order).encode() + b"\0")
        number = self._count
        while True:
            answer = self._take()
            if answer.get("id") == number:
                assert "error" not in answer, answer
                return answer["result"]

    def _take(self) -> dict[str, Any]:
        """The next answer or news."""
        while b"\0" not in self._rest:
            came = os.read(self._in, 1 << 20)
            assert came, "the browser is gone"
            self._rest += came
        message, _, self._rest = self._rest.partition(b"\0")
        news = json.loads(message)
        self._note(news.get("method", ""), news.get("params", {}))
        return news

    def _note(self, method: str, params: dict[str, Any]) -> None:
        if method == "Page.lifecycleEvent" and params["name"] == "load":
            self._loaded.add(params["loaderId"])
        elif method == "Network.requestWillBeSent":
            self._asked.append((params["loaderId"], params["request"]["url"]))
        elif method == "Runtime.consoleAPICalled":
            self.said.append(f"{params['type']}: {params['args']}")
        elif method == "Runtime.exceptionThrown":
            self.said.append(f"exception: {params['exceptionDetails']}")
        elif method == "Log.entryAdded":
            self.said.append(f"{params['entry']['level']}: {params['entry']['text']}")


def _high(number: int) -> int:
    """The same pipe under a number above ten."""
    import fcntl

    high = fcntl.fcntl(number, fcntl.F_DUPFD, 10)
    os.close(number)
    return high


@contextlib.contextmanager
def browser(profile: Path) -> Iterator[Browser]:
    """A browser that ends with the block."""
    running = Browser(profile)
    try:
        yield running
    finally:
        running.close()
