#!/usr/bin/env bash
# Drives every route from its own description with Schemathesis, a property-based tester of HTTP interfaces
# (not part of cargo test: it is a Python package). Needs a built server and `st` on the path:
#
#   python3 -m venv ~/tester && ~/tester/bin/pip install schemathesis
#   cargo build -p fieldpost-server && PATH=~/tester/bin:$PATH tests/api/drive.sh
#
# Further words go to Schemathesis: --seed 7, --max-examples 500. Fails when an answer is a server error, or
# has a status, media type or body that the description does not tell of. Left out are the stream, which never
# ends, and what would take away the key that it is driven with.
set -euo pipefail
cd "$(dirname "$0")/../.."
server=${SERVER:-target/debug/fieldpost-server}
folder=$(mktemp -d)
trap 'kill "$pid" 2>/dev/null; wait "$pid" 2>/dev/null || true; rm -rf "$folder"' EXIT

# No limit on requests: here everybody has one address, and most keys are wrong.
"$server" serve --database "sqlite:$folder/games.db" --listen 127.0.0.1:7979 --log warn \
    --address-requests 0 --key-requests 0 --guesses 0 --address-connections 0 2>"$folder/log" &
pid=$!
base=http://127.0.0.1:7979
for _ in $(seq 100); do curl -sf "$base/readyz" >/dev/null && break; sleep 0.1; done
organiser=$(cat "$folder/games.db.organiser-key")

# A game with one seat taken, so that not every game that is asked for is missing.
post() { curl -sf "$base$1" -H "authorization: Bearer $organiser" -H 'content-type: application/json' -d "$2"; }
member() { python3 -c 'import json, sys; print(eval("json.load(sys.stdin)" + sys.argv[1]))' "$1"; }
opened=$(post /v1/games '{"shipped":"withy-bridge"}')
game=$(member '["game"]["id"]' <<<"$opened")
invitation=$(member '["invitations"][0]["invitation"]' <<<"$opened")
seat=$(curl -sf "$base/v1/seats" -H 'content-type: application/json' -d "{\"invitation\":\"$invitation\",\"player\":\"Ash\"}" | member '["key"]')

cat >"$folder/schemathesis.toml" <<EOF
base-url = "$base"

[parameters]
"path.game" = "$game"
EOF

checks=not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance
# The seat first: the organiser comes to free it.
for key in "$seat" "$organiser"; do
    st --config-file "$folder/schemathesis.toml" run "$base/openapi.json" --checks "$checks" \
        --exclude-operation-id watch_game --exclude-operation-id renew_key --exclude-operation-id revoke_key \
        --header "Authorization: Bearer $key" --phases examples,coverage,fuzzing --no-color "$@"
done
if grep -E ' ERROR |panicked' "$folder/log"; then
    echo "the server's log tells of faults of its own" >&2
    exit 1
fi
