#!/usr/bin/env bash
# The same 400 fits judged by a spreadsheet, by Python with floats and with
# decimals, by Go with floats and by tenths: how many verdicts are wrong, how
# long one takes, and what the whole process needs.
#
#   bench/fits/run.sh
#
# Everything printed is measured by this run. Exit status 1 where tenths has a
# verdict wrong or is slower than Python's floats.
set -eu -o pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
. "$here/../common.sh"
need python3 python3
need soffice libreoffice-calc-nogui
need_time
need_go

cd "$here"
tmp=$(mktemp -d "${TMPDIR:-/tmp}/fits.XXXXXX")
trap 'rm -rf "$tmp"' EXIT
# The bare interpreter: a version manager's wrapper, or what a machine has in its
# site-packages, would be measured too.
python=("$(python3 -c 'import sys; print(sys.executable)')" -S -B)
measure() { "${python[@]}" "$here/../measure.py" "$@"; }

"${python[@]}" rows.py >"$tmp/rows.csv"
if ! cmp -s "$tmp/rows.csv" rows.csv; then
	echo "$0: rows.csv is not what rows.py makes; run: python3 rows.py > rows.csv" >&2
	exit 2
fi

# The spreadsheet. The first run makes the rest of its profile and is not
# counted. It ends with 0 even where it wrote nothing, hence the test.
"${python[@]}" sheet.py write rows.csv "$tmp/sheet.ods"
"${python[@]}" sheet.py profile "$tmp/profile"
cat >"$tmp/sheet.sh" <<END
rm -f "$tmp/sheet.csv"
soffice "-env:UserInstallation=file://$tmp/profile" --headless --norestore \\
	--convert-to csv --outdir "$tmp" "$tmp/sheet.ods" && test -s "$tmp/sheet.csv"
END
measure 1 0 sh "$tmp/sheet.sh" >/dev/null
measure 5 0 sh "$tmp/sheet.sh" >"$tmp/sheet.process"
"${python[@]}" sheet.py count rows.csv "$tmp/sheet.csv" >"$tmp/sheet.wrong"

for kind in float decimal; do
	"${python[@]}" peers.py $kind rows.csv 5000 >"$tmp/$kind.verdict"
	measure 20 0 "${python[@]}" peers.py $kind rows.csv 1 >"$tmp/$kind.process"
done

# The benchmarks of fits_test.go.
CGO_ENABLED=0 go test -run '^$' -bench . -benchtime 100ms -count 10 . >"$tmp/bench.txt"
CGO_ENABLED=0 go build -trimpath -o "$tmp/fits" .
measure 20 0 "$tmp/fits" ours rows.csv >"$tmp/ours.process"
measure 20 0 "$tmp/fits" float rows.csv >"$tmp/go-float.process"

machine
echo "python       $("${python[@]}" -c 'import platform; print(platform.python_version())')"
echo "spreadsheet  $(soffice "-env:UserInstallation=file://$tmp/profile" --version | sed -n 1p)"
"${python[@]}" report.py "$tmp" rows.csv
