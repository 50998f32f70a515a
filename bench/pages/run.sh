#!/usr/bin/env bash
# How quick the pages are under fifty benches, and what they weigh.
#
#   bench/pages/run.sh [SECONDS]
set -eu -o pipefail

bench=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$bench/common.sh"
need_go
cd "$bench/.."

tmp=$(mktemp -d "${TMPDIR:-/tmp}/pages.XXXXXX")
trap 'rm -rf "$tmp"' EXIT
CGO_ENABLED=0 go build -trimpath -o "$tmp/tenths" ./cmd/tenths
CGO_ENABLED=0 go build -trimpath -o "$tmp/pages" ./bench/pages
machine
echo
"$tmp/pages" "$tmp/tenths" "${1:-60}"
