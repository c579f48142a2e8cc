#!/usr/bin/env python3
"""The program as a shell has it: what a script is told by exit codes, and what stands where nothing is said.

Usage: at_a_shell.py STONECALL LOG
"""

import os
import pathlib
import subprocess
import sys
import tempfile

program, log = sys.argv[1:3]


def check(what, right, seen):
    if not right:
        raise SystemExit(f"not as it should be: {what}; seen: {seen}")
    print("ok:", what)


COUNTS = "7 2 1\n"
WITH_OUTPUT = (["advise", log, "--at", "1:12"], ["check", log], ["read", log], ["estimate"], ["plan", "--new"])
for arguments in WITH_OUTPUT:
    with open("/dev/full", "w") as full:
        ended = subprocess.run([program, *arguments], input=COUNTS, stdout=full, stderr=subprocess.PIPE, text=True)
    check(f"{arguments[0]} onto a full disk is a failure and says so", ended.returncode == 2 and "standard output" in ended.stderr, ended)
    ended = subprocess.run([program, *arguments], input=COUNTS, capture_output=True, text=True)
    check("and else none", ended.returncode == 0 and ended.stdout and not ended.stderr, ended.returncode)

for subcommand in ("live", "feed"):
    told = subprocess.run([program, subcommand, "--help"], capture_output=True, text=True).stdout
    check(f"{subcommand} asks at the port where README starts the server", "127.0.0.1:7700" in told, told)

with tempfile.TemporaryDirectory() as folder:
    bare = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    given = dict(bare, XDG_STATE_HOME=folder)
    runs = pathlib.Path(folder) / "stonecall" / "practice"

    def practice(*options):
        return subprocess.run([program, "practice", log, *options], env=given, capture_output=True, text=True)

    ended = practice("--name", "WREN", "--server-program", "/none/stonecall-server")
    check("a server that is not there is said to be not there", "No such file" in ended.stderr, ended)
    ended = practice("--name", "WREN", "--from", "99:00")
    check("a time past the end is named", ended.returncode == 2 and "the log ends at" in ended.stderr, ended)
    ended = practice("--name", "WREN/2")
    check("a name with a slash comes as far as to the window", "no display" in ended.stderr, ended)
    check("and what came to nothing leaves nothing behind", not list(runs.iterdir()), list(runs.iterdir()))
    for name in ("", "x" * 81):
        ended = practice("--name", name)
        check("under a name that the server refuses nobody sits down", ended.returncode != 0 and "1 to 80 bytes" in ended.stderr, ended)
