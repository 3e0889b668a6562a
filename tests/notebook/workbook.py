"""Opens a workbook with openpyxl and holds it against the records of the same book.

    python workbook.py NAME [MARK=HEADER ...]      reads NAME.xlsx and NAME.json in this folder

where MARK is margin, met or front: what must stand out in that column of the first sheet.

What a reader of spreadsheets relies on is in the file: names, real numbers, no formula, a header that stays in sight, a filter,
number formats, rules for what stands out. Prints how many cells were compared.
"""

import datetime
import json
import sys

import openpyxl

name = sys.argv[1]
with open(f"{name}.json", encoding="utf-8") as file:
    records = json.load(file)
book = openpyxl.load_workbook(f"{name}.xlsx")
count = len(records["sheets"])
assert len(book.sheetnames) == count + 2 and book.sheetnames[count:] == ["columns", "provenance"], book.sheetnames
assert all(len(title) <= 31 for title in book.sheetnames)
assert book.properties.created == datetime.datetime(1980, 1, 1), book.properties.created
assert book.properties.title == records["title"]

compared = 0
for sheet, of in zip(book.worksheets, records["sheets"]):
    last = sheet.cell(len(of["rows"]) + 1, len(of["columns"])).coordinate
    assert sheet.freeze_panes == "B2", sheet.freeze_panes
    assert sheet.auto_filter.ref == f"A1:{last}", (sheet.auto_filter.ref, last)
    assert sheet.print_title_rows == "$1:$1" and sheet.page_setup.orientation == "landscape"
    for at, column in enumerate(of["columns"], 1):
        head = sheet.cell(1, at)
        assert head.value == column["header"] and head.font.bold and head.alignment.wrap_text
        width = sheet.column_dimensions[head.column_letter].width
        assert width >= max(len(word) for word in column["header"].split()) or width >= 48, (column, width)
        for row, values in enumerate(of["rows"], 2):
            cell, value = sheet.cell(row, at), values[column["header"]]
            assert cell.data_type != "f", cell
            if value is None or value == "":
                assert cell.value is None, (cell, cell.value)
            else:
                assert cell.value == value, (cell, cell.value, value)
                is_text = isinstance(value, str)
                assert cell.data_type == ("s" if is_text else "n"), cell
                assert is_text or cell.number_format.startswith("0"), cell.number_format
            compared += 1


def rules(sheet, column):
    """Operator, formula, font and fill of the rules of a column by its header."""
    at = [cell.value for cell in sheet[1]].index(column)
    letter = sheet.cell(1, at + 1).column_letter
    found = []
    for area in sheet.conditional_formatting:
        if str(area.sqref).startswith(f"{letter}2:"):
            found += [(rule.operator, rule.formula, rule.dxf.font.b, rule.dxf.fill.bgColor.rgb) for rule in area.rules]
    return found


RULES = {
    "margin": [("lessThan", ["0"])],
    "met": [("equal", ['"NO"'])],
    "front": [("equal", ['"knee"']), ("equal", ['"yes"'])],
}
first, of = book.worksheets[0], records["sheets"][0]
marked = [argument.split("=", 1) for argument in sys.argv[2:]]
for mark, header in marked:
    found = sorted(rules(first, header), key=lambda rule: rule[1])
    assert [rule[:2] for rule in found] == RULES[mark], found
    for rule in found:
        assert rule[2] and rule[3] not in (None, "00000000"), rule
for at, column in enumerate(of["columns"], 1):
    header = column["header"]
    if header not in [header for _, header in marked]:
        assert not rules(first, header), header
    for row, values in enumerate(of["rows"], 2):
        if not isinstance(values[header], (int, float)):
            continue
        shown = first.cell(row, at).number_format.split(";")
        if ["margin", header] in marked:
            # The sign that is seen without colour.
            assert len(shown) == 3 and shown[1] == f'"\u25bc "-{shown[0]}', shown
        else:
            assert len(shown) == 1, shown
        half_width = values.get(column.get("half_width"))
        if half_width and "E" not in shown[0]:
            places = len(shown[0].partition(".")[2])
            # The last place shown says something, and the next would not.
            assert places == 0 or 10**-places <= half_width, (shown, half_width)
            assert 10**-places > half_width / 30, (shown, half_width)

told = {row[0].value: row[1].value for row in book["provenance"].iter_rows(min_row=2)}
assert records["stamp"].items() <= told.items() and told["caution"] == records["caution"], told
listed = [[cell.value for cell in row] for row in book["columns"].iter_rows(min_row=2)]
assert len(listed) == sum(len(of["columns"]) for of in records["sheets"])
assert all(meaning for *_, meaning in listed)
print("compared", compared)
