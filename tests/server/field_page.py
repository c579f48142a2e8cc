#!/usr/bin/env python3
"""Uses the field page in a real browser (headless Chromium, by its DevTools protocol), with the server taken away and brought back.

Usage: field_page.py PATH-OF-stonecall-server [FOLDER-FOR-PICTURES]
Ends with 0 if everything was as it should be, with 77 if the browser or python3-websockets is not installed.
"""

import asyncio
import base64
import contextlib
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

    def check_unbroken(self):
        broken = [t for t in self.told if t["method"] == "Runtime.exceptionThrown"]
        check("no exception was thrown", not broken, broken)

    async def picture(self, folder, name):
        if folder:
            shot = await self.command("Page.captureScreenshot", format="png")
            (folder / name).write_bytes(base64.b64decode(shot["data"]))


class Air:
    """What lies between the phone and the server: carries all, loses the answers, or stops in the middle of one.

    A connection that it has stopped stays so: nobody tells the phone that nothing more will come.
    """

    CARRIES, LOSES_ANSWERS, STOPS_HALF_WAY, SWALLOWS = range(4)

    def __init__(self, server):
        self.server, self.weather, self.listener, self.kept = server, self.CARRIES, None, []

    async def start(self):
        self.listener = await asyncio.start_server(self.carry, "127.0.0.1", 0)
        return self.listener.sockets[0].getsockname()[1]

    async def carry(self, reader, writer):
        try:
            there, to_server = await asyncio.open_connection("127.0.0.1", self.server.port)
        except OSError:
            return writer.close()
        await asyncio.gather(self.pump(reader, to_server, False), self.pump(there, writer, True))

    async def pump(self, reader, writer, answers):
        try:
            while data := await reader.read(65536):
                if answers and self.weather == self.LOSES_ANSWERS:
                    break
                if answers and self.weather != self.CARRIES:
                    if self.weather == self.STOPS_HALF_WAY:
                        writer.write(data[: data.find(b"\r\n\r\n") + 5])  # the header and one byte
                    self.kept.append(writer)
                    await reader.read()
                    return
                writer.write(data)
                await writer.drain()
        except OSError:
            pass
        if writer not in self.kept:
            writer.close()


def link_says(text):
    return f"document.getElementById('link').textContent.includes({json.dumps(text)})"


def noted(text, state):
    return (
        f"[...document.querySelectorAll('#noted li')].some((l) => l.textContent.includes({json.dumps(text)})"
        f" && l.querySelector('.{state}'))"
    )


async def use(page, server, address, pictures):
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
    check("there is no other view to be given than those that there are", await page.js("document.getElementById('view').offsetParent === null"))
    await page.tap("down sun")
    await page.tap("Note it")
    await page.until("a photo is sent, of the last sample", noted("Photo, down sun, 114", "sent"))
    await page.js("[...document.querySelectorAll('#noted li')].find((l) => l.textContent.includes('Photo')).querySelector('button').click()")
    await page.until("a photo is taken back", noted("Taken back: photo", "sent"))
    await page.tap("Note")
    await page.fill("text", "x" * 9000)
    await page.tap("Note it")
    await page.until("what the server would refuse is said at once", "document.querySelector('#form [role=alert]').textContent.startsWith('Too long')")
    await page.tap("Cancel")
    await page.js("note('voice_note', {text: 'x'.repeat(9000)})")  # as of a page that does not know the limit
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
    check("nothing is wider than the phone", await page.js("document.documentElement.scrollWidth <= 390"))
    await page.js("document.body.append(Object.assign(document.createElement('script'), {textContent: 'window.strange = true'}))")
    check("the policy lets no other script run", await page.js("window.strange === undefined"))
    page.check_unbroken()


async def bad_weather(page, server, air, address):
    """The link as it is out there: not simply there or not."""

    def stored(text):
        return [e["seq"] for e in server.events() if e.get("text") == text]

    note = "note('voice_note', {text: %s})"
    air.weather = air.LOSES_ANSWERS
    await page.js(note % json.dumps("Sent, and no answer came."))
    end = time.monotonic() + PATIENCE
    while not stored("Sent, and no answer came.") and time.monotonic() < end:
        await asyncio.sleep(0.1)
    check("what lost its answer waits", await page.js(noted("no answer came", "waiting")))
    air.weather = air.CARRIES
    await page.until("and is sent again", noted("no answer came", "sent"))
    check("and stands once", len(stored("Sent, and no answer came.")) == 1)

    air.weather = air.STOPS_HALF_WAY
    while not air.kept:  # the page asks every few seconds
        await asyncio.sleep(0.1)
    print("ok: a link that stops in the middle of an answer", flush=True)
    server.post("call", text="Called while nothing came through.", says="free")
    await page.js(note % json.dumps("Said while nothing came through."))
    air.weather = air.CARRIES
    await page.until("is given up by itself: the call comes", "document.body.textContent.includes('Called while nothing')")
    await page.until("and the note goes", noted("Said while nothing", "sent"))
    check("once", len(stored("Said while nothing came through.")) == 1)

    air.weather = air.SWALLOWS
    await page.go(address)
    await page.until("where a link carries nothing the kept page opens", "document.getElementById('place').textContent")
    air.weather = air.CARRIES

    await page.until("the link is back", link_says("nothing waits"))


async def hours_without(page, server, address):
    """More than the page shows of what was sent, and than goes into one post; then the phone is switched off."""
    await page.js("{ for (let i = 0; i < 120; ++i) note('tally', {counts: [{rock: 'basalt', count: i}], total: 200}, 180 - i); }")
    await page.js("note('voice_note', {text: 'y'.repeat(9000)})")
    await page.until("all of it waits", link_says("121 wait"))
    check("and is shown", await page.js("document.querySelectorAll('#noted .waiting').length") == 121)
    # The browser's own clock, from here on as fast as its work allows.
    await page.js("{ window.began = Date.now(); window.tries = 0; const real = fetch; window.fetch = (...what) => (++tries, real(...what)); }")
    await page.command("Emulation.setVirtualTimePolicy", policy="advance", budget=3 * 3600 * 1000)
    await page.until("three hours go by", "Date.now() - began >= 3 * 3600e3 - 60e3")
    tries = await page.js("tries")
    check("in which it tries again and again, and not all the time", 100 < tries < 3 * 3600, tries)
    check("nothing is given up", await page.js(link_says("121 wait")))
    check("nor shown twice", await page.js("document.querySelectorAll('#noted .waiting').length") == 121)
    await page.js("note('voice_note', {text: 'Said after three hours without a link.'})")
    await page.until("what is said then waits with the rest", link_says("122 wait"))


async def back_again(page, server, before):
    await page.until("a phone that was switched off meanwhile still has it", link_says("122 wait"))
    server.start()
    await page.until("with the link all of it goes", link_says("nothing waits"))
    counts = [e for e in server.events()[before:] if e["kind"] == "tally"]
    check("each once and in order", [c["counts"][0]["count"] for c in counts] == list(range(120)))
    age = [datetime.datetime.fromisoformat(c["received"]) - datetime.datetime.fromisoformat(c["at"]) for c in counts]
    check("at the time it was noted for", all(a > datetime.timedelta(minutes=60) for a in age) and age[0] > age[119])
    late = [e for e in server.events()[before:] if e.get("text", "").startswith("Said after three hours")]
    check("and what was said hours later, once", len(late) == 1)
    check("what is refused stays in sight", await page.js("document.querySelectorAll('#noted .refused').length") == 1)
    page.check_unbroken()


@contextlib.asynccontextmanager
async def phone(folder):
    """The browser, with what it kept from before; its one tab."""
    flags = ["--headless=new", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-dev-shm-usage"]
    if os.geteuid() == 0:
        flags.append("--no-sandbox")
    told = folder / "DevToolsActivePort"
    told.unlink(missing_ok=True)
    browser = subprocess.Popen(
        [BROWSER, *flags, "--remote-debugging-port=0", f"--user-data-dir={folder}", "about:blank"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        end = time.monotonic() + PATIENCE
        while not (told.exists() and "\n" in told.read_text()):
            if time.monotonic() > end or browser.poll() is not None:
                raise SystemExit("the browser did not start")
            await asyncio.sleep(0.1)
        port = told.read_text().split("\n")[0]
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/json/list", timeout=20) as answer:
            target = next(t for t in json.load(answer) if t["type"] == "page")
        async with websockets.connect(target["webSocketDebuggerUrl"], max_size=None) as socket:
            page = Page(socket)
            for domain in ("Page", "Runtime", "Log"):
                await page.command(domain + ".enable")
            await page.command("Emulation.setDeviceMetricsOverride", width=390, height=844, deviceScaleFactor=2, mobile=True)
            yield page
            await page.command("Browser.close")
        browser.wait(PATIENCE)
    finally:
        browser.kill()
        browser.wait()


async def main():
    pictures = pathlib.Path(sys.argv[2]) if len(sys.argv) > 2 else None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        folder = pathlib.Path(folder)
        server = Server(sys.argv[1], folder)
        server.start()
        server.post("plan", plan=PLAN)
        air = Air(server)
        address = f"http://127.0.0.1:{await air.start()}/field"
        try:
            async with phone(folder / "browser") as page:
                await use(page, server, address, pictures)
                await bad_weather(page, server, air, address)
                before = len(server.events())
                server.kill()
                await hours_without(page, server, address)
            async with phone(folder / "browser") as page:
                await page.go(address)
                await back_again(page, server, before)
        finally:
            server.kill()


if __name__ == "__main__":
    asyncio.run(main())
