"""Files that are no table of limits, each to be refused in bounded memory.

    python3 bad.py DIR
"""

import os
import sys
import zipfile

HEAD = "Description,New (in),Wear limit\n"
ROW = "Pin diameter,1.0000 - 1.1000,0.9990\n"
MAIN = """<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">
<sheets><sheet name="limits" r:id="a"/></sheets></workbook>"""
RELATIONS = """<Relationships><Relationship Id="a" Target="worksheets/sheet1.xml"
 Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"/></Relationships>"""
CELL = '<row><c t="inlineStr"><is><t>Pin diameter</t></is></c><c t="inlineStr"><is><t>1.0 - 1.1</t></is></c></row>'


def workbook(name, write):
    with zipfile.ZipFile(name, "w", zipfile.ZIP_DEFLATED) as z:
        z.writestr("xl/workbook.xml", MAIN)
        z.writestr("xl/_rels/workbook.xml.rels", RELATIONS)
        with z.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            write(part)


def rows(part):
    part.write(b"<worksheet><sheetData>")
    for _ in range(1000):
        part.write(CELL.encode() * 1000)
    part.write(b"</sheetData></worksheet>")


def blanks(part):
    for _ in range(1024):
        part.write(b" " * (1 << 20))


def wide(part):
    """As many cells as a sheet may have, in as few bytes as they take."""
    part.write(b"<worksheet><sheetData>")
    for _ in range(10_000):
        part.write(b"<row>" + b"<c><v>1</v></c>" * 200 + b"</row>")
    part.write(b"</sheetData></worksheet>")


os.chdir(sys.argv[1])
with open("200-mb.xlsx", "wb") as f:
    f.write(b"PK\x03\x04")
    f.truncate(200 << 20)
with open("200-mb.csv", "w", encoding="utf-8") as f:
    f.write(HEAD)
    f.write(ROW * ((200 << 20) // len(ROW)))
with open("million-rows.csv", "w", encoding="utf-8") as f:
    f.write(HEAD)
    f.write(ROW * 1_000_000)
with open("wide.csv", "w", encoding="utf-8") as f:
    f.write(HEAD)
    f.write(("1," * 199 + "1\n") * 10_000)
with open("longest.csv", "w", encoding="utf-8") as f:
    f.write(HEAD)
    f.write(("Pin " * 160 + "diameter,1.0000 - 1.1000,0.9990\n") * 95_000)
workbook("million-rows.xlsx", rows)
workbook("bomb.xlsx", blanks)
workbook("wide.xlsx", wide)
