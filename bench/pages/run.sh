#!/usr/bin/env bash
# How quick the pages are under fifty benches and in a real browser, what they
# weigh, and how soon the server answers. PART is load, start or browser; all
# where none is named. SECONDS is how long the load lasts, 60.
#
#   bench/pages/run.sh [SECONDS [PART…]]
set -eu -o pipefail

bench=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$bench/common.sh"
need_go
cd "$bench/.."
[ $# -gt 0 ] || set -- 60
case " ${*:2} " in "  " | *" browser "*) need chromium chromium ;; esac

tmp=$(mktemp -d "${TMPDIR:-/tmp}/pages.XXXXXX")
trap 'rm -rf "$tmp"' EXIT
CGO_ENABLED=0 go build -trimpath -o "$tmp/tenths" ./cmd/tenths
CGO_ENABLED=0 go build -trimpath -o "$tmp/pages" ./bench/pages
machine
echo
"$tmp/pages" "$tmp/tenths" "$@"
