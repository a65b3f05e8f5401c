"""Checks records of format 2 by the manual's page record.md alone, but for moves and verdicts: verify.py RECORD.ndjson …
It needs Python 3.11 and the package `cryptography`."""
import hashlib, hmac, json, sys, tomllib
from datetime import datetime
from decimal import Decimal
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

QUIET = ("seat-taken umpire-seated umpire-accepted seat-freed key-added key-removed key-replaced key-countersigned "
         "instructions-cleared instructions-changed pause-asked dispute-raised ruling-given").split()
BY_SEATS = ("sheet-accepted instructions-changed time-claimed conceded dispute-raised ruling-given clock-set zone-set "
            "leave-taken pause-asked resumed key-added key-removed key-countersigned umpire-accepted").split()
FREE = [("opened", "clock-set"), ("seat-taken", "zone-set"), ("ruling-given", "resumed")]
P = 2**255 - 19
D = -121665 * pow(121666, -1, P) % P

def need(holds, told):
    if not holds:
        raise ValueError(told)

def sha(*parts):
    return hashlib.sha256(b"".join(parts)).digest()

def lp(data):
    return len(data).to_bytes(4, "big") + data

def number(x):  # as ECMAScript writes it (RFC 8785)
    if x == 0:
        return "0"
    sign, digits, exponent = Decimal(repr(x)).normalize().as_tuple()
    text, point, minus = "".join(map(str, digits)), len(digits) + exponent, "-" * sign
    if len(text) <= point <= 21:
        return minus + text + "0" * (point - len(text))
    if -6 < point <= 21:
        return minus + (text[:point] + "." + text[point:] if point > 0 else "0." + "0" * -point + text)
    return f"{minus}{text[0]}{'.' * (len(text) > 1)}{text[1:]}e{point - 1:+d}"

def canonical(x):
    if isinstance(x, dict):
        names = sorted(x, key=lambda name: name.encode("utf-16-be"))
        return "{" + ",".join(canonical(name) + ":" + canonical(x[name]) for name in names) + "}"
    if isinstance(x, list):
        return "[" + ",".join(map(canonical, x)) + "]"
    return number(x) if isinstance(x, float) else json.dumps(x, ensure_ascii=False)

def is_weak(key):  # no point of the curve, or eight times it is nothing
    y = int.from_bytes(key, "little") % 2**255 % P
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    roots = [pow(square, (P + 3) // 8, P) * root % P for root in (1, pow(2, (P - 1) // 4, P))]
    x = next((root for root in roots if (root * root - square) % P == 0), None)
    if x is None:
        return True
    for _ in range(3):
        t = D * x * x * y * y % P
        x, y = 2 * x * y * pow(1 + t, -1, P) % P, (y * y + x * x) * pow(1 - t, -1, P) % P
    return (x, y) == (0, 1)

def dice(secret, own, game, turn, attempt, label, count, faces):
    salt = sha(b"dice-salt/v2", lp(game), turn.to_bytes(8, "big"), attempt.to_bytes(4, "big"))
    prk = hmac.digest(salt, secret + own, "sha256")
    info, block, stream, bound = b"dice-roll/v2" + lp(label.encode()), b"", b"", 256 - 256 % faces
    for i in range(1, 256):
        block = hmac.digest(prk, block + info + bytes([i]), "sha256")
        stream += block
        thrown = [1 + byte % faces for byte in stream if byte < bound]
        if len(thrown) >= count:
            return thrown[:count]

def check(path):
    previous, since, seen, seats, seals, throws = "00" * 32, [], set(), {}, [], 0
    turn, attempt, turn_throws, posted_number, before = 1, 1, [], None, None
    for line, expected in zip(map(json.loads, open(path, encoding="utf-8")), range(1, 10**9)):
        body, entry = line["body"], json.loads(line["body"])
        event, posted, at = entry["event"], entry.get("posted"), datetime.fromisoformat(entry["at"])
        kind = event["event"]
        need(sha(b"fieldpost-record/v1", body.encode()).hex() == line["hash"], f"entry {expected}: hash")
        need(canonical(entry) == body, f"entry {expected}: canonical form")
        need(entry["number"] == line["number"] == expected and entry["previous"] == previous, f"entry {expected}: chain")
        if kind == "opened":
            need(event["format"] == 2 and expected == 1, "no opening of format 2")
            game, signed, commitment = bytes.fromhex(event["game"]), event.get("signed", False), event["commitment"]
            rules = tomllib.loads(event["ruleset"])
            results, withdrawal = rules["results"]["dice"], rules.get("withdrawal", {}).get("faces", 6)
        for seat in seats.values():
            if seat["new"] and (at - seat["since"]).total_seconds() >= 72 * 3600:
                seat["keys"], seat["new"] = {seat["new"]}, None
        if posted:
            need((posted["player_turn"], posted["attempt"]) == (turn, attempt), f"entry {expected}: another turn")
            need(posted["precondition"] in since, f"entry {expected}: stale")
            if "signed" in posted:
                key, signature = posted["signed"]["key"], posted["signed"]["signature"]
                message = b"post/v1" + lp(game) + lp(posted["seat"].encode()) + lp(posted["kind"].encode()) \
                    + lp(bytes.fromhex(posted["precondition"])) + turn.to_bytes(8, "big") + attempt.to_bytes(4, "big") \
                    + lp(sha(posted["body"].encode())) + lp(bytes.fromhex(posted.get("number") or ""))
                need(key in seats[posted["seat"]]["keys"] and signature not in seen, f"entry {expected}: key, or twice")
                Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(bytes.fromhex(signature), message)
        is_free = (before, kind) in FREE or not signed or kind not in BY_SEATS
        need(is_free or posted and "signed" in posted, f"entry {expected}: not signed")
        if kind not in QUIET:
            since, seen = [], set()
        since.append(line["hash"])
        seen.add(posted and posted.get("signed", {}).get("signature"))
        if kind in ("seat-taken", "umpire-seated", "key-added", "key-replaced") and "key" in event:
            need(not is_weak(bytes.fromhex(event["key"])), f"entry {expected}: weak key")
        if kind in ("seat-taken", "umpire-seated"):
            seats[event.get("seat")] = {"keys": {event["key"]} if "key" in event else set(), "new": None, "since": at}
        elif kind == "seat-freed":
            del seats[event["seat"]]
        elif kind in ("key-added", "key-removed"):
            seats[event["seat"]]["keys"] ^= {event["key"]}
        elif kind in ("key-replaced", "key-countersigned"):
            seats[event["seat"]].update({"new": event["key"], "since": at} if kind == "key-replaced"
                                        else {"keys": {event["key"]}, "new": None})
        elif kind == "instructions-changed":
            seals.append((event["side"], event["seal"]))
        elif kind in ("sheet-accepted", "turn-passed"):
            posted_number = "00" * 32 if kind == "turn-passed" else posted and posted["number"]
        elif kind == "battle-fought":
            report = event["report"]
            turn_throws.append((f"battle {report['order'] + 1}", report["dice"], results["count"], results["faces"]))
        elif kind == "withdrew":
            turn_throws.append((f"withdrawal {event['unit']}", [event["throw"]], 1, withdrawal))
        if kind in ("turn-closed", "secrets-renewed"):
            secret = bytes.fromhex(event["dice"]["secret"] if kind == "turn-closed" else event["secret"])
            made = sha(b"dice-commit/v2", lp(game), turn.to_bytes(8, "big"), attempt.to_bytes(4, "big"), lp(secret))
            need(made.hex() == commitment, f"entry {expected}: commitment")
            commitment = event["commitment"]
        if kind == "turn-closed":
            own = event["dice"]["number"]
            need(posted_number in (None, own), f"entry {expected}: another number than was posted")
            for label, thrown, *shape in turn_throws:
                fallen = dice(secret, bytes.fromhex(own), game, turn, attempt, label, *shape)
                need(fallen == thrown, f"entry {expected}: dice of {label}")
            throws += len(turn_throws)
            turn, attempt, turn_throws, posted_number = turn + 1, 1, [], None
        elif kind == "secrets-renewed":
            need((event["player_turn"], event["attempt"]) == (turn, attempt + 1), f"entry {expected}: attempt")
            attempt += 1
        elif kind == "game-ended":
            made = [(one["side"], sha(b"instructions-seal/v1", bytes.fromhex(one["nonce"]),
                                      canonical(one["instructions"]).encode()).hex()) for one in event["opened"]]
            need(made == seals, f"entry {expected}: seals")
        previous, before = line["hash"], kind
    return f"sound: {expected} entries, {throws} throws"

for path in sys.argv[1:]:
    try:
        print(check(path))
    except (InvalidSignature, KeyError, ValueError, TypeError) as fault:
        print(f"fault: {fault!r}")
