"""Reads the Parquet files of a results folder with pandas and holds them against the CSV files, column by column, cell by cell.

    python parquet.py         in a folder of `traces`

Exact: a number in one is the number in the other, to the last bit. Prints how many cells were compared.
"""

import json

import pandas

with open("datapackage.json", encoding="utf-8") as file:
    package = json.load(file)
text = {
    resource["name"]: [field["name"] for field in resource["schema"]["fields"] if field["type"] == "string"]
    for resource in package["resources"]
}
compared = 0
for copy in package["copies"]:
    name = copy["of"]
    parquet = pandas.read_parquet(copy["path"])
    csv = pandas.read_csv(
        f"{name}.csv", dtype={column: str for column in text[name]}, keep_default_na=False, na_values=[""]
    )
    assert list(parquet.columns) == list(csv.columns) and len(parquet) == len(csv) > 0, name
    for column in csv.columns:
        both = zip(parquet[column].tolist(), csv[column].tolist())
        for row, (a, b) in enumerate(both):
            empty = pandas.isna(a), pandas.isna(b)
            assert empty == (True, True) or (empty == (False, False) and a == b), (name, column, row, a, b)
            compared += 1
print("compared", compared)
