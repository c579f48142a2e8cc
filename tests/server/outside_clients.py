#!/usr/bin/env python3
"""Posts and follows with clients we did not write: curl, Python's websockets, Node's ws, and an OpenMetrics parser.

Usage: outside_clients.py PATH-OF-stonecall-server
Ends with 0 if everything was as it should be, with 77 if a client is not installed.
"""

import asyncio
import json
import os
import pathlib
import shutil
import signal
import ssl
import subprocess
import sys
import tempfile
import uuid

try:
    import websockets
except ImportError:
    print("python3-websockets is not installed: skipped")
    sys.exit(77)
try:
    from prometheus_client.openmetrics import parser as openmetrics
except ImportError:
    openmetrics = None
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
    def __init__(self, address, scheme="http", *always):
        self.base = f"{scheme}://{address}"
        self.always = always

    def __call__(self, path, *options, body=None):
        """Answers (status, headers and body as text)."""
        command = ["curl", "--silent", "--show-error", "--include", "--max-time", "20", *self.always, *options, self.base + path]
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
    if openmetrics:
        families = {family.name: family for family in openmetrics.text_string_to_metric_families(text)}
        stored = families["stonecall_events_stored"]
        check("a parser of OpenMetrics accepts them", stored.type == "counter" and stored.samples[0].value == 321)
    else:
        print("python3-prometheus-client is not installed: its check is left out")

    status, _, _ = curl("/events", "--header", "Host: elsewhere.example")
    check("another site's name for this machine is declined", status == 403)


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

    try:
        async with websockets.connect(url, origin="http://elsewhere.example"):
            raise SystemExit("a page of another site was let in")
    except websockets.exceptions.InvalidStatusCode as declined:
        check("a page of another site may not follow", declined.status_code == 403)

    async with websockets.connect(url) as socket:
        try:
            await socket.send(json.dumps([1] * 3_000_000))
            while True:
                await asyncio.wait_for(socket.recv(), 20)
        except websockets.exceptions.ConnectionClosed as closed:
            check("a message over the limit ends its connection (1009)", closed.code == 1009)


NODE = """
const WebSocket = require('ws');
const [address, post] = process.argv.slice(2);
const socket = new WebSocket(`ws://${address}/live?after=322`, 'stonecall.v1');
const seen = new Set();
socket.on('open', () => socket.send(post));
socket.on('message', (text) => {
  const message = JSON.parse(text);
  seen.add(message.type);
  if (message.type === 'results') seen.add('seq ' + message.results[0].seq);
  if (message.type === 'event') seen.add('event ' + message.events[0].seq);
  if (seen.has('seq 323') && seen.has('event 323') && seen.has('heartbeat')) socket.ping();
});
socket.on('pong', () => socket.close(1000));
socket.on('close', (code) => process.exit(code === 1000 ? 0 : 1));
socket.on('error', (error) => { console.error(error.message); process.exit(1); });
setTimeout(() => process.exit(2), 20000);
"""


def with_node(address, folder):
    if not shutil.which("node"):
        return print("nodejs is not installed: its check is left out")
    script = folder / "client.js"
    script.write_text(NODE)
    # Debian's node-ws lies where only Debian's node looks by itself.
    environment = {**os.environ, "NODE_PATH": "/usr/share/nodejs"}
    if subprocess.run(["node", "-e", "require('ws')"], env=environment, capture_output=True).returncode != 0:
        return print("node-ws is not installed: its check is left out")
    done = subprocess.run(["node", script, address, json.dumps(event("From Node."))], env=environment)
    check("Node's ws posts, follows, pings and closes", done.returncode == 0)


TOKENS = {role: f"{role}-token-of-the-rim" for role in ("field", "adviser", "observer")}


async def over_tls(program, folder):
    certificate, key = folder / "certificate.pem", folder / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2"]
        + ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1"]
        + ["-keyout", key, "-out", certificate],
        check=True,
        capture_output=True,
    )
    (folder / "tokens").write_text("".join(f"{role} {token}\n" for role, token in TOKENS.items()))
    command = [program, "--store", folder / "secure", "--tokens", folder / "tokens", "--listen", "127.0.0.1:0"]
    half = subprocess.run([*command, "--certificate", certificate], capture_output=True)
    check("a certificate without its key is not begun with", half.returncode != 0)
    log = folder / "log"
    server = subprocess.Popen(
        [*command, "--certificate", certificate, "--key", key, "--verbose", "--json-log"],
        stdout=subprocess.PIPE,
        stderr=log.open("w"),
        text=True,
    )
    try:
        address = server.stdout.readline().strip()
        curl = Curl(address, "https", "--cacert", certificate)
        as_json = ("--header", "Content-Type: application/json")
        token = lambda role: ("--header", "Authorization: Bearer " + TOKENS[role])
        body = json.dumps([event("x" * 8000) for _ in range(300)])
        status, _, text = curl("/events", *as_json, *token("field"), body=body)
        check("curl posts two megabytes over TLS", status == 200 and len(json.loads(text)["results"]) == 300)
        status, _, text = curl("/events", *token("observer"))
        check("and reads them back", status == 200 and len(text.splitlines()) == 300)
        status, _, _ = curl("/events", *as_json, *token("observer"), body=json.dumps(event("No.")))
        check("an observer may not post", status == 403)
        status, _, _ = curl("/events")
        check("nobody reads without a token", status == 401)
        status, head, _ = curl("/field")
        check("the field page comes without one", status == 200 and "script-src 'sha256-" in head)
        old = subprocess.run(["curl", "--silent", "--cacert", certificate, "--tls-max", "1.1", f"https://{address}/health"])
        check("TLS before 1.2 is not spoken", old.returncode != 0)
        plain = subprocess.run(["curl", "--silent", "--max-time", "20", f"http://{address}/health"], capture_output=True)
        check("nor is HTTP without TLS", plain.returncode != 0)

        trusted = ssl.create_default_context(cafile=certificate)
        bearer = {"Authorization": "Bearer " + TOKENS["field"]}
        url = f"wss://{address}/live?after=299"
        async with websockets.connect(url, ssl=trusted, extra_headers=bearer) as socket:
            check("the live stream comes over TLS", (await next_of(socket, "event"))["events"][0]["seq"] == 300)
            await next_of(socket, "caught_up")
            await socket.send(json.dumps(event("Over TLS.")))
            check("and takes posts", (await next_of(socket, "results"))["results"][0]["seq"] == 301)
            server.send_signal(signal.SIGTERM)
            try:
                while True:
                    await asyncio.wait_for(socket.recv(), 20)
            except websockets.exceptions.ConnectionClosed as closed:
                check("it says goodbye over TLS too (1001)", closed.code == 1001)
        check("and ends with 0", server.wait(20) == 0)
    finally:
        server.kill()
    lines = [json.loads(line) for line in log.read_text().splitlines()]
    check("its log is JSON Lines", len(lines) > 3 and all(set(line) == {"time", "level", "message"} for line in lines))
    check("no token is in it, though all is logged", not any(t in log.read_text() for t in TOKENS.values()))


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
            with_node(address, pathlib.Path(folder))
            asyncio.run(goodbye(address, server))
            check("it ends with 0", server.wait(20) == 0)
        finally:
            server.kill()
        asyncio.run(over_tls(sys.argv[1], pathlib.Path(folder)))


main()
