"""Drives one headless Chromium through a pair of pipes: no port, no driver program, no waiting.

Chromium speaks its DevTools protocol on two open files: JSON messages, each ended by a zero byte.
"""

import base64
import json
import os
import select
import shlex
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, Self

import pytest
from parts import chromium_path

_FLAGS = ("--headless", "--no-sandbox", "--hide-scrollbars", "--remote-debugging-pipe")
_KEYS = {"Tab": 9, "Enter": 13, "Escape": 27, " ": 32, "End": 35, "Home": 36, "ArrowDown": 40}
_TEXTS = {"Enter": "\r", " ": " "}
_END_S, _ANSWER_S = 10.0, 60.0
_SHIFT = 8


class Browser:
    """A Chromium with a profile of its own; close it by leaving its block."""

    def __init__(self) -> None:
        path = chromium_path()
        if path is None:
            raise FileNotFoundError("Chromium is not here: install chromium.")
        self._profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        theirs_in, self._out = os.pipe()
        self._in, theirs_out = os.pipe()
        flags = [*_FLAGS, f"--user-data-dir={self._profile.name}"]
        command = f"exec {shlex.join([path, *flags])} 3<&{theirs_in} 4>&{theirs_out}"
        self._process = subprocess.Popen(
            ["bash", "-c", command],
            pass_fds=(theirs_in, theirs_out),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs_in)
        os.close(theirs_out)
        self._read = b""
        self._count = 0
        self._events: list[dict[str, Any]] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(OSError):
            self.call("Browser.close")
        try:
            self._process.wait(_END_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._in)
        os.close(self._out)
        self._profile.cleanup()

    def call(self, method: str, session: str | None = None, **params: Any) -> dict[str, Any]:
        """Ask Chromium for one thing and return its answer."""
        self._count += 1
        asked: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if session:
            asked["sessionId"] = session
        sent = json.dumps(asked).encode() + b"\0"
        while sent:
            sent = sent[os.write(self._out, sent) :]
        while (answer := self._next()).get("id") != self._count:
            self._events.append(answer)
        if "error" in answer:
            raise RuntimeError(f"{method}: {answer['error']['message']}")
        return dict(answer["result"])

    def event(self, name: str, session: str) -> dict[str, Any]:
        """Wait for the next event of a session and take it."""
        while not (found := self.seen(name, session)):
            self._events.append(self._next())
        self._events.remove(found[0])
        return dict(found[0]["params"])

    def seen(self, name: str, session: str) -> list[dict[str, Any]]:
        """Return the events of a session that nobody took yet."""
        return [
            one
            for one in self._events
            if one.get("method") == name and one.get("sessionId") == session
        ]

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._read:
            ready, _, _ = select.select([self._in], [], [], _ANSWER_S)
            more = os.read(self._in, 1 << 20) if ready else b""
            if not more:
                raise OSError("Chromium has ended, or does not answer")
            self._read += more
        message, _, self._read = self._read.partition(b"\0")
        return dict(json.loads(message))

    def open(
        self,
        page: Path,
        *,
        width: int = 1280,
        height: int = 900,
        at: str = "",
        script: bool = True,
    ) -> "Tab":
        """Open a file in a tab of its own, with or without its scripts."""
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=target, flatten=True)
        tab = Tab(self, attached["sessionId"], target)
        tab.resize(width, height)
        tab.call("Page.enable")
        tab.call("Network.enable")
        tab.call("Emulation.setScriptExecutionDisabled", value=not script)
        tab.go(page.resolve().as_uri() + at)
        return tab


class Tab:
    """One open page."""

    def __init__(self, browser: Browser, session: str, target: str) -> None:
        self._browser, self._session, self._target = browser, session, target

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """Ask the page for one thing."""
        return self._browser.call(method, self._session, **params)

    def go(self, url: str) -> None:
        """Load an address and wait until it is there."""
        self.call("Page.navigate", url=url)
        self._browser.event("Page.loadEventFired", self._session)

    def close(self) -> None:
        """Close the tab."""
        self._browser.call("Target.closeTarget", targetId=self._target)

    def resize(self, width: int, height: int = 900) -> None:
        """Give the page another size."""
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.call("Emulation.setDeviceMetricsOverride", **size)

    def run(self, code: str) -> Any:
        """Evaluate JavaScript, wait for a promise, and return the value."""
        found = self.call(
            "Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in found:
            raise RuntimeError(str(found["exceptionDetails"].get("exception", found)))
        return found["result"].get("value")

    def press(self, key: str, *, times: int = 1, shift: bool = False) -> None:
        """Press a key: one of a few named ones, or a letter."""
        code = _KEYS.get(key) or ord(key.upper())
        text = _TEXTS.get(key, key if len(key) == 1 else "")
        given: dict[str, Any] = {"key": key, "windowsVirtualKeyCode": code}
        given["modifiers"] = _SHIFT if shift else 0
        for _ in range(times):
            down = {"type": "keyDown", "text": text} if text else {"type": "rawKeyDown"}
            self.call("Input.dispatchKeyEvent", **down, **given)
            self.call("Input.dispatchKeyEvent", type="keyUp", **given)

    def write(self, text: str) -> None:
        """Type letters where the focus is."""
        for letter in text:
            self.press(letter)

    def requests(self) -> list[str]:
        """Return the addresses that the page asked for."""
        seen = self._browser.seen("Network.requestWillBeSent", self._session)
        return [one["params"]["request"]["url"] for one in seen]

    def screenshot(self) -> bytes:
        """Return what is on the screen as PNG."""
        return base64.b64decode(self.call("Page.captureScreenshot")["data"])

    def pdf(self) -> bytes:
        """Print the page as a person would, on the paper that it asks for."""
        printed = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        return base64.b64decode(printed["data"])


@pytest.fixture(scope="session")
def browser_session() -> Iterator[Browser]:
    """Start the one Chromium of this run."""
    with Browser() as browser:
        yield browser
