#!/usr/bin/env bash
# Lints and renders the chart with the helm at $1: there is no cluster here to run it on.
set -euo pipefail
cd "$(dirname "$0")"
helm=$1
said=(--set image.repository=registry.example/evenpeel --set store.secret=store --set office.secret=office)
"$helm" lint --strict --quiet chart "${said[@]}"
plain=$("$helm" template house chart "${said[@]}")
full=$("$helm" template house chart "${said[@]}" --set redis.address=cache:6379 --set tls.secret=tls --set ingress.host=desk.example --set ingress.tlsSecret=desk)
kinds() { grep -c '^kind: ' <<<"$1"; }
[ "$(kinds "$plain")" = 5 ] || { echo "plain values render $(kinds "$plain") objects, not 5"; exit 1; }
[ "$(kinds "$full")" = 6 ] || { echo "full values render $(kinds "$full") objects, not 6"; exit 1; }
grep -q 'EVENPEEL_REDIS, value: "cache:6379"' <<<"$full" || { echo "the address of Redis is not passed on"; exit 1; }
# What must be said is asked for, and a word that nobody reads is refused.
for wrong in "--set image.repository=r --set store.secret=s" "--set image.repository=r --set office.secret=o" "--set store.secret=s --set office.secret=o" \
  "--set image.repository=r --set store.secret=s --set office.secret=o --set replica=2" \
  "--set image.repository=r --set store.secret=s --set office.secret=o --set ingress.host=desk.example"; do
  # shellcheck disable=SC2086
  if "$helm" template house chart $wrong >/dev/null 2>&1; then echo "rendered without a complaint: $wrong"; exit 1; fi
done
echo "chart: lint and render pass"
