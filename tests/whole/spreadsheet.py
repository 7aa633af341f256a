#!/usr/bin/python3
"""What a spreadsheet made of CSV files, against the files themselves.

    spreadsheet.py CSV-DIRECTORY FORM CONVERTED-DIRECTORY      (FORM: gnumeric or fods)

CSV-DIRECTORY holds runs' output directories (with datapackage.json); CONVERTED-DIRECTORY holds RUN_NAME.FORM for
each RUN/NAME.csv. Columns of type number and integer must be numbers of the same value in every row, dates must be
dates, texts the same texts (or the same number, where a text is one, such as a rung); no cell may be a formula.
Sources of the forms: OpenDocument 1.3 (OASIS 2021), part 3, 9.1 and 19.385; Gnumeric's file format as its own XML schema
(gnumeric.xsd) has it: ValueType 20 boolean, 30 and 40 number, 60 text.
"""
import csv
import datetime
import glob
import gzip
import json
import os
import sys
import xml.etree.ElementTree as tree

GNM = "{http://www.gnumeric.org/v10.dtd}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
EPOCH = datetime.date(1899, 12, 30)


def gnumeric_cells(path):
    """{(row, column): (kind, value)} of a .gnumeric file's first sheet."""
    data = open(path, "rb").read()
    root = tree.fromstring(gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data)
    cells = {}
    for cell in root.find(".//" + GNM + "Cells"):
        kind, text, form = cell.get("ValueType"), cell.text or "", cell.get("ValueFormat", "")
        if cell.get("ExprID") or kind is None:
            value = ("formula", text)
        elif kind in ("30", "40") and "yy" in form:
            value = ("date", (EPOCH + datetime.timedelta(days=round(float(text)))).isoformat())
        elif kind in ("30", "40"):
            value = ("number", float(text))
        elif kind == "20":
            value = ("boolean", text.lower())
        else:
            value = ("text", text)
        cells[int(cell.get("Row")), int(cell.get("Col"))] = value
    return cells


def fods_cells(path):
    """The same of a flat OpenDocument spreadsheet."""
    cells, row_at = {}, 0
    for row in tree.parse(path).getroot().iter(TABLE + "table-row"):
        column = 0
        for cell in row:
            kind, times = cell.get(OFFICE + "value-type"), int(cell.get(TABLE + "number-columns-repeated", "1"))
            text = "".join(cell.find(TEXT + "p").itertext()) if cell.find(TEXT + "p") is not None else ""
            if cell.get(TABLE + "formula"):
                value = ("formula", text)
            elif kind in ("float", "percentage", "currency"):
                value = ("number", float(cell.get(OFFICE + "value")))
            elif kind == "date":
                value = ("date", cell.get(OFFICE + "date-value"))
            elif kind == "boolean":
                value = ("boolean", cell.get(OFFICE + "boolean-value"))
            else:
                value = ("text", text)
            for i in range(times if kind else 0):
                cells[row_at, column + i] = value
            column += times
        row_at += int(row.get(TABLE + "number-rows-repeated", "1"))
        if row_at > 1000000:                        # the empty rest of the sheet
            break
    return cells


def same_number(text, comma, value):
    return abs(float(text.replace(",", ".") if comma else text) - value) <= 1e-9 * max(1e-300, abs(value))


def fault(kind, text, comma, cell):
    """Why a cell is not what the file says; None: it is."""
    if text == "":
        return None if cell is None or cell == ("text", "") else "is empty in the file"
    if cell is None:
        return "is lost"
    if kind in ("number", "integer"):
        return None if cell[0] == "number" and same_number(text, comma, cell[1]) else "should be a number"
    if kind == "date":
        return None if cell == ("date", text) else "should be a date"
    if kind == "boolean":
        return None if cell in (("boolean", text), ("text", text)) else "should be true or false"
    if cell[0] == "number":
        try:
            return None if same_number(text, comma, cell[1]) else "is another number"
        except ValueError:
            return "is a text that became a number"
    return None if cell == ("text", text) else "is another text"


def compare(run, resource, path, read):
    comma = resource["dialect"]["delimiter"] == ";"
    with open(os.path.join(run, resource["path"]), newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file, delimiter=";" if comma else ","))
    fields, cells, faults, filled = resource["schema"]["fields"], read(path), [], 0
    if [f["name"] for f in fields] != rows[0]:
        faults.append("the header is not that of the data package")
    for r, row in enumerate(rows):
        for c, text in enumerate(row):
            why = fault("string" if r == 0 else fields[c]["type"], text, comma, cells.pop((r, c), None))
            filled += text != ""
            if why:
                faults.append("row %d, %s: \"%s\" %s" % (r + 1, fields[c]["name"], text, why))
    faults += ["a cell too many: %s" % (at,) for at, value in cells.items() if value != ("text", "")]
    if filled <= len(fields):
        faults.append("an empty table")
    return filled, faults


def main():
    source, form, converted = sys.argv[1:]
    read, passed, failed, cells = {"gnumeric": gnumeric_cells, "fods": fods_cells}[form], 0, 0, 0
    for package in sorted(glob.glob(source + "/*/datapackage.json")):
        run = os.path.dirname(package)
        for resource in json.load(open(package, encoding="utf-8"))["resources"]:
            if not resource["path"].endswith(".csv"):
                continue
            name = os.path.basename(run) + "_" + resource["path"][:-4]
            path = "%s/%s.%s" % (converted, name, form)
            filled, faults = compare(run, resource, path, read) if os.path.exists(path) else (0, ["was not converted"])
            passed, failed, cells = passed + (not faults), failed + bool(faults), cells + filled
            for why in faults[:5]:
                print("spreadsheet, %s: %s: %s" % (form, name, why))
    print("%d cells" % cells, file=sys.stderr)
    print("%d %d" % (passed, failed))


if __name__ == "__main__":
    main()
