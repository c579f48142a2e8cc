"""Reads what `stonecall debrief` writes with readers that are not ours: Python's html.parser, csv and json.

check_files.py WRITE_DEBRIEF REPLAY_LOGS
"""
import csv
import json
import pathlib
import re
import sys
import tempfile
from html.parser import HTMLParser

from logs import HOSTILE, NAME_MARK, debrief, hostile_copy

VOID = {"meta", "br", "hr", "img", "input", "link"}


class Page(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.headings, self.ids, self.refs = [], [], [], []
        self.faults, self.stack, self.words, self.svgs = [], [], [], []
        self.feed(text)
        self.close()
        if self.stack:
            self.faults.append(f"not closed: {self.stack}")

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.tags.append(tag)
        if tag not in VOID:
            self.stack.append(tag)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if "id" in given:
            self.ids.append(given["id"])
        for name in ("aria-labelledby",):
            self.refs += given.get(name, "").split()
        if given.get("href", "").startswith("#"):
            self.refs.append(given["href"][1:])
        elif "href" in given or "src" in given:
            self.faults.append(f"leads outside: {attributes}")
        if tag == "th" and given.get("scope") not in ("row", "col"):
            self.faults.append("a table heading without scope")
        if any(name.startswith("on") for name in given):
            self.faults.append(f"an event handler: {attributes}")
        if tag == "svg" and given.get("aria-hidden") != "true":
            self.svgs.append({"role": given.get("role"), "named": given.get("aria-labelledby"), "says": []})
        if tag == "html" and given.get("lang") != "en":
            self.faults.append("no language")

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.stack.pop()

    def handle_endtag(self, tag):
        if tag not in VOID and (not self.stack or self.stack.pop() != tag):
            self.faults.append(f"</{tag}> out of order")

    def handle_data(self, data):
        self.words.append(data)
        if self.svgs and self.stack and self.stack[-1] in ("title", "desc") and "svg" in self.stack:
            self.svgs[-1]["says"].append(data.strip())


def check_page(path, hostile):
    text = path.read_text(encoding="utf-8")
    page = Page(text)
    faults = page.faults
    if page.headings[0] != 1 or page.headings.count(1) != 1:
        faults.append("not one first heading")
    faults += [f"a heading of level {b} below one of level {a}"
               for a, b in zip(page.headings, page.headings[1:]) if b > a + 1]
    if len(page.ids) != len(set(page.ids)):
        faults.append("an id twice")
    faults += [f"refers to no id: {each}" for each in page.refs if each not in page.ids]
    for svg in page.svgs:
        if svg["role"] != "img" or not svg["named"] or len([s for s in svg["says"] if s]) < 2:
            faults.append(f"a chart without words: {svg}")
    if not page.svgs:
        faults.append("no chart")
    strangers = set(page.tags) & {"script", "img", "iframe", "link", "object", "u"}
    faults += [f"an element <{each}>" for each in sorted(strangers)]
    if hostile and (HOSTILE not in "".join(page.words) or NAME_MARK not in "".join(page.words)):
        faults.append("the hostile words are not shown as words")
    if re.search(r"url\(|@import|https?://(?!www\.w3\.org/2000/svg)", text):
        faults.append("fetches something")
    return faults


def check_samples(csv_path, json_path, log):
    faults = []
    raw = csv_path.read_bytes()
    if raw.replace(b"\r\n", b"").count(b"\r") or b"\n" in raw.replace(b"\r\n", b""):
        faults.append("CSV: a line that does not end in CR LF (RFC 4180, 2.1)")
    with open(csv_path, encoding="utf-8", newline="") as lines:
        rows = list(csv.reader(lines, strict=True))
    head, rows = rows[0], [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]
    if len(head) != len(set(head)):
        faults.append("CSV: a column twice")

    with open(json_path, encoding="utf-8") as text:
        collection = json.load(text)
    # RFC 7946: 3.3 FeatureCollection, 3.2 Feature (null geometry allowed), 3.1.2 Point, 4 WGS-84.
    if collection["type"] != "FeatureCollection" or "crs" in collection:
        faults.append("GeoJSON: not a plain FeatureCollection")
    features = collection["features"]
    if len(features) != len(rows):
        faults.append(f"{len(rows)} rows but {len(features)} features")
    for row, feature in zip(rows, features):
        if feature["type"] != "Feature" or set(feature) != {"type", "geometry", "properties"}:
            faults.append(f"GeoJSON: no feature: {feature}")
        shape, said = feature["geometry"], feature["properties"]
        for member in ("number", "bag", "rock", "station", "first_word", "picked", "relation", "description"):
            if said.get(member, "") != row[member]:
                faults.append(f"{row['number']}: {member} is {row[member]!r} here and {said.get(member)!r} there")
        if (shape is None) != (row["latitude"] == ""):
            faults.append(f"{row['number']}: a place here and none there")
        elif shape:
            longitude, latitude = shape["coordinates"][:2]
            if shape["type"] != "Point" or not (-180 <= longitude <= 180 and -90 <= latitude <= 90):
                faults.append(f"GeoJSON: no point on the earth: {shape}")
            if abs(longitude - float(row["longitude"])) > 1e-6 or abs(latitude - float(row["latitude"])) > 1e-6:
                faults.append(f"{row['number']}: places differ")

    # A text as it was said, against the log itself.
    said = {each for line in open(log, encoding="utf-8") for each in members(json.loads(line), "picked")}
    picked = [row["picked"] for row in rows if row["picked"]]
    faults += [f"never said: {each!r}" for each in picked if each not in said]
    if len(picked) < 10:
        faults.append("hardly a reason why a sample was picked")
    return faults, len(rows)


def members(value, name):
    if isinstance(value, dict):
        for key, each in value.items():
            if key == name and isinstance(each, str):
                yield each
            yield from members(each, name)
    elif isinstance(value, list):
        for each in value:
            yield from members(each, name)


program, logs = sys.argv[1], pathlib.Path(sys.argv[2])
bad = False
with tempfile.TemporaryDirectory() as folder:
    varrow = logs / "varrow_rim.jsonl"
    for log in (varrow, hostile_copy(varrow, folder), logs / "ravnhol.jsonl"):
        page, table, places = debrief(program, log, folder)
        faults = check_page(page, log.name.startswith("hostile"))
        more, samples = check_samples(table, places, log)
        faults += more
        if samples < 30:
            faults.append(f"only {samples} samples")
        print(f"{log.name}: {samples} samples, {len(faults)} faults")
        for each in faults[:20]:
            print("  ", each)
        bad = bad or bool(faults)
sys.exit(bad)
