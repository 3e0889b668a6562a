"""Reads a results folder with pandas by its datapackage.json and holds every cell against the text of the CSV files.

    python read.py            in a results folder
    python read.py BLOCK      runs the Python of the file BLOCK first, which must have read the same: tables, units, meanings

Exact: a number read is the number written, to the last bit. Prints how many cells were compared.
"""

import csv
import json
import math
import sys

import pandas


def read():
    """Tables, units and meanings by table and column."""
    tables, units, meanings = {}, {}, {}
    with open("datapackage.json", encoding="utf-8") as file:
        package = json.load(file)
    for resource in package["resources"]:
        name, fields = resource["name"], resource["schema"]["fields"]
        text = [field["name"] for field in fields if field["type"] == "string"]
        tables[name] = pandas.read_csv(
            resource["path"],
            dtype={column: str for column in text},
            keep_default_na=False,
            na_values=resource["schema"]["missingValues"],
        )
        units[name] = {field["name"]: field.get("unit", "") for field in fields}
        meanings[name] = {field["name"]: field["description"] for field in fields}
    return tables, units, meanings


def same(text, value):
    """Whether a value read is the text of a cell."""
    if text == "":
        return isinstance(value, float) and math.isnan(value) or value == ""
    if isinstance(value, str):
        return value == text
    return float(text) == float(value)


def check(tables, units, meanings):
    """Every column has a name, its unit and its meaning, and holds what is in the file."""
    compared = 0
    for name, table in tables.items():
        with open(f"{name}.csv", encoding="utf-8", newline="") as file:
            header, *rows = csv.reader(file)
        assert list(table.columns) == header == list(units[name]) == list(meanings[name]), name
        assert len(table) == len(rows), name
        for at, column in enumerate(header):
            unit = units[name][column]
            assert column.endswith(f" [{unit}]") if unit else not column.endswith("]"), (name, column, unit)
            assert meanings[name][column].strip(), (name, column)
            for row, value in enumerate(table[column].tolist()):
                assert same(rows[row][at], value), (name, column, row, rows[row][at], value)
                compared += 1
    assert tables and compared > 0
    return compared


own = read()
if len(sys.argv) > 1:
    given = {}
    with open(sys.argv[1], encoding="utf-8") as block:
        exec(compile(block.read(), sys.argv[1], "exec"), given)
    tables, units, meanings = given["tables"], given["units"], given["meanings"]
    assert set(tables) == set(own[0]), "a table was left out"
    assert (units, meanings) == own[1:], "units and meanings"
    own = (tables, units, meanings)
print("compared", check(*own))
