"""Prints the table from what one run measured.

    python3 report.py DIR ROWS.csv

DIR holds, as run.sh writes them: NAME.verdict (wrong, median and best ns) and
NAME.process (least, median and most seconds, KiB) for each peer, and bench.txt,
the output of the benchmarks. Exit status 1 where ours is wrong or too slow.
"""

import os
import statistics
import sys

import rows

DIR, ROWS = sys.argv[1:]


def numbers(name):
    with open(os.path.join(DIR, name)) as f:
        return [float(word) for word in f.read().split()]


def benchmark(name):
    """Returns wrong, median ns, best ns and allocations of a benchmark."""
    runs = []
    with open(os.path.join(DIR, "bench.txt")) as f:
        for line in f:
            words = line.split()
            if words and words[0].split("-")[0] == name:
                runs.append(dict(zip(words[3::2], map(float, words[2::2]))))
    ns = [r["ns/verdict"] for r in runs]
    return max(r["wrong"] for r in runs), statistics.median(ns), min(ns), max(r["allocs/op"] for r in runs)


sheet_least, sheet_median, _, _ = numbers("sheet.process")
given = rows.read(ROWS)
count = len(given)
*ours, allocations = benchmark("BenchmarkOurs")
*float_go, _ = benchmark("BenchmarkFloat")
table = [
    ("spreadsheet", [*numbers("sheet.wrong"), sheet_median * 1e9 / count, sheet_least * 1e9 / count], "sheet"),
    ("Python, float", numbers("float.verdict"), "float"),
    ("Python, Decimal", numbers("decimal.verdict"), "decimal"),
    ("Go, float64", float_go, "go-float"),
    ("ours", ours, "ours"),
]

exact = [tuple(map(rows.tenths, row)) for row in given]
at_limit = sum(bore - shaft in (low, high) for bore, shaft, low, high in exact)
print(f"rows         {count}, {sum(rows.truth(given))} within, {at_limit} exactly at a limit")
print()
print(f"{'':16}{'wrong':>7}{'ns a verdict':>24}{'ratio':>12}{'whole run':>12}{'peak':>9}")
print(f"{'':16}{f'of {count}':>7}{'median':>12}{'best':>12}{'to ours':>12}{'ms':>12}{'MB':>9}")
for name, (bad, median, best), process in table:
    _, whole, _, kib = numbers(process + ".process")
    print(
        f"{name:16}{bad:7.0f}{median:12,.1f}{best:12,.1f}{median / ours[1]:12,.2f}"
        f"{whole * 1000:12,.1f}{kib * 1024 / 1e6:9.1f}"
    )
print()
print("A verdict's time is of the judging alone, the figures parsed before; the")
print(f"spreadsheet's is its whole run over {count}, its start included. A whole run is")
print("one process: start, read the rows, judge, end. Medians unless said.")
print()

none_wrong = ours[0] == 0
quick = ours[1] <= table[1][1][1]
print(f"ours: none wrong: {'met' if none_wrong else 'NOT met'} ({ours[0]:.0f})")
print(f"ours: no slower than Python's floats: {'met' if quick else 'NOT met'} ({ours[1]:.1f} and {table[1][1][1]:.1f} ns)")
print(f"ours: allocations for {count} verdicts: {allocations:.0f}")
sys.exit(not (none_wrong and quick))
