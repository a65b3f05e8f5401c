#!/usr/bin/env python3
"""Memory of a server's process for each of a thousand who watch a game, and whether each hears every event once.

    cargo build -p fieldpost-server && ulimit -n 8192 && tests/api/watchers.py target/debug/fieldpost-server

Prints kilobytes a watcher, when all have read the backlog and after twenty more events. Fails when one of them misses
an event, hears one twice or out of order, or when a watcher takes 40 KB or more. Linux only: reads /proc.
"""

import json
import pathlib
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request

WATCHERS, EVENTS, MOST_KB = 1000, 20, 40
PORT = 7981
BASE = f"http://127.0.0.1:{PORT}"


def ask(method, path, body, key=None):
    headers = {"content-type": "application/json"}
    if key:
        headers["authorization"] = f"Bearer {key}"
    request = urllib.request.Request(BASE + path, json.dumps(body).encode(), headers, method=method)
    with urllib.request.urlopen(request) as answer:
        return json.load(answer)


def resident_kb(process):
    lines = pathlib.Path(f"/proc/{process.pid}/status").read_text().splitlines()
    return int(next(line for line in lines if line.startswith("VmRSS")).split()[1])


def heard(stream, last):
    stream.settimeout(30)
    said = b""
    while f"id: {last}\n".encode() not in said:
        more = stream.recv(65536)
        if not more:
            break
        said += more
    return [int(line[4:]) for line in said.split(b"\n") if line.startswith(b"id: ")]


def measure(process, folder):
    for _ in range(100):
        try:
            ask("GET", "/readyz", None)
            break
        except OSError:
            time.sleep(0.1)
    organiser = (folder / "games.db.organiser-key").read_text().strip()
    opened = ask("POST", "/v1/games", {"shipped": "withy-bridge"}, organiser)
    game = opened["game"]["id"]
    invitation = opened["invitations"][1]["invitation"]
    blue = ask("POST", "/v1/seats", {"invitation": invitation, "player": "Birch"})["key"]
    before = resident_kb(process)
    streams = []
    for _ in range(WATCHERS):
        stream = socket.create_connection(("127.0.0.1", PORT))
        stream.sendall(f"GET /v1/games/{game}/events?after=0 HTTP/1.1\r\nhost: x\r\n\r\n".encode())
        streams.append(stream)
    time.sleep(8)
    quiet = (resident_kb(process) - before) / WATCHERS
    for turn in range(EVENTS):
        given = {"units": {"blue-2": {"follow_up": turn % 2 == 0}}}
        ask("PUT", f"/v1/games/{game}/instructions", given, blue)
    time.sleep(8)
    busy = (resident_kb(process) - before) / WATCHERS
    last = 2 + EVENTS
    good = sum(heard(stream, last) == list(range(1, last + 1)) for stream in streams)
    print(f"{quiet:.1f} KB a watcher, {busy:.1f} after {EVENTS} events; {good} of {WATCHERS} heard each of {last} once, in order")
    return good == WATCHERS and max(quiet, busy) < MOST_KB


with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    flags = ["--database", f"sqlite:{folder}/games.db", "--listen", f"127.0.0.1:{PORT}", "--log", "error",
             "--watchers", "2000", "--connections", "3000", "--address-connections", "0", "--address-requests", "0"]
    process = subprocess.Popen([sys.argv[1], "serve", *flags], stderr=subprocess.DEVNULL)
    try:
        kept = measure(process, folder)
    finally:
        process.terminate()
        process.wait()
sys.exit(0 if kept else 1)
