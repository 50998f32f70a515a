"""Prints what run.sh measured; exit status 1 where a target is missed."""

import os
import statistics
import sys

os.chdir(sys.argv[1])


def read(name):
    """The median of the turns' medians, in seconds, and the most memory, in MB."""
    with open(name, encoding="ascii") as f:
        turns = [[float(v) for v in line.split()] for line in f]
    return statistics.median(t[1] for t in turns), max(t[3] for t in turns) * 1024 / 1e6


missed = []


def want(name, value, most, unit):
    if value > most:
        missed.append(f"{name}: {value:.3f} {unit}, wanted {most} {unit}")


print()
print("| | rows | s | peak, MB | ratio to ours |")
print("|---|---|---|---|---|")
for rows, seconds in (1000, 0.15), (20000, 1.2):
    ours, memory = read(f"ours-xlsx-{rows}")
    for name, file in (
        ("ours: CSV in and checked", f"ours-csv-{rows}"),
        ("ours: XLSX in and checked", f"ours-xlsx-{rows}"),
        ("LibreOffice: XLSX to CSV", f"office-{rows}"),
        ("openpyxl: XLSX to CSV", f"openpyxl-{rows}"),
    ):
        s, mb = read(file)
        print(f"| {name} | {rows} | {s:.3f} | {mb:.0f} | {s / ours:.2f} |")
        if name.startswith("ours"):
            want(f"{name}, {rows} rows", s, seconds, "s")
            want(f"{name}, {rows} rows", mb, 200, "MB")
for rows, seconds in (2000, 0.060), (20000, None):
    s, mb = read(f"check-{rows}")
    print(f"| ours: book check | {rows} | {s:.3f} | {mb:.0f} | |")
    if seconds:
        want(f"book check, {rows} lines", s, seconds, "s")
print()
print("| no table | s | peak, MB |")
print("|---|---|---|")
with open("bad.txt", encoding="ascii") as f:
    for line in f:
        name, _, s, _, kib = line.split()
        mb = float(kib) * 1024 / 1e6
        print(f"| {name} | {float(s):.2f} | {mb:.0f} |")
        want(name, mb, 300, "MB")
print()
for text in missed:
    print("missed:", text)
sys.exit(bool(missed))
