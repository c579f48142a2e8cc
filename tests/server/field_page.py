#!/usr/bin/env python3
"""Uses the field page in a real browser (headless Chromium, by its DevTools protocol), with the server taken away and brought back.

Usage: field_page.py PATH-OF-stonecall-server [FOLDER-FOR-PICTURES]
Ends with 0 if everything was as it should be, with 77 if the browser or python3-websockets is not installed.
"""

import asyncio
import base64
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

try:
    import websockets
except ImportError:
    print("python3-websockets is not installed: skipped")
    sys.exit(77)
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
if not BROWSER:
    print("chromium is not installed: skipped")
    sys.exit(77)

PATIENCE = 60
FIELD, ADVISER = "field-token-of-the-fells", "adviser-token-of-the-fells"
PLAN = {
    "name": "Hallin Fells",
    "start": "2027-05-18T09:00:00.000+02:00",
    "duration_minutes": 150,
    "base": {"station": "HUT", "latitude": 64.1, "longitude": -19.2},
    "stations": [
        {"station": "RED CLEFT", "latitude": 64.101, "longitude": -19.21, "allotted_minutes": 25},
        {"station": "LONG STEP", "latitude": 64.103, "longitude": -19.22, "allotted_minutes": 30},
    ],
    "people": [{"name": "FIELD-1", "role": "field"}],
    "vocabulary": [{"rock": "basalt"}, {"rock": "scoria"}, {"rock": "rhyolite"}],
}


def check(what, right, seen=None):
    if not right:
        raise SystemExit(f"not as it should be: {what}" + (f"; seen: {seen}" if seen is not None else ""))
    print("ok:", what, flush=True)


def now():
    return datetime.datetime.now().astimezone().isoformat(timespec="milliseconds")


class Server:
    def __init__(self, program, folder):
        self.program, self.folder, self.port, self.process = program, folder, 0, None
        (folder / "tokens").write_text(f"field {FIELD}\nadviser {ADVISER}\n")

    def start(self):
        command = [self.program, "--store", self.folder / "store", "--tokens", self.folder / "tokens"]
        self.process = subprocess.Popen(
            [*command, "--listen", f"127.0.0.1:{self.port}"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        self.port = int(self.process.stdout.readline().rsplit(":", 1)[1])

    def kill(self):
        self.process.kill()
        self.process.wait()

    def ask(self, path, body=None):
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", data=body and json.dumps(body).encode())
        request.add_header("Authorization", "Bearer " + ADVISER)
        request.add_header("Content-Type", "application/json")
        with urllib.request.urlopen(request, timeout=20) as answer:
            return answer.read().decode()

    def post(self, kind, **members):
        event = {"id": str(uuid.uuid4()), "kind": kind, "at": now(), "from": "WREN", **members}
        self.ask("/events", event)
        return event["id"]

    def events(self):
        return [json.loads(line) for line in self.ask("/events").splitlines()]


class Page:
    """One tab. Commands go out one at a time; what the browser tells meanwhile is kept."""

    def __init__(self, socket):
        self.socket, self.number, self.told = socket, 0, []

    async def command(self, method, **parameters):
        self.number += 1
        await self.socket.send(json.dumps({"id": self.number, "method": method, "params": parameters}))
        while True:
            message = json.loads(await asyncio.wait_for(self.socket.recv(), PATIENCE))
            if message.get("id") == self.number:
                if "error" in message:
                    raise SystemExit(f"{method}: {message['error']}")
                return message["result"]
            self.told.append(message)

    async def js(self, expression):
        result = await self.command("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        if "exceptionDetails" in result:
            raise SystemExit(f"{expression}: {result['exceptionDetails']}")
        return result["result"].get("value")

    async def until(self, what, expression):
        end = time.monotonic() + PATIENCE
        while not await self.js(f"Boolean({expression})"):
            if time.monotonic() > end:
                raise SystemExit(f"never came: {what}\n" + await self.js("document.body.innerText"))
            await asyncio.sleep(0.1)
        print("ok:", what, flush=True)

    async def go(self, address):
        await self.command("Page.navigate", url=address)
        await self.until("the page is there", "document.readyState === 'complete' && document.getElementById('actions')?.children.length")

    async def tap(self, text):
        await self.js(
            "(() => { const b = [...document.querySelectorAll('button')].find((b) => b.textContent === %s && b.offsetParent);"
            " if (!b) throw new Error('no such button'); b.click(); })()" % json.dumps(text)
        )

    async def fill(self, field, text):
        await self.js(
            "(() => { const f = document.getElementById(%s); f.value = %s;"
            " f.dispatchEvent(new Event('input', {bubbles: true})); f.dispatchEvent(new Event('change', {bubbles: true})); })()"
            % (json.dumps(field), json.dumps(text))
        )

    async def picture(self, folder, name):
        if folder:
            shot = await self.command("Page.captureScreenshot", format="png")
            (folder / name).write_bytes(base64.b64decode(shot["data"]))


def link_says(text):
    return f"document.getElementById('link').textContent.includes({json.dumps(text)})"


def noted(text, state):
    return (
        f"[...document.querySelectorAll('#noted li')].some((l) => l.textContent.includes({json.dumps(text)})"
        f" && l.querySelector('.{state}'))"
    )


async def use(page, server, pictures):
    for domain in ("Page", "Runtime", "Log"):
        await page.command(domain + ".enable")
    await page.command("Emulation.setDeviceMetricsOverride", width=390, height=844, deviceScaleFactor=2, mobile=True)
    address = f"http://127.0.0.1:{server.port}/field"
    await page.go(address)
    await page.until("without a token it says that it is not let in", link_says("does not let you in"))
    await page.fill("name", "FIELD-1")
    await page.fill("token", FIELD)
    await page.until("with its token the link is up", link_says("Link up"))
    await page.js("document.getElementById('settings').open = false")

    await page.tap("Arrived")
    await page.until("stations of the plan are there to tap", "document.getElementById('form').textContent.includes('RED CLEFT')")
    await page.tap("RED CLEFT")
    await page.tap("Note it")
    await page.until("an arrival is sent", noted("Arrived at RED CLEFT", "sent"))
    arrival = server.events()[-1]
    check("the server has it", (arrival["kind"], arrival["station"], arrival["from"]) == ("arrival", "RED CLEFT", "FIELD-1"), arrival)
    await page.until("the page says where the party is", "document.getElementById('place').textContent.startsWith('At RED CLEFT')")
    await page.js("navigator.serviceWorker.ready.then(() => true)")

    server.kill()
    await page.tap("Count")
    for _ in range(3):
        await page.js("document.querySelector('[aria-label=\"One more: basalt\"]').click()")
    await page.js("document.querySelector('[aria-label=\"One more: others\"]').click()")
    await page.picture(pictures, "count.png")
    await page.tap("Note it")
    await page.tap("Note")
    await page.fill("text", "Loose blocks, no soil between.")
    await page.fill("when", "5")
    await page.tap("Note it")
    await page.until("what cannot be sent waits", link_says("2 wait"))
    await page.until("the page says since when there is no link", link_says("No link since"))
    await page.picture(pictures, "no_link.png")
    await page.go(address)
    await page.until("without a link the page opens again, and both still wait", link_says("2 wait"))

    server.start()
    await page.until("back with the link, the count is sent", noted("Count: 3 basalt of 4", "sent"))
    await page.until("and the note", noted("Loose blocks", "sent"))
    await page.until("nothing waits any more", link_says("nothing waits"))
    events = server.events()
    tallies = [e for e in events if e["kind"] == "tally"]
    notes = [e for e in events if e["kind"] == "voice_note"]
    check("each is stored once", len(tallies) == 1 and len(notes) == 1, events)
    check("the count is what was tapped", tallies[0]["counts"] == [{"rock": "basalt", "count": 3}] and tallies[0]["total"] == 4, tallies)
    said, received = (datetime.datetime.fromisoformat(notes[0][m]) for m in ("at", "received"))
    check("with the time of the event, not of the sending", received - said > datetime.timedelta(minutes=4.9), notes)

    server.post("call", text="60 %: scoria is found", says="free", chance=0.6, outcome="scoria is found")
    call = server.post("call", text="Get one more scoria, then move on.", says="get", rock="scoria")
    await page.until("a call from the back room is shown", "document.querySelector('.call')?.textContent.includes('one more scoria')")
    check("a chance stated for the book is none", not await page.js("document.querySelector('#calls').textContent.includes('60 %')"), "60 %")
    await page.picture(pictures, "call.png")
    await page.tap("Heard")
    await page.until("and can be answered", noted("Answered: heard", "sent"))
    await page.tap("Declined")
    await page.fill("why", "No time.")
    await page.tap("Note it")
    await page.until("and declined", noted("Answered: declined, No time.", "sent"))
    await page.until("and then makes room for the buttons",
                     "!document.querySelector('#calls .call') && document.querySelector('#earlier .call')?.textContent.includes('declined')")
    answers = [(e["call"], e["answer"], e.get("text")) for e in server.events() if e["kind"] == "call_answer"]
    check("the back room has both answers", answers == [(call, "heard", None), (call, "declined", "No time.")], answers)

    await page.tap("Sample")
    await page.picture(pictures, "sample.png")
    await page.fill("number", "114")
    await page.tap("scoria")
    await page.tap("Note it")
    await page.until("a sample is sent", noted("Sample, 114, scoria", "sent"))
    await page.tap("Share")
    await page.tap("basalt")
    await page.fill("low", "60")
    await page.fill("high", "70")
    await page.tap("Note it")
    await page.until("a share is sent", noted("basalt: 60–70 %", "sent"))
    await page.tap("Photo")
    await page.tap("down sun")
    await page.tap("Note it")
    await page.until("a photo is sent, of the last sample", noted("Photo, down sun, 114", "sent"))
    await page.js("[...document.querySelectorAll('#noted li')].find((l) => l.textContent.includes('Photo')).querySelector('button').click()")
    await page.until("a photo is taken back", noted("Taken back: photo", "sent"))
    await page.tap("Note")
    await page.fill("text", "x" * 9000)
    await page.tap("Note it")
    await page.until("what the server refuses is shown with the reason", noted("refused", "refused"))
    await page.js("[...document.querySelectorAll('#noted li')].find((l) => l.querySelector('.refused')).querySelector('button').click()")
    await page.tap("Leaving")
    await page.tap("Note it")
    await page.until("a departure is sent", noted("Leaving RED CLEFT", "sent"))
    await page.picture(pictures, "home.png")
    kinds = [e["kind"] for e in server.events() if e["from"] == "FIELD-1"]
    wanted = ["arrival", "tally", "voice_note", "call_answer", "call_answer", "sample", "share", "photo", "retract", "departure"]
    check("all is stored, once and in order", kinds == wanted, kinds)

    check(
        "nothing that is tapped is smaller than 44 px",
        await page.js("[...document.querySelectorAll('button')].filter((b) => b.offsetParent).every((b) => b.offsetHeight >= 44)"),
    )
    check("nothing is wider than the phone", await page.js("document.documentElement.scrollWidth <= innerWidth"))
    await page.js("document.body.append(Object.assign(document.createElement('script'), {textContent: 'window.strange = true'}))")
    check("the policy lets no other script run", await page.js("window.strange === undefined"))
    broken = [t for t in page.told if t["method"] == "Runtime.exceptionThrown"]
    check("no exception was thrown", not broken, broken)


async def main():
    pictures = pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        folder = pathlib.Path(folder)
        server = Server(sys.argv[1], folder)
        server.start()
        server.post("plan", plan=PLAN)
        flags = ["--headless=new", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-dev-shm-usage"]
        if os.geteuid() == 0:
            flags.append("--no-sandbox")
        browser = subprocess.Popen(
            [BROWSER, *flags, "--remote-debugging-port=0", f"--user-data-dir={folder / 'browser'}", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            told = folder / "browser" / "DevToolsActivePort"
            end = time.monotonic() + PATIENCE
            while not (told.exists() and "\n" in told.read_text()):
                if time.monotonic() > end or browser.poll() is not None:
                    raise SystemExit("the browser did not start")
                time.sleep(0.1)
            port = told.read_text().split("\n")[0]
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/json/list", timeout=20) as answer:
                target = next(t for t in json.load(answer) if t["type"] == "page")
            async with websockets.connect(target["webSocketDebuggerUrl"], max_size=None) as socket:
                await use(Page(socket), server, pictures)
        finally:
            browser.kill()
            browser.wait()
            server.kill()


asyncio.run(main())
