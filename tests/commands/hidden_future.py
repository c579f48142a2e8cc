#!/usr/bin/env python3
"""While a log is played for practice, nothing that was received later can be had, whichever way it is asked for.

  hidden_future.py STONECALL SERVER LOG      under a display (xvfb-run)

The server plays the log as `stonecall practice` has it play, held at an hour and ten minutes. It is asked by /events,
/events?said=, /live and /metrics. The desk is held against one on a log that has nothing of it: it must look the
same, pixel by pixel, since what it does not have it cannot show. In its window the key that lays the end beside a replay
does nothing (with xdotool and ImageMagick).
"""

import asyncio
import datetime
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request

import websockets

HELD_AT = "1:10"
FAULTS = []


def require(holds, what):
    if not holds:
        print(f"not so: {what}", file=sys.stderr)
        FAULTS.append(what)


class Server:
    """Holds a log at HELD_AT, as it is before a desk comes to a practice run."""

    def __init__(self, program, log, folder, listen="127.0.0.1:0", unseen=False):
        store = pathlib.Path(folder) / (f"{log.stem}-unseen.store" if unseen else f"{log.stem}.store")
        self.process = subprocess.Popen(
            [program, "--store", str(store), "--listen", listen, "--play", str(log), "--speed", "1",
             "--play-from", HELD_AT, "--play-wait"] + ["--play-unseen"] * unseen,
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.address = self.process.stdout.readline().strip()
        if not unseen:
            self.post("/play", {"paused": True})

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.terminate()
        self.process.wait()

    def get(self, path):
        with urllib.request.urlopen(f"http://{self.address}{path}", timeout=30) as answer:
            return answer.read().decode()

    def post(self, path, body):
        request = urllib.request.Request(f"http://{self.address}{path}", json.dumps(body).encode(),
                                         {"Content-Type": "application/json"})
        with urllib.request.urlopen(request, timeout=30):
            pass

    def refuses(self, path, body):
        try:
            self.post(path, body)
        except urllib.error.HTTPError as error:
            return error.code == 409
        return False

    def events(self, query=""):
        return [json.loads(line) for line in self.get("/events" + query).splitlines()]

    async def _live(self):
        events = []
        async with websockets.connect(f"ws://{self.address}/live?after=0", subprotocols=["stonecall.v1"],
                                      max_size=None) as socket:
            heartbeats = 0
            # Two heartbeats after all is sent: what was still to come by itself would be here.
            while heartbeats < 2:
                message = json.loads(await asyncio.wait_for(socket.recv(), 30))
                events += message.get("events", [])
                heartbeats += message["type"] == "heartbeat"
        return events

    def live(self):
        return asyncio.run(self._live())


def received(event):
    return datetime.datetime.fromisoformat(event.get("received", event["at"]))


def words_of(event):
    return set(re.findall(r"[a-z]{5,}", event.get("text", "").lower()))


def picture_of_desk(program, server, folder, name):
    picture = pathlib.Path(folder) / f"{name}.png"
    home = pathlib.Path(folder) / name
    home.mkdir()
    given = dict(os.environ, HOME=str(home), XDG_STATE_HOME=str(home), XDG_CONFIG_HOME=str(home),
                 LIBGL_ALWAYS_SOFTWARE="1")
    subprocess.run([program, "live", "--server", server.address, "--name", "WREN", "--size", "1280x720",
                    "--screenshot", str(picture), "--at", HELD_AT], env=given, check=True, timeout=120)
    return picture.read_bytes()


def window_at_keys(program, server, folder, *keys):
    """What stands in the window of a desk at first, and after each key; None where that cannot be seen here."""
    if not shutil.which("xdotool") or not shutil.which("import"):
        return None
    deadline = time.monotonic() + 90
    home = pathlib.Path(folder) / "window"
    home.mkdir()
    given = dict(os.environ, HOME=str(home), XDG_STATE_HOME=str(home), XDG_CONFIG_HOME=str(home),
                 LIBGL_ALWAYS_SOFTWARE="1")
    desk = subprocess.Popen([program, "live", "--server", server.address, "--name", "WREN", "--size", "1280x720"],
                            env=given, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def picture():
        return subprocess.run(["import", "-window", "root", "-depth", "8", "rgb:-"], capture_output=True,
                              check=True).stdout

    def at_rest():
        seen = picture()
        while time.monotonic() < deadline:
            time.sleep(1.5)  # longer than a heartbeat: nothing more comes by itself
            now = picture()
            if now == seen and len(set(now)) > 20:
                return now
            seen = now
        return None

    try:
        found = []
        while not found and time.monotonic() < deadline:
            time.sleep(0.1)
            found = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", "tonecall"], capture_output=True,
                                   text=True).stdout.split()[:1]
        subprocess.run(["xdotool", "windowfocus", *found], check=True)
        pictures = [at_rest()]
        for key in keys:
            subprocess.run(["xdotool", "key", key], check=True)
            pictures.append(at_rest())
        return pictures
    finally:
        desk.terminate()
        desk.wait()


def main():
    program, server_program, log = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
    recorded = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    start = datetime.datetime.fromisoformat(recorded[0]["plan"]["start"])
    held = start + datetime.timedelta(hours=1, minutes=10)
    past = [event for event in recorded if received(event) <= held]
    future = [event for event in recorded if received(event) > held]
    require(len(past) > 100 and len(future) > 100, "the log goes well beyond the moment")
    hidden = {event["id"] for event in future}
    early = set().union(*map(words_of, past))
    late = sorted(set().union(*map(words_of, future)) - early)
    require(len(late) > 50, f"words that are only said later: {len(late)}")

    with tempfile.TemporaryDirectory() as folder:
        cut = pathlib.Path(folder) / "cut.jsonl"
        # A log that is over can not be held: it goes on with one remark much later.
        end = dict(id="0d7cf3a1-5f0e-4a57-8f2c-6b1d0f6f3a55", kind="remark", at=future[-1]["at"],
                   received=future[-1]["received"], seq=len(past) + 1, text="Ended.", **{"from": recorded[0]["from"]})
        lines = [json.dumps(event, ensure_ascii=False) + "\n" for event in past + [end]]
        cut.write_text("".join(lines), encoding="utf-8")
        with Server(server_program, log, folder) as server:
            for way, events in (("/events", server.events()), ("/events?after=", server.events("?after=10")),
                                ("/live", server.live())):
                require(events, f"{way} has what was played")
                require(not hidden & {event["id"] for event in events}, f"{way} has nothing of what comes later")
                require(all(received(event) <= held for event in events), f"{way} has nothing received later")
            require({event["id"] for event in server.events()} == {event["id"] for event in past},
                    "/events has all that was received by then")
            found = server.events("?said=" + urllib.parse.quote(sorted(early)[0]))
            require(found, "the search finds what was said before")
            for word in late:
                require(not server.events("?said=" + word), f"the search does not know {word!r} yet")
            for path in ("/health", "/metrics"):
                require(not any(event["id"] in server.get(path) for event in future), f"{path} names no later event")
            require({"end", "events"} <= json.loads(server.get("/play")).keys(), "a debrief is told how much is to come")
            with Server(server_program, log, folder, unseen=True) as unseen:
                told = json.loads(unseen.get("/play"))
                require(told["played"] == len(past) and not {"end", "events"} & told.keys(),
                        f"practice is not told how much is to come: {told}")
                require(unseen.refuses("/play", {"to": "1:15"}), "and may not leap ahead")
                require(unseen.refuses("/play", {"speed": 600}), "nor hurry on")
                require(not unseen.refuses("/play", {"paused": True}), "but may pause")

            shown = picture_of_desk(program, server, folder, "played")
            # Held, it is the same moment whenever it is looked at.
            require(picture_of_desk(program, server, folder, "again") == shown, "opened twice the desk shows the same")
            pictures = window_at_keys(program, server, folder, "ctrl+e", "F8")
            if pictures:
                require(all(pictures), "the window comes to rest")
                require(pictures[0] == pictures[1], "the key that lays the end beside a replay does nothing here")
                require(pictures[1] != pictures[2], "keys come to the window: that of the theme does something")
            server.post("/play", {"to": "1:15"})
            later = picture_of_desk(program, server, folder, "later")
        # At the same address, which the desk shows.
        with Server(server_program, cut, folder, server.address) as server:
            require(picture_of_desk(program, server, folder, "cut") == shown, "it looks as if there were no later events")
        require(later != shown, "five minutes later it looks otherwise")
    print(f"{len(past)} events to be had, {len(future)} not; {len(late)} words not found yet; {len(FAULTS)} faults")
    sys.exit(bool(FAULTS))


if __name__ == "__main__":
    main()
