//! Books of tables as others open them.

use std::fs;
use std::path::Path;

use breathroom_analysis::results::table::{Cell, Column, Mark, Table};
use breathroom_analysis::results::{Book, CAUTION, Export, Texts, book};

use crate::packages::validate;
use crate::place::{ask, compared};

const OPTIONS: i64 = 40;

/// A trade of many options with what a design team needs to see, and names that are hard on typesetting.
fn sample() -> Book<'static> {
    let columns = vec![
        Column::text("option", "Which, by its name in the file."),
        Column::text("scrubber", "What takes the CO2 out."),
        Column::number(
            "flow",
            "m3/min",
            "Actual volume at the inlet of each fan, 100 % of the time.",
        ),
        Column::integer("canisters", "How many are carried & counted."),
        Column::number("mass", "kg", "Of devices and stores."),
        Column::number(
            "margin of co2-1h",
            "mmHg",
            "What 95 % of variations keep at least; below zero is beyond the limit.",
        )
        .marked(Mark::Margin),
        Column::number(
            "probability of a violation",
            "%",
            "Share of variations beyond any limit.",
        ),
        Column::number("half-width of it", "%", "Half of its 95 % interval.").detail(),
        Column::text("met", "Whether every limit is met.").marked(Mark::Met),
        Column::text("front", "yes: no other option is better in mass and in margin.").marked(Mark::Front),
        Column::text("remark", "What a designer should know."),
    ];
    let fill = |k: usize, cells: &mut Vec<Cell>| {
        let x = k as f64;
        let margin = (x - 11.3) * 0.0713;
        let measured = |value, half_width| Cell::Measured { value, half_width };
        cells.extend([
            format!("option_{k}").into(),
            [
                "flow-through",
                "\u{e9}ponge #2 & co",
                "=HYPERLINK(\"x\")",
                "a|b\\c {d} ~ ^ $ <e>",
            ][k % 4]
                .into(),
            (0.3 + 0.05 * x).into(),
            Cell::Integer(k as i64 - 2),
            if k == 7 { Cell::Empty } else { (41.0 + x / 3.0).into() },
            if k == 9 {
                measured(f64::NAN, 1.0)
            } else {
                measured(margin, 0.004 + 0.01 * x)
            },
            measured(50.0 / (1.0 + x), 3.1 / (1.0 + x)),
            (3.1 / (1.0 + x)).into(),
            if margin < 0.0 { "NO" } else { "yes" }.into(),
            ["yes", "no", "as option_1"][k % 3].into(),
            if k.is_multiple_of(5) {
                "22 \u{b0}C at the wall, \u{b1}1; \u{6f22} and \u{3b1}; as good as any that was tried here"
            } else {
                ""
            }
            .into(),
        ]);
    };
    let low = vec![
        Column::text("factor", "Which."),
        Column::number("level", "", "As drawn."),
        Column::number("effect", "mmHg", "On the margin."),
    ];
    let second = Table::new(
        "a-sheet-whose-name-is-longer-than-31",
        "Effects.",
        low,
        3,
        |k, cells| {
            let small = [1.25e-7, -3.0e7, f64::INFINITY][k];
            cells.extend([
                "[flow]".into(),
                small.into(),
                Cell::Measured {
                    value: -small,
                    half_width: f64::INFINITY,
                },
            ]);
        },
    );
    Book {
        name: "trade",
        title: "Scrubbers & canisters: 3 levels of 100 %, two_crew".to_owned(),
        answer: vec![
            "Of 40 options 29 meet every limit.".to_owned(),
            "The lightest of them is option_12.".to_owned(),
        ],
        stamp: [
            ("scenario", "two-crew_sortie.toml"),
            ("sha256", "00ff"),
            ("seed", "1"),
            ("runs", "=1+1"),
        ]
        .map(|(what, value)| (what.to_owned(), value.to_owned()))
        .to_vec(),
        caution: CAUTION.to_owned(),
        sheets: vec![
            Table::new("trade", "Every option.", columns, OPTIONS as usize, fill),
            second,
        ],
    }
}

/// A folder with the files of the sample.
fn written() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let mut export = Export::new(folder.path(), "sample-trade", "Sample");
    export.book(&sample()).expect("written");
    let texts = Texts {
        json: "{}\n",
        markdown: "# Sample\n",
    };
    let names = export.finish(texts).expect("written");
    for name in names {
        assert!(folder.path().join(&name).is_file(), "{name}");
    }
    folder
}

#[test]
fn a_workbook_opens_with_its_numbers_formats_filter_and_rules() {
    let folder = written();
    // Every cell of both sheets.
    let words = ["trade", "margin=margin of co2-1h [mmHg]", "met=met", "front=front"];
    assert_eq!(compared("workbook.py", &words, folder.path()), 40 * 11 + 3 * 3);
}

#[test]
fn the_tables_of_a_book_are_a_valid_data_package() {
    let folder = written();
    let said = validate(folder.path());
    assert!(said.well, "{}", said.text);
    assert_eq!(compared("read.py", &[], folder.path()), 40 * 11 + 3 * 3);
}

#[test]
fn latex_compiles_alone_and_fits_its_page() {
    let folder = written();
    let log = compile("trade.tex", folder.path());
    assert!(folder.path().join("trade.pdf").is_file());
    let overfull: Vec<&str> = log.lines().filter(|line| line.starts_with("Overfull \\hbox")).collect();
    assert!(overfull.is_empty(), "{overfull:#?}");
    assert!(!log.contains("Missing character"), "{log}");
}

#[test]
fn a_table_alone_goes_into_another_document() {
    let folder = written();
    let text = book::latex(&sample());
    let (_, table) = text.split_once("% table: trade\n").expect("a mark");
    let (table, _) = table.split_once("% end\n").expect("a mark");
    let document = format!(
        "\\documentclass{{report}}\n\\usepackage[landscape]{{geometry}}\n\\usepackage{{array,longtable,booktabs}}\n\\begin{{document}}\n{table}\\end{{document}}\n"
    );
    fs::write(folder.path().join("other.tex"), document).expect("written");
    compile("other.tex", folder.path());
    assert!(folder.path().join("other.pdf").is_file());
}

/// Compiles a file twice, as longtables ask; its log.
fn compile(file: &str, folder: &Path) -> String {
    let words = ["-interaction=nonstopmode", "-halt-on-error", file];
    let install = "in Debian: apt-get install texlive-latex-base texlive-latex-recommended";
    for _ in 0..2 {
        let said = ask("pdflatex", &words, folder, install);
        assert!(said.well, "{file}: {}", said.text);
    }
    let log = fs::read(folder.join(file).with_extension("log")).expect("a log");
    String::from_utf8_lossy(&log).into_owned()
}
