//! `datapackage.json`: what every column of every table of a results folder is called, measures and means.
//!
//! Source: Frictionless Data Package specification, version 1 (2017): tabular data package, tabular data resource, table
//! schema. A field's unit is a property of its own, since the specification leaves units open.

use serde::Serialize;

use super::ordered::Ordered;
use super::table::{Column, Kind};

/// A results folder as a data package.
#[derive(Clone, Debug, Serialize)]
pub struct Package {
    profile: &'static str,
    name: String,
    title: String,
    description: &'static str,
    /// Not of the specification, which leaves room for more: where the tables come from.
    #[serde(skip_serializing_if = "Option::is_none")]
    provenance: Option<Ordered<String>>,
    resources: Vec<Resource>,
    /// Not of the specification either: the same tables in another format.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    copies: Vec<Copied>,
}

#[derive(Clone, Debug, Serialize)]
struct Copied {
    of: &'static str,
    path: String,
    format: &'static str,
    mediatype: &'static str,
    bytes: u64,
    hash: String,
}

#[derive(Clone, Debug, Serialize)]
struct Resource {
    profile: &'static str,
    name: &'static str,
    path: String,
    title: String,
    format: &'static str,
    mediatype: &'static str,
    encoding: &'static str,
    bytes: u64,
    hash: String,
    dialect: Dialect,
    schema: Schema,
}

#[derive(Clone, Debug, Serialize)]
struct Dialect {
    delimiter: &'static str,
    #[serde(rename = "lineTerminator")]
    line_terminator: &'static str,
    header: bool,
}

#[derive(Clone, Debug, Serialize)]
struct Schema {
    fields: Vec<Field>,
    #[serde(rename = "missingValues")]
    missing_values: [&'static str; 1],
}

#[derive(Clone, Debug, Serialize)]
struct Field {
    name: String,
    title: String,
    #[serde(rename = "type")]
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<String>,
    description: String,
}

impl Package {
    /// A package without tables. Its name is made of `stem` by the specification's rules for names.
    #[must_use]
    pub fn new(stem: &str, title: &str) -> Self {
        Self {
            profile: "tabular-data-package",
            name: slug(stem),
            title: title.to_owned(),
            description: super::CAUTION,
            provenance: None,
            resources: Vec::new(),
            copies: Vec::new(),
        }
    }

    /// Adds the Parquet file of a table: the table's name, the file's, how many bytes, and their SHA-256 in hexadecimal.
    pub fn copy(&mut self, of: &'static str, path: String, (bytes, sha256): (u64, &str)) {
        self.copies.push(Copied {
            of,
            path,
            format: "parquet",
            mediatype: "application/vnd.apache.parquet",
            bytes,
            hash: format!("sha256:{sha256}"),
        });
    }

    /// Says where its tables come from: digests, seed, variations, version, as pairs.
    pub fn stamp(&mut self, pairs: &[(String, String)]) {
        self.provenance = Some(pairs.iter().cloned().collect());
    }

    /// Whether it has no tables.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.resources.is_empty()
    }

    /// The names of its files.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        let tables = self.resources.iter().map(|resource| resource.path.as_str());
        tables.chain(self.copies.iter().map(|copy| copy.path.as_str()))
    }

    /// Adds a table that was written as CSV: its name, what it is, its columns, how many bytes, and their SHA-256 in
    /// hexadecimal.
    pub fn add(&mut self, name: &'static str, title: &str, columns: &[Column], (bytes, sha256): (u64, &str)) {
        self.resources.push(Resource {
            profile: "tabular-data-resource",
            name,
            path: format!("{name}.csv"),
            title: title.to_owned(),
            format: "csv",
            mediatype: "text/csv",
            encoding: "utf-8",
            bytes,
            hash: format!("sha256:{sha256}"),
            dialect: Dialect {
                delimiter: ",",
                line_terminator: "\n",
                header: true,
            },
            schema: Schema {
                fields: columns.iter().map(field).collect(),
                missing_values: [""],
            },
        });
    }

    /// The text of `datapackage.json`, newline at the end.
    ///
    /// # Errors
    /// Never for these types; the signature is that of the encoder.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }
}

fn field(column: &Column) -> Field {
    Field {
        name: column.header(),
        title: column.name.clone(),
        kind: match column.kind {
            Kind::Number => "number",
            Kind::Integer => "integer",
            Kind::Text => "string",
        },
        unit: column.unit.as_ref().map(ToString::to_string),
        description: column.meaning.clone(),
    }
}

/// Lower case, with `-` for whatever a package name may not hold.
fn slug(text: &str) -> String {
    let kept = |c: char| {
        if c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-') {
            c.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    text.chars().map(kept).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_column_has_name_unit_meaning_and_type() {
        let columns = vec![
            Column::number("cabin co2", "mmHg", "CO2."),
            Column::integer("variation", "Which."),
        ];
        let mut package = Package::new("My Week-run", "Week");
        package.add("history", "H.", &columns, (2, "00ff"));
        let json: serde_json::Value = serde_json::from_str(&package.to_json().expect("json")).expect("json");
        assert_eq!(json["name"], "my-week-run");
        let fields = &json["resources"][0]["schema"]["fields"];
        assert_eq!(fields[0]["name"], "cabin co2 [mmHg]");
        assert_eq!(fields[0]["unit"], "mmHg");
        assert_eq!(fields[0]["description"], "CO2.");
        assert_eq!(fields[1]["type"], "integer");
        assert_eq!(json["resources"][0]["bytes"], 2);
    }
}
