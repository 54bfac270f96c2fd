#!/usr/bin/env bash
# Starts the built server with the demo franchise on a folder and ports of its own, runs the journeys, stops it.
set -euo pipefail
cd "$(dirname "$0")/.."
data=$(mktemp -d)
log=$data/server.log
bin/evenpeel --data "$data/store" --demo --web-address 127.0.0.1:8099 --grpc-address 127.0.0.1:9099 >"$log" 2>&1 &
server=$!
trap 'kill "$server" 2>/dev/null; wait "$server" 2>/dev/null || true; rm -rf "$data"' EXIT
for _ in $(seq 1 240); do
  if curl -fsS http://127.0.0.1:8099/readyz >/dev/null 2>&1; then break; fi
  kill -0 "$server" 2>/dev/null || { echo "the server did not start:"; tail -n 40 "$log"; exit 1; }
  sleep 0.5
done
E2E_URL=http://127.0.0.1:8099 E2E_GRPC=127.0.0.1:9099 E2E_BIN="$PWD/bin/evenpeel" npm --prefix web run e2e || { echo "--- the server's last words:"; tail -n 40 "$log"; exit 1; }
