#!/usr/bin/env python3
"""Posts and follows with clients we did not write: curl, and Python's websockets.

Usage: outside_clients.py PATH-OF-stonecall-server
Ends with 0 if everything was as it should be, with 77 if a client is not installed.
"""

import asyncio
import json
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import uuid

try:
    import websockets
except ImportError:
    print("python3-websockets is not installed: skipped")
    sys.exit(77)
if not shutil.which("curl"):
    print("curl is not installed: skipped")
    sys.exit(77)


def event(text):
    return {
        "id": str(uuid.uuid4()),
        "kind": "voice_note",
        "at": "2027-05-18T09:07:25.000+02:00",
        "from": "FIELD-1",
        "text": text,
    }


def check(what, right):
    if not right:
        raise SystemExit(f"not as it should be: {what}")
    print("ok:", what)


class Curl:
    def __init__(self, address):
        self.base = f"http://{address}"

    def __call__(self, path, *options, body=None):
        """Answers (status, headers and body as text)."""
        command = ["curl", "--silent", "--show-error", "--include", "--max-time", "20", *options, self.base + path]
        if body is not None:
            command += ["--data-binary", "@-"]
        done = subprocess.run(command, input=body and body.encode(), capture_output=True, check=True)
        head, _, text = done.stdout.decode().partition("\r\n\r\n")
        while head.startswith("HTTP/1.1 100"):
            head, _, text = text.partition("\r\n\r\n")
        return int(head.split()[1]), head.lower(), text


def with_curl(curl):
    as_json = ("--header", "Content-Type: application/json")
    status, _, text = curl("/events", *as_json, body=json.dumps(event("Basalt.")))
    check("curl posts an event", status == 200 and json.loads(text)["results"][0]["seq"] == 1)

    lines = "".join(json.dumps(event(f"Note {i}")) + "\n" for i in range(20))
    status, _, text = curl("/events", "--header", "Content-Type: application/x-ndjson", body=lines)
    check("curl posts lines", status == 200 and [r["seq"] for r in json.loads(text)["results"]] == list(range(2, 22)))

    big = json.dumps([event("x" * 8000) for _ in range(300)])
    status, _, text = curl("/events", *as_json, "--header", "Expect: 100-continue", body=big)
    check("curl posts two megabytes after 100 Continue", status == 200 and len(json.loads(text)["results"]) == 300)

    status, head, text = curl("/events?after=1")
    numbers = [json.loads(line)["seq"] for line in text.splitlines()]
    check("curl reads them back, chunked", numbers == list(range(2, 322)) and "transfer-encoding: chunked" in head)

    status, head, text = curl("/events", "--http1.0")
    check("a client of HTTP/1.0 reads them unchunked", len(text.splitlines()) == 321 and "chunked" not in head)

    status, head, text = curl("/events", body="id=1")
    check("a form is declined as RFC 9457 has it", status == 415 and "application/problem+json" in head)

    status, _, _ = curl("/events", "--request", "DELETE")
    check("a method that is not served is declined", status == 405)

    status, head, _ = curl("/health", "--head")
    check("HEAD is answered", status == 200)

    status, _, text = curl("/metrics")
    check("metrics end as OpenMetrics has it", status == 200 and text.endswith("# EOF\n"))


async def next_of(socket, kind):
    while True:
        message = json.loads(await asyncio.wait_for(socket.recv(), 20))
        if message["type"] == kind:
            return message


async def with_websockets(address, curl):
    url = f"ws://{address}/live"
    async with websockets.connect(url + "?after=300", subprotocols=["stonecall.v1"]) as socket:
        check("the subprotocol is agreed", socket.subprotocol == "stonecall.v1")
        numbers = []
        while len(numbers) < 21:
            numbers += [e["seq"] for e in (await next_of(socket, "event"))["events"]]
        check("stored events come first", numbers == list(range(301, 322)))
        check("then the word that this is all", (await next_of(socket, "caught_up"))["seq"] == 321)

        said = event("Posted over the WebSocket.")
        # A list of texts is sent as one message in fragments (RFC 6455, 5.4).
        whole = json.dumps(said)
        await socket.send([whole[:20], whole[20:50], whole[50:]])
        heard = await next_of(socket, "event")
        check("a fragmented post comes back", heard["events"][0]["id"] == said["id"])

        await socket.send(json.dumps(said))
        results = await next_of(socket, "results")
        check("its results name it", results["results"] == [{"id": said["id"], "seq": 322}])

        await socket.send(b"\x00\x01")
        while "problem" not in (results := await next_of(socket, "results")):
            pass
        check("a binary message is declined", results["problem"]["status"] == 400)

        await asyncio.wait_for(await socket.ping(), 20)
        print("ok: a ping is answered")
        beat = await next_of(socket, "heartbeat")
        check("the heartbeat tells the newest event", beat["newest"] == 322)

    try:
        async with websockets.connect(url + "?after=9999"):
            raise SystemExit("a place past the newest event was accepted")
    except websockets.exceptions.InvalidStatusCode as declined:
        check("a place past the newest event is declined", declined.status_code == 409)


async def goodbye(address, server):
    async with websockets.connect(f"ws://{address}/live?after=0", subprotocols=["stonecall.v1"]) as socket:
        server.send_signal(signal.SIGTERM)
        try:
            while True:
                await asyncio.wait_for(socket.recv(), 20)
        except websockets.exceptions.ConnectionClosed as closed:
            check("a stopping server says that it goes away (1001)", closed.code == 1001)


def main():
    with tempfile.TemporaryDirectory() as folder:
        store = pathlib.Path(folder) / "store"
        server = subprocess.Popen(
            [sys.argv[1], "--store", str(store), "--listen", "127.0.0.1:0"], stdout=subprocess.PIPE, text=True
        )
        try:
            address = server.stdout.readline().strip()
            curl = Curl(address)
            with_curl(curl)
            asyncio.run(with_websockets(address, curl))
            asyncio.run(goodbye(address, server))
            check("it ends with 0", server.wait(20) == 0)
        finally:
            server.kill()


main()
