#!/usr/bin/env python3
"""Practises as a person would: the program in a window, keys pressed, the sheet read afterwards.

  practise.py STONECALL LOG PLAN      under a display (xvfb-run)

First on the recorded log, then on an exercise made up by the plan, with a party that answers.

Exit code: 0 all as it should be, 1 not, 77 xdotool is missing.
"""

import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import tempfile
import time

ADVISER = "WREN"


def require(holds, what):
    if not holds:
        print(f"not so: {what}", file=sys.stderr)
        sys.exit(1)


def wait_for(what, look, seconds=60):
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        found = look()
        if found:
            return found
        time.sleep(0.1)
    require(False, f"{what} within {seconds} s")


def ended(process):
    """What a program that ended too early had to say; None while it runs."""
    if process.poll() is None:
        return None
    out, err = process.communicate()
    return f"it ended with {process.returncode}: {out}{err}"


def window():
    found = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", "tonecall"], capture_output=True, text=True)
    return found.stdout.split()[:1]


def press(*keys):
    subprocess.run(["xdotool", "key", "--delay", "150", *keys], check=True)


def lines_of(path):
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def begun(program, exercise, home, *options):
    """Opens practice and sends a call by keys. Returns the program, its folder, what is set for it, and a look into its store."""
    state = pathlib.Path(home) / "state"
    runs = state / "stonecall" / "practice"
    given = dict(os.environ, HOME=home, XDG_STATE_HOME=str(state), XDG_CONFIG_HOME=home, LIBGL_ALWAYS_SOFTWARE="1")
    desk = subprocess.Popen([program, "practice", exercise, "--name", ADVISER, "--size", "1280x720", *options],
                            env=given, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True)
    found = wait_for("a window", lambda: window() or ended(desk))
    require(isinstance(found, list), f"a window stays: {found}")
    subprocess.run(["xdotool", "windowfocus", "--sync", *found], check=True)

    # The call is sent once it is worked out: asked for until the desk's own server has one.
    store = wait_for("a store", lambda: list(runs.glob("*.store")))[0]

    def stored(text, *keys):
        press(*keys)
        found = subprocess.run(
            ["/usr/bin/python3", "-c",
             "import sqlite3, sys; db = sqlite3.connect(f'file:{sys.argv[1]}?mode=ro', uri=True);"
             "print(any(sys.argv[2] in str(row) for row in db.execute('select * from events')))",
             str(store), text], capture_output=True, text=True)
        return "True" in found.stdout

    wait_for("a call sent by keys", lambda: stored(f'"from":"{ADVISER}"', "F5", "ctrl+Return"))
    return desk, runs, given, stored


def practised(program, exercise, home, *options):
    """Practises to the end. Returns the record and what was set for the program."""
    desk, runs, given, stored = begun(program, exercise, home, *options)
    # A chance stated by keys alone, and what came of it.
    press("s", "ctrl+k", "ctrl+Up", "ctrl+Up", "Return")
    wait_for("what came of a chance, said by keys", lambda: stored("came true", "m", "t"))
    # A pause, in the region of the hours, and on.
    press("F2", "space")
    time.sleep(1)
    press("space")
    press("ctrl+q")
    out, err = desk.communicate(timeout=60)
    require(desk.returncode == 0, f"left with 0, not {desk.returncode}: {err}")
    require(not list(runs.glob("*.store*")), "the store is gone")
    record = next(runs.glob("*.record.jsonl"))
    require(str(record) in out, f"the record is named: {out}")
    return record, given


def sheet_of(record):
    return record.with_name(record.name.replace(".record.jsonl", ".html")).read_text(encoding="utf-8")


def one_pause_in(said):
    pauses = [event["paused_seconds"] for event in said if "paused_seconds" in event]
    require(len(pauses) == 1 and pauses[0] > 0.5, f"the pause is in the record: {said}")


def practise_on_a_log(program, log, home):
    record, given = practised(program, log, home, "--from", "1:10", "--speed", "1")
    runs = record.parent
    said = lines_of(record)
    chances = [event for event in said if event["kind"] == "call" and "chance" in event]
    require([event for event in said if event["kind"] == "call" and "chance" not in event], "the call is in the record")
    require([(chance["chance"], bool(chance["outcome"])) for chance in chances] == [(0.6, True)], f"one chance of 60 % is in the record: {said}")
    require(any(event["kind"] == "remark" and event.get("about") == chances[0]["id"] for event in said), "and what came of it")
    one_pause_in(said)
    require("in one pause" in sheet_of(record), "and on the sheet")
    # (1 - 0.6)^2, by hand.
    require("<b>0.16</b>" in sheet_of(record), "the sheet has its Brier score")
    require(all(event["from"] == ADVISER for event in said), "nobody else's words are in the record")
    recorded = {event["id"] for event in lines_of(pathlib.Path(log))}
    require(not recorded & {event["id"] for event in said}, "the log's own events are not in the record")
    require("Practice of " + ADVISER in sheet_of(record), "the sheet names the adviser")
    require([run["adviser"] for run in lines_of(runs / "runs.jsonl")] == [ADVISER], "the run is kept")

    again = subprocess.run([program, "score", str(record), "--log", log, "--name", ADVISER, "--came-true", "7"],
                           env=given, capture_output=True, text=True)
    require(again.returncode == 2 and "no stated chance number 7" in again.stderr, "a wrong number is named")
    again = subprocess.run([program, "score", str(record), "--log", log, "--name", ADVISER], env=given,
                           capture_output=True, text=True)
    require(again.returncode == 0, f"scored again: {again.stderr}")
    require(len(lines_of(runs / "runs.jsonl")) == 1, "scoring again adds no second run")


def practise_on_a_plan(program, plan, home):
    record, given = practised(program, plan, home, "--from", "0:30", "--speed", "20", "--seed", "3")
    one_pause_in(lines_of(record))
    log = record.with_name(record.name.replace(".record.jsonl", ".jsonl"))
    others = lines_of(log)
    require({"arrival", "sample", "voice_note", "tally"} <= {event["kind"] for event in others},
            "the party walked, bagged, spoke and counted")
    require(all(event["from"] != ADVISER for event in others), "our calls are not in its log")
    checked = subprocess.run([program, "check", str(log)], capture_output=True, text=True)
    require(checked.returncode == 0, f"its log holds: {checked.stdout}")
    require("The ground as it was" in sheet_of(record), "the hidden ground is shown at the end")
    require(not list(record.parent.glob("*.begin.jsonl")), "nothing half made is left")


def practise_and_lose_the_server(program, log, home):
    desk, runs, given, _ = begun(program, log, home, "--from", "1:10")
    children = pathlib.Path(f"/proc/{desk.pid}/task/{desk.pid}/children").read_text().split()
    require(len(children) == 1, f"the server is its one child: {children}")
    os.kill(int(children[0]), signal.SIGKILL)
    press("ctrl+q")
    _, err = desk.communicate(timeout=60)
    require(desk.returncode == 2, f"that calls could not be taken from the server is a failure: {desk.returncode}")
    kept = list(runs.glob("*.store"))
    require(len(kept) == 1 and str(kept[0]) in err, f"they are kept where the server had them, and it is said: {err}")
    # As it says there.
    record = kept[0].with_suffix(".record.jsonl")
    server = pathlib.Path(program).parent.parent / "server" / "stonecall-server"
    subprocess.run([server, "--store", kept[0], "--export-to", record], check=True, capture_output=True)
    scored = subprocess.run([program, "score", record, "--log", log, "--name", ADVISER], env=given, capture_output=True, text=True)
    require("1 call," in scored.stdout, f"and can be scored: {scored.stdout}{scored.stderr}")


def practise_and_interrupt(program, log, home):
    desk, runs, _, _ = begun(program, log, home, "--from", "1:10")
    os.killpg(desk.pid, signal.SIGINT)  # as Ctrl+C at the terminal
    out, err = desk.communicate(timeout=60)
    require(desk.returncode == 0, f"interrupted at the terminal it is left as by its key: {desk.returncode} {err}")
    record = next(runs.glob("*.record.jsonl"), None)
    require(record and str(record) in out, f"the record is named: {out}")
    require([event["kind"] for event in lines_of(record)] == ["call"], "and has the call")
    require(not list(runs.glob("*.store*")), "the store is gone")


def main():
    if not shutil.which("xdotool"):
        print("xdotool is missing: apt-get install xdotool")
        sys.exit(77)
    program, log, plan = sys.argv[1:4]
    for practise, exercise in ((practise_on_a_log, log), (practise_and_lose_the_server, log), (practise_and_interrupt, log), (practise_on_a_plan, plan)):
        with tempfile.TemporaryDirectory() as home:
            practise(program, exercise, home)


if __name__ == "__main__":
    main()
