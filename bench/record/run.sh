#!/usr/bin/env bash
# How fast the record is kept and read, beside raw SQLite in the same run.
#
#   bench/record/run.sh
#
# Commits a second of raw SQLite (one insert a commit, WAL, synchronous=FULL),
# of one writer and of fifty; then the first answer of a shop with 1,000 jobs and
# a million entries, with its derived rows and without; then the verifying of
# 100,000 exported entries. The folder that TMPDIR names must be on a disk.
set -eu -o pipefail

bench=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
. "$bench/common.sh"
need python3 python3
need_time
need_go
cd "$bench/.."

tmp=$(mktemp -d "${TMPDIR:-/tmp}/record.XXXXXX")
trap 'rm -rf "$tmp"' EXIT
CGO_ENABLED=0 go build -trimpath -o "$tmp/record" ./bench/record
CGO_ENABLED=0 go build -trimpath -o "$tmp/tenths" ./cmd/tenths

machine
echo "disk         $(df -T "$tmp" | awk 'END {print $2}')"
echo
"$tmp/record" write

echo
echo "a shop of 1,000 jobs with 1,000 entries each"
"$tmp/record" shop "$tmp/shop"
ls -l "$tmp/shop/tenths.db" | awk '{printf "  %-40s %6.0f MB\n", "its file", $5 / 1e6}'

# took COMMAND…: the wall-clock time of one run, and its memory.
took() {
	"$(type -P time)" -f '%e %M' -o "$tmp/time" "$@" >/dev/null || true
	awk '{printf "%8.3f s %6.0f MB\n", $1, $2 / 1024}' "$tmp/time"
}
for n in 1 2 3; do
	"$tmp/record" drop "$tmp/shop"
	printf '  %-40s' "first answer, derived rows dropped"
	took "$tmp/tenths" job list --shop "$tmp/shop"
	printf '  %-40s' "first answer, with derived rows"
	took "$tmp/tenths" job list --shop "$tmp/shop"
done

echo
key=$("$tmp/record" export "$tmp/large.tenths" 100000)
for n in 1 2 3; do
	printf '  %-40s' "verify 100,000 exported entries"
	took "$tmp/tenths" verify --key "$key" "$tmp/large.tenths"
done
