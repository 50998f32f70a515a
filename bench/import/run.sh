#!/usr/bin/env bash
# A table of limits in: 1,000 and 20,000 rows of CSV and of a spreadsheet made a
# book and checked, as whole processes, beside LibreOffice and openpyxl, which
# only turn the same spreadsheet into CSV; tenths book check on a book of 2,000
# lines; and what files that are no table take.
#
#   bench/import/run.sh
#
# Everything printed is measured by this run. Exit status 1 where a target is
# missed: 0.15 s and 1.2 s under 200 MB, 60 ms, 300 MB.
set -eu -o pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
. "$here/../common.sh"
need python3 python3
need soffice libreoffice-calc-nogui
need_time
need_go

# Debian's own interpreter has Debian's packages.
python=(python3 -B)
if ! "${python[@]}" -c 'import openpyxl' 2>/dev/null && [ -x /usr/bin/python3 ]; then
	python=(/usr/bin/python3 -B)
fi
if ! "${python[@]}" -c 'import openpyxl' 2>/dev/null; then
	if [ "$(id -u)" = 0 ] && [ -n "$(type -P apt-get)" ]; then
		apt-get update -qq >&2
		DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends python3-openpyxl >&2
	fi
	"${python[@]}" -c 'import openpyxl' || { echo "$0: openpyxl is missing; install it (Debian: apt-get install python3-openpyxl)" >&2; exit 2; }
fi

cd "$here"
tmp=$(mktemp -d "${TMPDIR:-/tmp}/import.XXXXXX")
trap 'rm -rf "$tmp"' EXIT
CGO_ENABLED=0 go build -trimpath -o "$tmp/tenths" ../../cmd/tenths
measure() { "${python[@]}" "$here/../measure.py" "$@"; }

cd "$tmp"
for rows in 1000 2000 20000; do
	"${python[@]}" "$here/table.py" $rows $rows.csv $rows.xlsx
done
cat >import.sh <<'END'
rm -f book*.yaml
exec ./tenths book import "$1" --into book.yaml --unit in
END
# Its first run makes the rest of its profile and is not counted. It ends with 0
# even where it wrote nothing, hence the test.
cat >office.sh <<END
rm -rf out
soffice "-env:UserInstallation=file://$tmp/profile" --headless --norestore --convert-to csv --outdir out "\$1" && test -s out/*.csv
END
sh office.sh 1000.xlsx >/dev/null 2>&1

for rows in 1000 20000; do
	# In turn, so that what else the machine does falls on all alike.
	for turn in 1 2 3; do
		measure 3 0,3 sh import.sh $rows.csv >>ours-csv-$rows
		measure 3 0,3 sh import.sh $rows.xlsx >>ours-xlsx-$rows
		measure 1 0 sh office.sh $rows.xlsx >>office-$rows
		measure 1 0 "${python[@]}" "$here/cells.py" $rows.xlsx cells.csv >>openpyxl-$rows
	done
	cp book.yaml $rows.yaml
done
sh import.sh 2000.csv >/dev/null || test $? = 3
measure 20 0,1,3 ./tenths book check book.yaml >check-2000
measure 5 0,1,3 ./tenths book check 20000.yaml >check-20000

mkdir bad
"${python[@]}" "$here/bad.py" bad
for file in bad/*; do
	echo "$(basename "$file") $(measure 1 0,2,3 sh import.sh "$file")"
done >bad.txt

machine
echo "spreadsheet  $(soffice "-env:UserInstallation=file://$tmp/profile" --version | sed -n 1p)"
echo "openpyxl     $("${python[@]}" -c 'import openpyxl; print(openpyxl.__version__)')"
"${python[@]}" "$here/report.py" .
