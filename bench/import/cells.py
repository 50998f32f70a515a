"""What a script with openpyxl does first: every cell of a sheet, as CSV.

    python3 cells.py TABLE.xlsx TABLE.csv
"""

import csv
import sys

import openpyxl

sheet = openpyxl.load_workbook(sys.argv[1], read_only=True).worksheets[0]
with open(sys.argv[2], "w", newline="", encoding="utf-8") as f:
    csv.writer(f, lineterminator="\n").writerows(sheet.iter_rows(values_only=True))
