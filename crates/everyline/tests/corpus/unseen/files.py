"""Writes tables and JSON so that the same input gives the same bytes."""
import csv
import io
import json
import re
import zipfile
from datetime import date, datetime
from pathlib import Path

import openpyxl
from odf import meta
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P


def put(path, data):
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def put_csv(path, header, rows, separator=",", encoding="utf-8", quoting=csv.QUOTE_MINIMAL, end="\r\n"):
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, quoting=quoting, lineterminator=end)
    writer.writerow(header)
    writer.writerows(rows)
    put(path, out.getvalue().encode(encoding))


def put_json(path, value, indent=1):
    put(path, (json.dumps(value, ensure_ascii=False, indent=indent) + "\n").encode())


def put_jsonl(path, values, ascii=False):
    put(path, "".join(json.dumps(v, ensure_ascii=ascii, separators=(",", ":")) + "\n" for v in values).encode())


def still(path):
    """Rewrites the archive with fixed times inside."""
    source = zipfile.ZipFile(io.BytesIO(Path(path).read_bytes()))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2025-01-01T08:00:00Z", data)
            info = zipfile.ZipInfo(name, (2025, 1, 1, 8, 0, 0))
            info.compress_type = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
            target.writestr(info, data)
    Path(path).write_bytes(out.getvalue())


def put_xlsx(path, header, rows, above=(), sheet="Tabelle1", formats=None):
    book = openpyxl.Workbook()
    page = book.active
    page.title = sheet
    for row in above:
        page.append(list(row))
    page.append(header)
    for row in rows:
        page.append([None if v == "" else v for v in row])
    for row in page.iter_rows(min_row=len(above) + 2):
        for cell in row:
            form = (formats or {}).get(header[cell.column - 1])
            if form and cell.value is not None:
                cell.number_format = form
    Path(path).parent.mkdir(parents=True, exist_ok=True)
    book.save(path)
    still(path)


def put_ods(path, header, rows, above=(), sheet="Feuille1"):
    book = OpenDocumentSpreadsheet()
    table = Table(name=sheet)
    for row in list(above) + [header] + list(rows):
        line = TableRow()
        for v in row:
            if v is None or v == "":
                cell = TableCell()
            elif isinstance(v, (datetime, date)):
                cell = TableCell(valuetype="date", datevalue=v.isoformat())
                cell.addElement(P(text=v.strftime("%d/%m/%Y" if not isinstance(v, datetime) else "%d/%m/%Y %H:%M")))
            elif isinstance(v, (int, float)):
                cell = TableCell(valuetype="float", value=str(v))
                cell.addElement(P(text=str(v) if isinstance(v, int) else f"{v:.2f}".replace(".", ",")))
            else:
                cell = TableCell(valuetype="string")
                cell.addElement(P(text=str(v)))
            line.addElement(cell)
        table.addElement(line)
    book.spreadsheet.addElement(table)
    for element in list(book.meta.childNodes):
        book.meta.removeChild(element)
    Path(path).parent.mkdir(parents=True, exist_ok=True)
    book.save(path)
    still(path)
