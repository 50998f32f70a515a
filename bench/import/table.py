"""A table of limits as a spreadsheet has it, made larger than any manual's.

    python3 table.py ROWS TABLE.csv TABLE.xlsx

The rows are those of the nine printed tables, one table after the other and from
the first again under another engine's name, so that units, ranges, fits, amounts
of wear and damaged cells come as often as they do in print.
"""

import csv
import glob
import os
import sys

import openpyxl

PRINTED = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../internal/intake/testdata/printed/G*.csv")
HEAD = ["Engine", "Page", "Ref", "Part or location", "Unit", "New", "Wear limit"]


def printed():
    for name in sorted(glob.glob(PRINTED)):
        with open(name, newline="", encoding="utf-8") as f:
            yield from csv.DictReader(f)


def table(rows):
    source = list(printed())
    yield HEAD
    for n in range(rows):
        row = source[n % len(source)]
        yield [f"Engine {n // len(source) + 1}"] + [row[h] for h in HEAD[1:]]


if __name__ == "__main__":
    with open(sys.argv[2], "w", newline="", encoding="utf-8") as f:
        csv.writer(f, lineterminator="\n").writerows(table(int(sys.argv[1])))
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("limits")
    for row in table(int(sys.argv[1])):
        sheet.append(row)
    book.save(sys.argv[3])
