"""Holds reports against HTML Tidy (html-tidy.org), which knows HTML 5: no error and no warning.

check_html.py WRITE_DEBRIEF REPLAY_LOGS TIDY
"""
import pathlib
import re
import subprocess
import sys
import tempfile

from logs import debrief, hostile_copy

program, logs, tidy = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
if tidy == "absent":
    print("HTML Tidy is not installed")
    sys.exit(77)

# Tidy 5.6 knows the elements of SVG inside HTML but not all of their attributes.
unknown_to_tidy = re.compile(r"Warning: <(svg|title)> proprietary attribute \"(font-family|id)\"")

bad = False
with tempfile.TemporaryDirectory() as folder:
    recorded = sorted(logs.glob("*.jsonl"))
    assert recorded
    hostile = hostile_copy(logs / "varrow_rim.jsonl", folder)
    beside = {logs / "ravnhol.jsonl": logs / "ravnhol.beginner.jsonl", hostile: hostile}
    for log, other in [(log, ()) for log in recorded + [hostile]] + [(log, (beside[log],)) for log in beside]:
        page = debrief(program, log, folder, other)[0]
        found = subprocess.run([tidy, "-errors", "-quiet", "-utf8", page], capture_output=True, text=True)
        faults = [line for line in found.stderr.splitlines() if not unknown_to_tidy.search(line)]
        print(f"{log.name}: {'valid' if not faults else 'not valid'}")
        print("\n".join(faults[:40]))
        bad = bad or bool(faults)
sys.exit(bad)
