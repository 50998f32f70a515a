#!/usr/bin/env bash
# How long one run of the command takes as a whole process, and its memory:
# tenths judge on the demo's book and readings, 30 times.
#
#   bench/process.sh [BOOK READINGS]
#
# Exit status 1 where a target is missed: median 30 ms, peak 40 MB.
set -eu -o pipefail

start=$PWD
bench=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
. "$bench/common.sh"
need python3 python3
need_time
need_go

absolute() { case $1 in /*) echo "$1" ;; *) echo "$start/$1" ;; esac; }
cd "$bench/.."
book=internal/demo/book.yaml
readings=internal/demo/readings.csv
if [ $# -eq 2 ]; then
	book=$(absolute "$1")
	readings=$(absolute "$2")
elif [ $# -ne 0 ]; then
	echo "usage: $0 [BOOK READINGS]" >&2
	exit 2
fi

tmp=$(mktemp -d "${TMPDIR:-/tmp}/process.XXXXXX")
trap 'rm -rf "$tmp"' EXIT
CGO_ENABLED=0 go build -trimpath -o "$tmp/tenths" ./cmd/tenths

# 1 and 3 say what the verdicts are, not that the run failed.
figures=$(python3 "$bench/measure.py" 30 0,1,3 "$tmp/tenths" judge "$book" "$readings")
machine
echo "judged       $book ($(wc -l <"$book" | tr -d ' ') lines), $readings ($(wc -l <"$readings" | tr -d ' ') lines)"
echo "$figures" | awk '{
	printf "whole run    min %.1f ms, median %.1f ms, max %.1f ms of 30\n", $1*1000, $2*1000, $3*1000
	printf "peak memory  %.1f MB\n", $4*1024/1e6
	met = $2 <= 0.030 && $4*1024 < 40e6
	print "target       median 30 ms or less, under 40 MB: " (met ? "met" : "NOT met")
	exit !met
}'
