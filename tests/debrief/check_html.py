"""Holds reports against HTML Tidy (html-tidy.org), which knows HTML 5: no error and no warning.

check_html.py WRITE_DEBRIEF REPLAY_LOGS TIDY
"""
import pathlib
import subprocess
import sys
import tempfile

from logs import debrief, hostile_copy

program, logs, tidy = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
if tidy == "absent":
    print("HTML Tidy is not installed")
    sys.exit(77)

bad = False
with tempfile.TemporaryDirectory() as folder:
    recorded = sorted(logs.glob("*.jsonl"))
    assert recorded
    for log in recorded + [hostile_copy(logs / "varrow_rim.jsonl", folder)]:
        page = debrief(program, log, folder)[0]
        found = subprocess.run([tidy, "-errors", "-quiet", "-utf8", page], capture_output=True, text=True)
        print(f"{log.name}: {'valid' if found.returncode == 0 else 'not valid'}")
        if found.returncode != 0:
            print(found.stderr[:4000])
            bad = True
sys.exit(bad)
