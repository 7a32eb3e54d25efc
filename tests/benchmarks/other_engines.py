"""Browsers with other engines than the tests': what each does of recording. Each speaks its own remote protocol."""

import base64
import itertools
import json
import os
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any, Protocol
from urllib.error import HTTPError
from urllib.request import Request, urlopen

from websockets.exceptions import WebSocketException
from websockets.sync.client import ClientConnection, connect

UP_WITHIN_S = 60
ANSWER_WITHIN_S = 120
WAIT_S = 0.25
PROMISED = (
    "(async () => {{ {code} }})().then((it) => JSON.stringify(it ?? null), (it) => JSON.stringify(`failed: ${{it}}`))"
)


PREFERENCES = {
    "media.navigator.permission.disabled": True,
    "media.autoplay.default": 0,
    "remote.active-protocols": 1,
    "dom.disable_beforeunload": True,
}
"""Of Firefox: nobody is there to allow the microphone, or to leave a page that asks whether to."""


class Engine(Protocol):
    """A browser with one tab open."""

    name: str

    def go(self, url: str) -> None: ...
    def run(self, code: str) -> Any: ...
    def touch(self, x: float, y: float) -> None: ...
    def another_tab(self) -> None: ...
    def picture(self, file: Path) -> None: ...
    def end(self) -> None: ...


class Firefox:
    """Gecko, over WebDriver BiDi (W3C)."""

    def __init__(self, program: str, port: int) -> None:
        self.profile = tempfile.TemporaryDirectory()
        told = [f"user_pref({json.dumps(key)}, {json.dumps(value)});" for key, value in PREFERENCES.items()]
        Path(self.profile.name, "user.js").write_text("\n".join(told))
        command = [program, "--headless", "--profile", self.profile.name, "--remote-debugging-port", str(port)]
        # A home of its own: as root it refuses one that belongs to somebody else.
        env = {**os.environ, "HOME": self.profile.name}
        self.process = subprocess.Popen([*command, "--no-remote", "about:blank"], env=env, stderr=subprocess.DEVNULL)
        self.numbers = itertools.count(1)
        self.socket = self._connected(f"ws://127.0.0.1:{port}/session")
        wanted = {"acceptInsecureCerts": True}
        begun = self._ask("session.new", {"capabilities": {"alwaysMatch": wanted}})["capabilities"]
        self.name = f"{begun['browserName']} {begun['browserVersion']}"
        self.tab = self._ask("browsingContext.getTree", {})["contexts"][0]["context"]

    def go(self, url: str) -> None:
        self._ask("browsingContext.navigate", {"context": self.tab, "url": url, "wait": "complete"})

    def run(self, code: str) -> Any:
        asked = {
            "expression": PROMISED.format(code=code),
            "target": {"context": self.tab},
            "awaitPromise": True,
        }
        return json.loads(self._ask("script.evaluate", asked)["result"]["value"])

    def touch(self, x: float, y: float) -> None:
        self._ask("input.performActions", {"context": self.tab, **pointer(x, y)})

    def another_tab(self) -> None:
        last = self.tab
        self.tab = self._ask("browsingContext.create", {"type": "tab"})["context"]
        self._ask("browsingContext.close", {"context": last})

    def picture(self, file: Path) -> None:
        file.write_bytes(
            base64.b64decode(self._ask("browsingContext.captureScreenshot", {"context": self.tab})["data"])
        )

    def end(self) -> None:
        self.process.kill()
        self.process.wait()
        self.profile.cleanup()

    def _connected(self, address: str) -> ClientConnection:
        end = time.monotonic() + UP_WITHIN_S
        while True:
            try:
                return connect(address, max_size=None)
            except (OSError, WebSocketException):
                if time.monotonic() > end:
                    raise
                time.sleep(WAIT_S)

    def _ask(self, method: str, params: dict[str, Any]) -> dict[str, Any]:
        number = next(self.numbers)
        self.socket.send(json.dumps({"id": number, "method": method, "params": params}))
        while True:
            answer = json.loads(self.socket.recv(timeout=ANSWER_WITHIN_S))
            if answer.get("id") != number:
                continue
            if answer["type"] == "error":
                message = f"{method}: {answer['message']}"
                raise RuntimeError(message)
            result: dict[str, Any] = answer["result"]
            return result


class WebKit:
    """WebKit (its port to GTK), over WebDriver (W3C)."""

    def __init__(self, program: str, browser: str, port: int) -> None:
        self.process = subprocess.Popen([program, f"--port={port}"], stderr=subprocess.DEVNULL)
        self.address = f"http://127.0.0.1:{port}"
        options = {"binary": browser, "args": ["--automation", "--enable-media-stream=true"]}
        wanted = {"acceptInsecureCerts": True, "webkitgtk:browserOptions": options}
        begun = self._begun({"capabilities": {"alwaysMatch": wanted}})
        self.address += f"/session/{begun['sessionId']}"
        told = begun["capabilities"]
        self.name = f"{told['browserName']} (WebKitGTK {told['browserVersion']})"

    def go(self, url: str) -> None:
        self._ask("POST", "/url", {"url": url})

    def run(self, code: str) -> Any:
        script = f"const done = arguments[0]; {PROMISED.format(code=code)}.then(done);"
        return json.loads(self._ask("POST", "/execute/async", {"script": script, "args": []}))

    def touch(self, x: float, y: float) -> None:
        self._ask("POST", "/actions", pointer(x, y))

    def another_tab(self) -> None:
        [last] = self._ask("GET", "/window/handles")
        made = self._ask("POST", "/window/new", {"type": "tab"})["handle"]
        self._ask("DELETE", "/window")
        assert self._ask("GET", "/window/handles") == [made] != [last]
        self._ask("POST", "/window", {"handle": made})

    def picture(self, file: Path) -> None:
        file.write_bytes(base64.b64decode(self._ask("GET", "/screenshot")))

    def end(self) -> None:
        try:
            self._ask("DELETE", "")
        finally:
            self.process.kill()
            self.process.wait()

    def _begun(self, asked: dict[str, Any]) -> dict[str, Any]:
        end = time.monotonic() + UP_WITHIN_S
        while True:
            try:
                begun: dict[str, Any] = self._ask("POST", "/session", asked)
            except OSError:
                if time.monotonic() > end:
                    raise
                time.sleep(WAIT_S)
            else:
                return begun

    def _ask(self, method: str, path: str, body: dict[str, Any] | None = None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        request = Request(self.address + path, data=data, method=method, headers={"Content-Type": "application/json"})
        try:
            with urlopen(request, timeout=ANSWER_WITHIN_S) as answer:
                return json.load(answer)["value"]
        except HTTPError as error:
            message = f"{method} {path}: {json.load(error)['value']['message']}"
            raise RuntimeError(message) from error


def pointer(x: float, y: float) -> dict[str, Any]:
    """The actions of one touch, the same in both protocols."""
    at = {"type": "pointerMove", "x": round(x), "y": round(y), "duration": 0, "origin": "viewport"}
    acts = [
        at,
        {"type": "pointerDown", "button": 0},
        {"type": "pause", "duration": 50},
        {"type": "pointerUp", "button": 0},
    ]
    return {"actions": [{"type": "pointer", "id": "finger", "parameters": {"pointerType": "mouse"}, "actions": acts}]}
