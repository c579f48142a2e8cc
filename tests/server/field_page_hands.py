#!/usr/bin/env python3
"""The field page in a person's hands: slow taps, gloves, the phone's own keys, a phone without room, another exercise at the same address.

Usage: field_page_hands.py PATH-OF-stonecall-server [NAME-OF-A-PART ...]
Ends with 0 if everything was as it should be, with 77 if the browser or python3-websockets is not installed.
"""

import asyncio
import json
import pathlib
import sys
import tempfile

from field_page import FIELD, PLAN, Page, Server, check, link_says, noted, phone, websockets

ROUNDS = 2  # of the page's asking, by which what it shows is brought up to date


def shows(part, text):
    return f"document.getElementById({json.dumps(part)}).innerText.includes({json.dumps(text)})"


def pressed(text, within="main"):
    return f"[...document.querySelectorAll('{within} button')].find((b) => b.textContent === {json.dumps(text)} && b.offsetParent)"


async def rounds(page, count=ROUNDS):
    """Until the page has asked so many times more, and drawn what came."""
    await page.js("{ window.asked = 0; window.realFetch ??= fetch; window.fetch = (...what) => realFetch(...what).finally(() => ++asked); }")
    await page.until("the page asks again", f"asked > {count}")


async def let_in(page, address):
    await page.go(address)
    await page.fill("name", "FIELD-1")
    await page.fill("token", FIELD)
    await page.until("the link is up", link_says("Link up"))
    await page.js("document.getElementById('settings').open = false")


async def centre(page, button):
    return await page.js(
        f"(() => {{ const b = {button}; b.scrollIntoView({{block: 'center'}}); const r = b.getBoundingClientRect();"
        " return [r.x + r.width / 2, r.y + r.height / 2]; })()"
    )


async def mouse(page, kind, at):
    await page.command("Input.dispatchMouseEvent", type="mouse" + kind, x=at[0], y=at[1], button="left", clickCount=1)


async def slow_hands(page, server, address):
    await let_in(page, address)
    server.post("call", text="Take your time.", says="free")
    await page.until("a call is there", pressed("Heard", "#calls"))
    at = await centre(page, pressed("Heard", "#calls"))
    await mouse(page, "Pressed", at)
    await rounds(page)
    await mouse(page, "Released", at)
    await page.until("a tap that lasts while the page asks again counts", noted("Answered: heard", "sent"))

    await page.js(pressed("Acting", "#calls") + ".focus()")
    await rounds(page)
    check("the keyboard stays where it was", await page.js(f"document.activeElement === {pressed('Acting', '#calls')}"))

    await page.tap("Note")
    await page.fill("text", "Tapped twice.")
    at = await centre(page, pressed("Note it"))
    for _ in range(2):
        await mouse(page, "Pressed", at)
        await mouse(page, "Released", at)
    await page.until("a note is sent", noted("Tapped twice.", "sent"))
    check("a tap that shook does nothing more behind the form",
          await page.js("document.getElementById('form').hidden") and not await page.js(shows("noted", "Taken back")))


async def second_thoughts(page, server, address):
    await let_in(page, address)
    await page.tap("Arrived")
    await page.tap("RED CLEFT")
    await page.tap("Note it")
    await page.until("an arrival is sent", noted("Arrived at RED CLEFT", "sent"))
    await rounds(page)
    await page.js(pressed("Take back", "#noted") + ".click()")
    await page.until("who takes an arrival back is not there", shows("place", "On the way"))
    await page.until("and it is sent", noted("Taken back: arrival", "sent"))
    await rounds(page)
    check("nor once the server has it", await page.js(shows("place", "On the way")))
    await page.js(pressed("Put back", "#noted") + ".click()")
    await page.until("who puts it back is there again", shows("place", "At RED CLEFT"))

    call = server.post("call", text="Move on now.", says="move_on")
    await page.until("a call", shows("calls", "Move on now."))
    away = server.post("retract", target=call)
    await page.until("that is taken back goes", "!" + shows("calls", "Move on now."))
    server.post("retract", target=away)
    await page.until("and comes again where the taking back is taken back", shows("calls", "Move on now."))
    server.post("amend", target=call, changes={"text": "Stay here."})
    await page.until("with its words as amended", shows("calls", "Stay here."))
    answer = server.post("call_answer", call=call, answer="acting")
    await page.until("an answer noted by the back room", shows("earlier", "acting"))
    server.post("retract", target=answer)
    await page.until("and taken back leaves the call to be answered", shows("calls", "Stay here."))
    await page.tap("Acting")
    await page.until("a wrong button", noted("Answered: acting", "sent"))
    await page.js(pressed("Take back", "#noted") + ".click()")
    await page.until("can be taken back too", pressed("Acting", "#calls"))

    for text in ("First.", "Second.", "Third."):
        server.post("call", text=text, says="free")
    await page.until("where more calls wait than stand above the buttons it is said", shows("calls", "2 more calls wait for an answer"))


async def other_hours(page, server, address):
    """The back room sits three hours of offset east of the phone."""
    await page.command("Emulation.setTimezoneOverride", timezoneId="Atlantic/Reykjavik")
    await let_in(page, address)
    await page.tap("Leaving")
    await page.tap("Note it")
    await page.until("a departure", noted("Leaving", "sent"))
    early = await page.js("new Date(Date.now() + 3 * 3600e3 - 600e3).toISOString().replace('Z', '+03:00')")
    server.post("arrival", at=early, station="RED CLEFT")
    await rounds(page)
    check("an earlier arrival at a later hour of another offset is earlier", await page.js(shows("place", "On the way")))
    late = await page.js("new Date(Date.now() - 9 * 3600e3 + 1000).toISOString().replace('Z', '-09:00')")
    server.post("arrival", at=late, station="LONG STEP")
    await page.until("and a later one at an earlier hour is later", shows("place", "At LONG STEP"))
    note = server.post("voice_note", text="We have arrived at Red Cleft.", at=early)
    server.post("reading", note=note, outcome="accepted", fact={"kind": "arrival", "station": "RED CLEFT"})
    await rounds(page)
    check("an arrival read from a note counts at the time of the note", await page.js(shows("place", "At LONG STEP")))


async def phones_own_keys(page, server, address):
    await let_in(page, address)
    await page.tap("Count")
    more = "document.querySelector('[aria-label=\"One more: basalt\"]').click()"
    await page.js(more)
    await page.js(more)
    await page.command("Page.reload")
    await page.until("a count half made is there again after the phone put the page away", "document.getElementById('count of basalt')?.value === '2'")
    await page.tap("Note it")
    await page.until("and is noted", noted("Count: 2 basalt of 2", "sent"))
    await page.tap("Sample")
    await page.fill("number", "114")
    await page.js("setTimeout(() => history.back())")
    await page.until("the phone's way back leaves the form, not the page", "document.getElementById('form').hidden && " + link_says("Link up"))
    await page.command("Page.reload")
    await page.until("and what was left is left", "document.getElementById('link')?.textContent.includes('Link up') && document.getElementById('form').hidden")


async def two_tabs(page, server, address):
    await let_in(page, address)
    await page.tap("Count")
    await page.js("document.querySelector('[aria-label=\"One more: basalt\"]').click()")
    target = (await page.command("Target.createTarget", url=address))["targetId"]
    at = f"ws://127.0.0.1:{page.socket.remote_address[1]}/devtools/page/{target}"
    async with websockets.connect(at, max_size=None) as socket:
        other = Page(socket)
        await other.command("Runtime.enable")
        await other.until("another tab is open, and let in", "document.getElementById('link')?.textContent.includes('Link up')")
        check("it does not offer what is half filled in the first", await other.js("document.getElementById('form').hidden"))
        server.kill()
        await page.tap("Note it")
        await other.until("what waits in one is seen in the other", "document.getElementById('link').textContent.includes('1 waits')")
        server.start()
        for tab in (page, other):
            await tab.until("it is sent", noted("Count: 1 basalt of 1", "sent"))
        check("once, whichever tab sent it", len([e for e in server.events() if e["kind"] == "tally"]) == 1)
        await other.js(pressed("Take back", "#noted") + ".click()")
        await page.until("what one takes back is taken back in the other", shows("noted", "taken back"))
        other.check_unbroken()


async def no_room(page, server, address):
    await let_in(page, address)
    await page.js("""{
      const fill = (key, size) => { try { for (let n = 0; ; ++n) localStorage.setItem(key + n, 'x'.repeat(size)); } catch (full) { return; } };
      fill('a', 100000); fill('b', 1000); fill('c', 1);
    }""")
    check("where there is no room a note is not taken for kept", not await page.js("note('voice_note', {text: 'No room.'})"))
    check("and it is said", await page.js(shows("warning", "keeps nothing more")))
    # Room for what waits, and not for a word more about what became of it.
    await page.js("""{
      link.up = false; sending = true;
      localStorage.removeItem('a0');
      note('voice_note', {text: 'The last that fits.'});
      for (let size = 100000; size > 0; size = size > 1 ? Math.floor(size / 2) : 0)
        for (let n = 0; ; ++n) try { localStorage.setItem('d' + size + '.' + n, 'x'.repeat(size)); } catch (full) { break; }
      window.posts = 0; const real = fetch; window.fetch = (...what) => { if (what[1]?.method === 'POST') ++posts; return real(...what); };
      sending = false; round();
    }""")
    await page.until("the last that fits is sent", link_says("nothing waits"))
    await rounds(page)
    check("once", await page.js("posts") == 1, await page.js("posts"))
    check("and stands", [e["text"] for e in server.events() if e["kind"] == "voice_note"] == ["The last that fits."], server.events())


async def nothing_kept(page, server, address):
    source = "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('denied', 'SecurityError'); }});"
    await page.command("Page.addScriptToEvaluateOnNewDocument", source=source)
    await let_in(page, address)
    check("a browser that lets nothing be kept is said to", await page.js(shows("warning", "keeps nothing for this page")))
    await page.tap("Note")
    await page.fill("text", "From a private window.")
    await page.tap("Note it")
    await page.until("and all the same the page can be used", noted("From a private window.", "sent"))


async def another_exercise(page, server, address):
    await let_in(page, address)
    server.post("call", text="Of the first day.", says="free")
    await page.until("a call of the first day", shows("calls", "Of the first day."))
    server.kill()
    await page.js("note('sample', {number: '31'})")
    await page.until("what could not be sent waits", link_says("1 waits"))
    for each in server.folder.glob("store*"):
        each.rename(server.folder / ("first." + each.name))
    server.start()
    other = json.loads(json.dumps(PLAN).replace("RED CLEFT", "BLACK TARN"))
    server.post("plan", plan=other)
    for n in range(5):  # more than the first day's
        server.post("remark", text=str(n))
    await page.until("at another exercise under the same address its stations are offered",
                     link_says("Link up") + " && known.stations.includes('BLACK TARN')")
    check("and the other's calls are gone", not await page.js(shows("calls", "Of the first day.")))
    await rounds(page)
    check("what was noted for the other is not sent to this", not [e for e in server.events() if e["kind"] == "sample"])
    await page.until("but shown, and why", noted("Sample, 31", "waiting") + " && " + shows("noted", "for another exercise"))
    await page.tap("Send here")
    await page.until("and goes where somebody says so", noted("Sample, 31", "sent"))
    check("once", len([e for e in server.events() if e["kind"] == "sample"]) == 1)


async def wrong_clock(page, server, address):
    source = "{ const now = Date.now; Date.now = () => now() + 7 * 60000; }"
    await page.command("Page.addScriptToEvaluateOnNewDocument", source=source)
    await let_in(page, address)
    await page.until("a clock that is off is told of", shows("place", "7 minutes ahead of the server's"))


async def large_type(page, server, address):
    await page.command("Emulation.setDeviceMetricsOverride", width=320, height=640, deviceScaleFactor=2, mobile=True)
    await let_in(page, address)
    server.post("call", text="Get one more scoria, then move on.", says="get")
    await page.until("a call is there", pressed("Heard", "#calls"))
    fits = "document.documentElement.scrollWidth <= 320"  # innerWidth grows with what is too wide
    for size in ("100%", "200%"):
        await page.js(f"document.documentElement.style.fontSize = '{size}'")
        check(f"with type of {size} the page is no wider than a small phone", await page.js(fits))
        for form in ("Arrived", "Leaving", "Sample", "Count", "Share", "Photo", "Note", "Declined"):
            await page.tap(form)
            check(f"nor is {form}", await page.js(fits), await page.js("document.documentElement.scrollWidth"))
            await page.tap("Cancel")


PARTS = (slow_hands, second_thoughts, other_hours, phones_own_keys, two_tabs, no_room, nothing_kept, another_exercise, wrong_clock,
         large_type)


async def main():
    if unknown := set(sys.argv[2:]) - {part.__name__ for part in PARTS}:
        sys.exit(f"no such part: {', '.join(sorted(unknown))}")
    for part in PARTS:
        if sys.argv[2:] and part.__name__ not in sys.argv[2:]:
            continue
        with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
            server = Server(sys.argv[1], pathlib.Path(folder))
            server.start()
            server.post("plan", plan=PLAN)
            try:
                async with phone(pathlib.Path(folder) / "browser") as page:
                    await part(page, server, f"http://127.0.0.1:{server.port}/field")
                    page.check_unbroken()
            finally:
                server.kill()


asyncio.run(main())
