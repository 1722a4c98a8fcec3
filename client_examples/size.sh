#!/usr/bin/env bash
# Size a ready spec with curl: take the spec, post it, keep the answer, ask for it again.
#   client_examples/size.sh [address] [example]
# RAMWRIGHT_TOKEN, where the service asks for one, is sent along.
set -euo pipefail
address="${1:-http://127.0.0.1:8000}"
example="${2:-truck}"
headers=(-H 'Accept: application/json')
if [ -n "${RAMWRIGHT_TOKEN:-}" ]; then headers+=(-H "Authorization: Bearer $RAMWRIGHT_TOKEN"); fi
folder="$(mktemp -d)"
trap 'rm -rf "$folder"' EXIT

curl -fsS "${headers[@]}" "$address/v1/examples/$example" -o "$folder/spec.json"

curl -sS "${headers[@]}" -H 'Content-Type: application/json' --data-binary "@$folder/spec.json" \
    -D "$folder/headers" -o "$folder/sizing.json" -w 'POST /v1/sizings  %{http_code}  %{time_total} s\n' "$address/v1/sizings"

location="$(tr -d '\r' < "$folder/headers" | sed -n 's/^[Ll]ocation: //p')"
etag="$(tr -d '\r' < "$folder/headers" | sed -n 's/^[Ee][Tt]ag: //p')"
echo "at                $address$location"
# the sizing never changes, so the second request costs nothing
curl -sS "${headers[@]}" -H "If-None-Match: $etag" -o /dev/null -w 'GET the same      %{http_code}\n' "$address$location"
echo "outcome           $(grep -o '"outcome":"[a-z_]*"' "$folder/sizing.json" | head -1 | cut -d'"' -f4)"
