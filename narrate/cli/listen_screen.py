"""What a terminal shows while somebody speaks: words, what is found so far, and how many seconds are safe."""

import shutil
import sys
import threading

import click

from narrate.hear.clock import clock
from narrate.work.live_aloud import Message

NO_LIVE = "There are no live words any more; recording goes on, and the list comes of the whole recording."
SO_FAR = "      so far: "
DONE: dict[str, str] = {
    "take_back": "taken back",
    "mark": "marked",
    "photograph": "a photo belongs here",
    "next_vehicle": "the next vehicle begins",
    "read_back": "said again",
    "whats_left": "what is left",
    "done": "ended",
}


class Screen:
    """Messages in, lines out. What may still change stands in one last line, where there is a terminal."""

    def __init__(self) -> None:
        self.done_was_said = False
        self._lines: dict[str, str] = {}
        self._safe_s = 0.0
        self._partial = ""
        self._waits = ""
        self._lock = threading.Lock()
        self._moving = sys.stdout.isatty()

    def show(self, message: Message) -> None:
        """Show one message of work/listening.py or of work/live_session.py; any thread may."""
        with self._lock:
            lines = self._said(message)
            if lines and self._moving:
                click.echo("\r\x1b[K", nl=False)
            for line in lines:
                click.echo(line)
            self._draw()

    def close(self) -> None:
        """Leave nothing half written."""
        with self._lock:
            if self._moving:
                click.echo("\r\x1b[K", nl=False)
            self._moving = False

    def _said(self, message: Message) -> list[str]:
        kind = message["type"]
        if kind == "safe":
            self._safe_s, self._waits = message["s"], ""
        elif kind == "waiting" and message["why"] != self._waits:
            self._waits = message["why"]
            return [f"      Not safe yet: {self._waits}"]
        elif kind == "words":
            self._partial = "" if message["final"] else message["text"]
            return (
                [f"{clock(message['start_s']):>5}  {message['text']}"] if message["final"] and message["text"] else []
            )
        elif kind == "findings":
            return self._findings(message["findings"])
        elif kind == "command":
            self.done_was_said = self.done_was_said or message["command"] == "done"
            about = f": {message['about']}" if message.get("about") else ""
            return [f"      {DONE[message['command']]}{about}"]
        elif kind == "question" or (kind == "say" and message["why"] != "question"):
            return [f"      “{message['text']}”"]
        elif kind == "answered":
            return [f"{SO_FAR}{message['text']}"]
        elif kind == "told":
            return [f"      {message['text']}"]
        elif kind == "unavailable":
            return [f"      {NO_LIVE}"]
        return []

    def _findings(self, findings: list[Message]) -> list[str]:
        """Only what is new, or reads otherwise than before."""
        now = {row["id"]: row["line"] for row in findings if not row["taken_back"]}
        new = [f"{SO_FAR}{line}" for id_, line in now.items() if self._lines.get(id_) != line]
        gone = [f"      no more: {line}" for id_, line in self._lines.items() if id_ not in now]
        self._lines = now
        return gone + new

    def _draw(self) -> None:
        if not self._moving:
            return
        width = shutil.get_terminal_size().columns - 1
        line = f"● {clock(self._safe_s)} safe  {self._partial}"
        shown = line if len(line) <= width else f"{line[: width - 1]}…"
        click.echo(f"\r\x1b[K{shown}", nl=False)
