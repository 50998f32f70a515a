"""The same fits as a spreadsheet.

    python3 sheet.py write ROWS.csv SHEET.ods
    python3 sheet.py profile DIR
    python3 sheet.py count ROWS.csv VERDICTS.csv

The sheet holds a row's four figures as numbers and, beside them, the formula
that a shop would write. Every formula carries a false stored result, "stored":
if one were shown instead of being worked out, count would fail. The profile
tells the spreadsheet to work out every formula when a file is opened; it heeds
that for packed files only, not for flat ones.
"""

import csv
import os
import sys
import zipfile

import rows

MIME = "application/vnd.oasis.opendocument.spreadsheet"
MANIFEST = f"""<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2">
<manifest:file-entry manifest:full-path="/" manifest:media-type="{MIME}"/>
<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>
</manifest:manifest>
"""
HEAD = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.2">
<office:body><office:spreadsheet><table:table table:name="fits">
"""
TAIL = "</table:table></office:spreadsheet></office:body></office:document-content>\n"

NUMBER = '<table:table-cell office:value-type="float" office:value="{0}"><text:p>{0}</text:p></table:table-cell>'
FORMULA = (
    '<table:table-cell table:formula="of:=IF(AND([.A{0}]-[.B{0}]&gt;=[.C{0}];[.A{0}]-[.B{0}]&lt;=[.D{0}]);'
    '&quot;within&quot;;&quot;beyond&quot;)" office:value-type="string" office:string-value="stored">'
    "<text:p>stored</text:p></table:table-cell>"
)

# 0: always.
PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="ODFRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


def write(source, target):
    body = []
    for n, row in enumerate(rows.read(source), 1):
        cells = "".join(NUMBER.format(figure) for figure in row)
        body.append(f"<table:table-row>{cells}{FORMULA.format(n)}</table:table-row>\n")
    with zipfile.ZipFile(target, "w") as z:
        z.writestr("mimetype", MIME)
        z.writestr("content.xml", HEAD + "".join(body) + TAIL)
        z.writestr("META-INF/manifest.xml", MANIFEST)


def profile(directory):
    os.makedirs(os.path.join(directory, "user"))
    with open(os.path.join(directory, "user", "registrymodifications.xcu"), "w") as f:
        f.write(PROFILE)


def count(source, exported):
    words = {"within": True, "beyond": False}
    with open(exported, newline="") as f:
        verdicts = [words[row[4]] for row in csv.reader(f)]
    print(rows.wrong(verdicts, rows.read(source)))


{"write": write, "profile": profile, "count": count}[sys.argv[1]](*sys.argv[2:])
