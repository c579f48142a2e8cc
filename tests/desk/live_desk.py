#!/usr/bin/env python3
"""Sits at a live desk as a person does: the real program in a real window, keys pressed, the screen
and the real server looked at, the server killed and started again.

  live_desk.py STONECALL STONECALL-SERVER      under a display (xvfb-run)

Exit code: 0 all as it should be, 1 not, 77 xdotool is missing.
"""

import contextlib
import ctypes
import ctypes.util
import datetime
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
import uuid

SCRIBE, FIELD = "WREN", "FIELD-1"
PATIENCE = 60  # how long to look before it is said that something does not happen


def plan():
    began = datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(minutes=20)
    return {
        "name": "Hallin Fells",
        "start": began.isoformat(timespec="milliseconds"),
        "duration_minutes": 150,
        "base": {"station": "HUT", "latitude": 64.1, "longitude": -19.2},
        "stations": [{"station": "RED CLEFT", "latitude": 64.101, "longitude": -19.21, "allotted_minutes": 25}],
        "people": [{"name": FIELD, "role": "field"}],
        "vocabulary": [{"rock": "basalt"}, {"rock": "scoria"}, {"rock": "rhyolite"}],
    }


def require(holds, what, seen=None):
    if not holds:
        raise SystemExit(f"not so: {what}" + (f"; seen: {seen}" if seen is not None else ""))
    print("ok:", what, flush=True)


def until(what, look):
    end = time.monotonic() + PATIENCE
    while not (found := look()):
        if time.monotonic() > end:
            raise SystemExit(f"never came: {what}")
        time.sleep(0.05)
    print("ok:", what, flush=True)
    return found


def unsent_note(text):
    now = datetime.datetime.now(datetime.timezone.utc).isoformat(timespec="milliseconds")
    return json.dumps({"id": str(uuid.uuid4()), "at": now, "from": SCRIBE, "kind": "voice_note", "text": text}) + "\n"


class Server:
    def __init__(self, program, folder):
        self.program, self.store, self.port, self.process = program, folder / "ridge.store", 0, None

    def start(self):
        command = [self.program, "--store", self.store, "--listen", f"127.0.0.1:{self.port}"]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.port = int(self.process.stdout.readline().rsplit(":", 1)[1])

    def kill(self):
        """As kill -9: it gets no chance to say goodbye."""
        self.process.kill()
        self.process.wait()

    def get(self, path):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=PATIENCE) as answer:
            return answer.read().decode()

    def events(self, **members):
        """Those stored whose members are these."""
        stored = [json.loads(line) for line in self.get("/events").splitlines()]
        return [event for event in stored if members.items() <= event.items()]


class Screen:
    """What stands on the screen, read from the X server itself."""

    def __init__(self):
        self.x11 = ctypes.CDLL(ctypes.util.find_library("X11"))
        self.x11.XOpenDisplay.restype = ctypes.c_void_p
        self.x11.XDefaultRootWindow.restype = ctypes.c_ulong
        self.x11.XDefaultRootWindow.argtypes = [ctypes.c_void_p]
        self.x11.XGetImage.restype = ctypes.c_void_p
        self.x11.XGetImage.argtypes = [ctypes.c_void_p, ctypes.c_ulong, ctypes.c_int, ctypes.c_int,
                                       ctypes.c_uint, ctypes.c_uint, ctypes.c_ulong, ctypes.c_int]
        self.x11.XGetPixel.restype = ctypes.c_ulong
        self.x11.XGetPixel.argtypes = [ctypes.c_void_p, ctypes.c_int, ctypes.c_int]
        self.x11.XDestroyImage.argtypes = [ctypes.c_void_p]
        self.display = self.x11.XOpenDisplay(None)
        if not self.display:
            raise SystemExit("no display: run this under xvfb-run")
        self.root = self.x11.XDefaultRootWindow(self.display)

    def ground(self):
        """The colour of the desk's margin, as 0xrrggbb."""
        all_planes, z_pixmap = ctypes.c_ulong(-1).value, 2
        image = self.x11.XGetImage(self.display, self.root, 2, 2, 1, 1, all_planes, z_pixmap)
        pixel = self.x11.XGetPixel(image, 0, 0) & 0xFFFFFF
        self.x11.XDestroyImage(image)
        return pixel

    def is_light(self):
        return min(self.ground().to_bytes(3, "big")) > 0xC0

    def is_dark(self):
        # The bare screen before the window is drawn is all black; no theme's ground is.
        return 0 < max(self.ground().to_bytes(3, "big")) < 0x40


class Desk:
    def __init__(self, process):
        self.process = process
        window = until("the window is there", self.window)
        subprocess.run(["xdotool", "windowfocus", "--sync", window], check=True)

    def window(self):
        if self.process.poll() is not None:
            raise SystemExit(f"the desk did not stay: {self.process.communicate()[0]}")
        search = ["xdotool", "search", "--onlyvisible", "--name", "Stonecall"]
        found = subprocess.run(search, capture_output=True, text=True).stdout.split()
        return found[0] if found else None

    def press(self, *keys):
        subprocess.run(["xdotool", "key", "--delay", "30", *keys], check=True)

    def type(self, words):
        subprocess.run(["xdotool", "type", "--delay", "8", words], check=True)

    def leave(self):
        self.press("ctrl+q")
        said, _ = self.process.communicate(timeout=PATIENCE)
        require(self.process.returncode == 0, "Ctrl+Q leaves with 0", said)


@contextlib.contextmanager
def desk_at(program, home, port, *options):
    own = dict(HOME=str(home), XDG_STATE_HOME=str(home / "state"), XDG_CONFIG_HOME=str(home / "config"))
    process = subprocess.Popen(
        [program, "live", "--server", f"127.0.0.1:{port}", "--name", SCRIBE, *options],
        env=dict(os.environ, LIBGL_ALWAYS_SOFTWARE="1", **own), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        yield Desk(process)
    finally:  # no desk outlives the test, however it ends
        if process.poll() is None:
            process.kill()
            process.wait()


def sit(program, server, home, screen):
    given = home / "fells.plan.json"
    given.write_text(json.dumps(plan()))
    settings = home / "config" / "stonecall" / "desk.json"

    with desk_at(program, home, server.port, "--plan", str(given), "--size", "1280x720") as desk:
        until("the desk follows the server and gives it the plan", lambda: server.events(kind="plan"))
        until("the paper stands on the screen", screen.is_light)

        words = "of ten underfoot, seven basalt, two scoria, one rhyolite"
        desk.press("F7")
        desk.type(words)
        desk.press("Return")
        (note,) = until("a note typed and sent by Enter is at the server", lambda: server.events(kind="voice_note", text=words))
        require(note["from"] == SCRIBE, "under the scribe's name", note)

        # What a note seems to say is worked out beside; N goes to it once it is there.
        desk.press("F3")

        def accepted():
            desk.press("n", "Return")
            return server.events(kind="reading", note=note["id"])

        (reading,) = until("its reading, accepted by key, is at the server", accepted)
        counts = reading["fact"]["counts"]
        require([each["count"] for each in counts][:3] == [7, 2, 1], "with the counts that were typed", reading)

        desk.press("F5", "w")
        desk.type("count ten more underfoot")
        desk.press("Return")
        (call,) = until("a call written by hand is at the server", lambda: server.events(kind="call"))
        require("count ten more underfoot" in json.dumps(call), "in its words", call)

        desk.press("F3", "ctrl+z")
        until("Ctrl+Z takes it back", lambda: server.events(kind="retract", target=call["id"]))

        desk.press("F8")
        until("F8 turns the screen to night", screen.is_dark)

        server.kill()
        meanwhile = "bag thirty one, vesicular basalt"
        desk.press("F7")
        desk.type(meanwhile)
        desk.press("Return")
        server.start()
        until("a note typed while the server was dead comes once it lives again",
              lambda: server.events(kind="voice_note", text=meanwhile))
        later = "bag thirty two, scoria"
        desk.type(later)
        desk.press("Return")
        until("and the next one after it", lambda: server.events(kind="voice_note", text=later))
        notes = [event["text"] for event in server.events(kind="voice_note")]
        require(notes == [words, meanwhile, later], "each note stands there exactly once, in order", notes)
        require(len(server.events(kind="plan")) == 1, "and so does the plan")

        desk.type("bag thirty three, half")
        desk.leave()
    require(json.loads(settings.read_text())["theme"] == "night", "the theme is remembered")
    require(len(server.events(kind="voice_note")) == 3, "what was not sent by Enter was not sent")

    with desk_at(program, home, server.port) as desk:
        desk.type(" buried")  # at once, before it is drawn
        desk.press("Return")
        until("the desk is found again with the words in its line that were half typed, and goes on behind them",
              lambda: server.events(kind="voice_note", text="bag thirty three, half buried"))
        until("in the theme it was left in", screen.is_dark)
        server.kill()
        last = "bag thirty four, basalt"
        desk.press("F7")
        desk.type(last)
        desk.press("Return")
        kept = home / "state" / "stonecall" / "unsent" / f"127.0.0.1_{server.port}.jsonl"
        until("a note that nobody can take is on the disk", lambda: kept.exists() and last in kept.read_text())
        desk.type("and half a")
        until("so is what is half typed", lambda: json.loads(settings.read_text())["draft"] == "and half a")
        desk.process.kill()
    # As desks kept them for whatever server, and one for another.
    before, elsewhere = home / "state" / "stonecall" / "unsent.jsonl", kept.with_name("ridge.example_7700.jsonl")
    before.write_text(unsent_note("kept by an older desk"))
    elsewhere.write_text(unsent_note("meant for the ridge"))
    server.start()
    with desk_at(program, home, server.port) as desk:
        until("a note that an older desk kept goes out", lambda: server.events(kind="voice_note", text="kept by an older desk"))
        until("the note goes out though the desk was killed too", lambda: server.events(kind="voice_note", text=last))
        desk.type(" line")
        desk.press("Return")
        until("and the words stand in the line again", lambda: server.events(kind="voice_note", text="and half a line"))
        desk.leave()
    require(len(server.events(kind="voice_note", text=last)) == 1, "once")
    require(not kept.exists() and not before.exists(), "and is kept no longer")
    require("meant for the ridge" in elsewhere.read_text(), "what is meant for another server stays where it is")
    require(not server.events(kind="voice_note", text="meant for the ridge"), "and does not come to this one")
    require(json.loads(settings.read_text())["draft"] == "", "once sent they are not kept")


def main():
    if not shutil.which("xdotool"):
        print("xdotool is missing: apt-get install xdotool")
        sys.exit(77)
    program, server_program = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as folder:
        home = pathlib.Path(folder)
        server = Server(server_program, home)
        server.start()
        try:
            sit(program, server, home, Screen())
        finally:
            server.kill()


if __name__ == "__main__":
    main()
