//! A book for tests: every kind of cell, and text that has undone many a table.

use crate::results::CAUTION;
use crate::results::book::Book;
use crate::results::table::{Cell, Column, Mark, Table};

/// The columns of [`rows`].
pub fn columns() -> Vec<Column> {
    vec![
        Column::text("option", "Which."),
        Column::integer("fans", "How many."),
        Column::number("flow", "m3/min", "Of each fan."),
        Column::number("margin", "mmHg", "What 95 % keep; below zero is beyond & \\not\\ met.").marked(Mark::Margin),
        Column::number("half-width", "mmHg", "Of that.").detail(),
        Column::text("met", "Whether all limits are.").marked(Mark::Met),
        Column::text("front", "Whether none is better in everything.").marked(Mark::Front),
    ]
}

/// Rows of every kind of cell.
pub fn rows() -> Vec<Vec<Cell>> {
    let measured = |value, half_width| Cell::Measured { value, half_width };
    let row = |option: &str, fans, flow: f64, margin, width: f64, met: &str, front: &str| {
        vec![
            option.into(),
            Cell::Integer(fans),
            flow.into(),
            margin,
            width.into(),
            met.into(),
            front.into(),
        ]
    };
    vec![
        row("=1+1", 1, 0.72, measured(-0.0796, 0.02), 0.02, "NO", "no"),
        row(
            "a|b & \"c\"\n50 %",
            2,
            1.234_56,
            measured(2.4149, 0.34),
            0.34,
            "yes",
            "yes",
        ),
        row(
            "_$#{}~^\\<>_ \u{b5} \u{e9} \u{3b1} \u{6f22}",
            -3,
            0.1 + 0.2,
            Cell::Number(-1.0 / 3.0),
            f64::NAN,
            "n/a",
            "dominated",
        ),
        row(
            "@SUM(A1)",
            9_007_199_254_740_992,
            1.25e-7,
            measured(f64::NEG_INFINITY, 1.0),
            f64::INFINITY,
            "NO",
            "no",
        ),
        vec![
            Cell::Text("  ends in spaces  ".to_owned()),
            Cell::Empty,
            Cell::Empty,
            measured(-0.0, 0.0),
            0.0.into(),
            Cell::Empty,
            "".into(),
        ],
    ]
}

/// The book of it, with a second sheet whose name is too long for a worksheet and a third whose name is reserved.
pub fn book() -> Book<'static> {
    let few = |name| {
        let columns = vec![Column::number("time", "h", "Time.")];
        Table::new(name, "A second table.", columns, 3, |k, cells| {
            cells.push((k as f64 / 3.0).into());
        })
    };
    let all = rows();
    Book {
        name: "trade",
        title: "A trade of T*".to_owned(),
        answer: vec![
            "Option 2 is the only one that meets every limit.".to_owned(),
            "A second sentence, with 5 % of it _awkward_.".to_owned(),
        ],
        stamp: [("scenario", "a_b.toml"), ("seed", "1"), ("runs", "59")]
            .map(|(what, value)| (what.to_owned(), value.to_owned()))
            .to_vec(),
        caution: CAUTION.to_owned(),
        sheets: vec![
            Table::new("trade", "Every option.", columns(), all.len(), move |k, cells| {
                cells.extend_from_slice(&all[k]);
            }),
            few("a-name-that-is-forty-characters-long-yes"),
            few("History"),
        ],
    }
}
