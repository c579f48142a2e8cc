"""Logs to debrief, and the files that come of them."""
import json
import pathlib
import subprocess

# What somebody who means harm, or only types oddly, might say. Names may be 80 bytes long.
HOSTILE = "</td><script>alert(1)</script><img src=x onerror=a>&amp;\"'--></style>"

NAME_MARK = "<u>&\"'"


def debrief(program, log, folder, beside=()):
    """Paths of the report, the CSV and the GeoJSON of a log, or of the page that lays another run beside it."""
    files = [pathlib.Path(folder) / f"{log.stem}.{end}" for end in ("html", "csv", "geojson")]
    subprocess.run([program, log, *files, *beside], check=True, stderr=subprocess.DEVNULL)
    return files


def hostile_copy(log, folder):
    """The log with markup in every text that a person typed or said, and in the names."""
    texts = {"text", "picked", "relation", "description", "shape", "colour", "texture", "why", "notes", "place", "outcome"}

    def spoilt(value, member=None):
        if isinstance(value, dict):
            return {key: spoilt(each, key) for key, each in value.items()}
        if isinstance(value, list):
            return [spoilt(each, member) for each in value]
        if member in texts and isinstance(value, str):
            return value + HOSTILE
        if member in ("rock", "station", "name", "from", "speaker", "caller", "to") and isinstance(value, str):
            # Short, since names have a limit; an element that the report never uses.
            return value if value in ("field", "back_room") else value[:20] + NAME_MARK
        return value

    copy = pathlib.Path(folder) / f"hostile_{log.name}"
    with open(log, encoding="utf-8") as lines, open(copy, "w", encoding="utf-8") as out:
        for line in lines:
            event = json.loads(line)
            kind_of_outcome = event.get("outcome") if event["kind"] == "reading" else None
            event = spoilt(event)
            if kind_of_outcome:
                event["outcome"] = kind_of_outcome
                event.pop("words", None)
            out.write(json.dumps(event, ensure_ascii=False) + "\n")
    return copy
