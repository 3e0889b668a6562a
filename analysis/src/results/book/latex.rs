//! A book as LaTeX: compiles alone, and every table stands between marks, to be taken into another document.
//!
//! Tables are `longtable`s with rules of `booktabs`, landscape on A4, numbers flush right. What people wrote is escaped
//! for a document in UTF-8 with either font encoding, OT1 or T1; a character that neither has a sign for is given by its number,
//! `[U+6F22]`, so that any title compiles.

use std::fmt::Write as _;

use super::{Book, page};
use crate::results::table::{Cell, Column, Table};

/// Longest text of a cell on one line, in characters; longer text is set in a column of this width, or of what the page has left.
const WIDEST: usize = 28;
/// Widest column of text, in characters.
const WIDEST_OF_TEXT: usize = 60;
/// Longest line of a header, in characters, unless a cell or a word is longer.
const HEADER: usize = 11;
/// What fits on a line of the page at each size of type, in characters, two for the space between columns counted.
const SIZES: [(&str, usize); 3] = [("\\small", 150), ("\\footnotesize", 170), ("\\scriptsize", usize::MAX)];

const HEAD: &str = r"\documentclass[10pt]{article}
\usepackage[a4paper,landscape,margin=15mm]{geometry}
\IfFileExists{lmodern.sty}{\usepackage[T1]{fontenc}\usepackage{lmodern}}{}
\usepackage{textcomp,array,longtable,booktabs}
\setlength{\parindent}{0pt}\setlength{\parskip}{0.5\baselineskip}
\setlength{\LTleft}{0pt}\setlength{\tabcolsep}{4pt}
\begin{document}
";

/// The text, line break at the end.
#[must_use]
pub fn write(book: &Book<'_>) -> String {
    let mut out = format!("% {}\n", comment(&book.title));
    out.push_str("% For a table alone: put what stands between `% table: NAME` and `% end` into a file of its own and \\input it where\n");
    out.push_str("% \\usepackage{array,longtable,booktabs} is in force.\n");
    out.push_str(HEAD);
    let _ = write!(out, "{{\\Large\\bfseries {}\\par}}\n\n", escaped(&book.title));
    for sentence in &book.answer {
        let _ = write!(out, "{}\n\n", escaped(sentence));
    }
    for table in &book.sheets {
        sheet(&mut out, table);
    }
    let _ = write!(
        out,
        "{}\n\n\\textbf{{Where this comes from.}}\n",
        escaped(page::FIGURES)
    );
    for (what, value) in &book.stamp {
        let _ = writeln!(out, "{}: {}.", escaped(what), escaped(value));
    }
    let _ = write!(
        out,
        "\n\\medskip\\hrule\\smallskip\n{}\n\\end{{document}}\n",
        escaped(&book.caution)
    );
    out
}

fn sheet(out: &mut String, table: &Table<'_>) {
    let columns = page::columns(table);
    let _ = write!(
        out,
        "\\textbf{{{}.}} {}\n\n",
        escaped(table.name),
        escaped(&table.title)
    );
    let texts: Vec<Vec<(String, bool)>> = page::rows(table)
        .map(|row| {
            let cells = columns
                .iter()
                .map(|&(at, column)| (cell(&row[at]), row[at].stands_out(column.mark)));
            cells.collect()
        })
        .collect();
    let widths: Vec<usize> = (0..columns.len())
        .map(|at| texts.iter().map(|row| width(&row[at].0)).max().unwrap_or(0))
        .collect();
    let headers: Vec<Vec<String>> = columns
        .iter()
        .zip(&widths)
        .map(|((_, column), width)| lines(&column.header(), HEADER.max((*width).min(WIDEST))))
        .collect();
    let taken = headers.iter().zip(&widths).map(|(header, cells)| {
        let header = header.iter().map(|line| line.chars().count()).max().unwrap_or(0);
        header.max((*cells).min(WIDEST)) + 2
    });
    let taken: usize = taken.sum();
    let size = SIZES
        .iter()
        .find(|(_, room)| taken <= *room)
        .map_or("\\scriptsize", |(size, _)| size);
    // What is left of the line at the largest size goes to columns of text.
    let wraps = |(column, width): &(&(usize, &Column), &usize)| !page::is_number(column.1) && **width > WIDEST;
    let texts_of = columns.iter().zip(&widths).filter(wraps).count().max(1);
    let room = WIDEST + SIZES[0].1.saturating_sub(taken) / texts_of;
    let form = |pair: (&(usize, &Column), &usize)| {
        if page::is_number(pair.0.1) {
            "r".to_owned()
        } else if wraps(&pair) {
            let width = room.min(WIDEST_OF_TEXT).min(*pair.1 + 2);
            format!(">{{\\raggedright\\arraybackslash}}p{{{}em}}", width.div_ceil(2))
        } else {
            "l".to_owned()
        }
    };
    let forms: Vec<String> = columns.iter().zip(&widths).map(form).collect();
    let header: Vec<String> = headers
        .iter()
        .zip(&columns)
        .map(|(lines, (_, column))| stacked(lines, page::is_number(column)))
        .collect();
    let _ = writeln!(out, "% table: {}\n{{{size}", comment(table.name));
    let _ = writeln!(out, "\\begin{{longtable}}{{@{{}}{}@{{}}}}\n\\toprule", forms.concat());
    let _ = writeln!(
        out,
        "{} \\\\\n\\midrule\n\\endhead\n\\bottomrule\n\\endfoot",
        header.join(" & ")
    );
    for row in &texts {
        let cells: Vec<String> = row.iter().map(|(text, bold)| weighted(text, *bold)).collect();
        // A row that begins with a bracket would be taken for what \\ may be followed by.
        let _ = writeln!(out, "{{}}{} \\\\", cells.join(" & "));
    }
    out.push_str("\\end{longtable}}\n% end\n\n");
    out.push_str("{\\footnotesize ");
    for (_, column) in &columns {
        let _ = writeln!(
            out,
            "\\textbf{{{}}}: {}",
            escaped(&column.header()),
            escaped(&column.meaning)
        );
    }
    out.push_str("\\par}\n\n");
}

/// A cell as LaTeX; numbers with a real minus and a power of ten.
fn cell(cell: &Cell) -> String {
    let text = page::text(cell);
    if cell.number().is_none() {
        return if text == "-" { "--".to_owned() } else { escaped(&text) };
    }
    let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, ""));
    let mut out = match mantissa.strip_prefix('-') {
        Some(size) => format!("$-${size}"),
        None => mantissa.to_owned(),
    };
    if !exponent.is_empty() {
        let _ = write!(out, "$\\times10^{{{exponent}}}$");
    }
    out
}

fn weighted(text: &str, bold: bool) -> String {
    if bold {
        format!("\\textbf{{\\boldmath {text}}}")
    } else {
        text.to_owned()
    }
}

/// About how many characters wide LaTeX text is in print.
fn width(text: &str) -> usize {
    let mut count: usize = 0;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\\' => {
                // A command is one sign.
                while rest.peek().is_some_and(char::is_ascii_alphabetic) {
                    rest.next();
                }
                count += 1;
            }
            '$' | '{' | '}' | '^' => {}
            _ => count += 1,
        }
    }
    count
}

/// Words in lines of at most so many characters; a longer word gets a line of its own.
fn lines(text: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Lines of a header, one above the other, the last on the line of the row.
fn stacked(lines: &[String], flush_right: bool) -> String {
    let lines: Vec<String> = lines
        .iter()
        .map(|line| format!("\\textbf{{{}}}", escaped(line)))
        .collect();
    let side = if flush_right { "r" } else { "l" };
    format!(
        "\\begin{{tabular}}[b]{{@{{}}{side}@{{}}}}{}\\end{{tabular}}",
        lines.join("\\\\")
    )
}

/// Text for a comment: on one line.
fn comment(text: &str) -> String {
    text.replace(['\n', '\r'], " ")
}

/// Text as LaTeX sets it as it stands. Line breaks are spaces.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '&' | '%' | '$' | '#' | '_' | '{' | '}' => out.extend(['\\', c]),
            '~' => out.push_str("\\textasciitilde{}"),
            '^' => out.push_str("\\textasciicircum{}"),
            '\\' => out.push_str("\\textbackslash{}"),
            '<' => out.push_str("$<$"),
            '>' => out.push_str("$>$"),
            '|' => out.push_str("$|$"),
            '"' => out.push_str("\\textquotedblright{}"),
            '\'' => out.push_str("\\textquoteright{}"),
            // Not to be joined with what precedes it into another sign.
            '-' | '`' | '!' | '?' | ',' if out.ends_with(c) || c == '`' => {
                out.push_str("{}");
                out.push_str(if c == '`' { "\\textquoteleft{}" } else { "" });
                if c != '`' {
                    out.push(c);
                }
            }
            ' '..='~' => out.push(c),
            '\n' | '\r' | '\t' | '\u{a0}' => out.push(' '),
            _ => match sign(c) {
                Some(sign) => out.push_str(sign),
                None if has_letter(c) => out.push(c),
                None => {
                    let _ = write!(out, "[U+{:04X}]", u32::from(c));
                }
            },
        }
    }
    out
}

/// Letters with accents that both font encodings make: Latin-1, but for eth and thorn.
fn has_letter(c: char) -> bool {
    matches!(c, '\u{c0}'..='\u{ff}') && !matches!(c, '\u{d0}' | '\u{d7}' | '\u{de}' | '\u{f0}' | '\u{f7}' | '\u{fe}')
}

/// Signs that mathematics has.
fn sign(c: char) -> Option<&'static str> {
    Some(match c {
        '\u{b0}' => "$^\\circ$",
        '\u{b1}' => "$\\pm$",
        '\u{b2}' => "$^2$",
        '\u{b3}' => "$^3$",
        '\u{b5}' | '\u{3bc}' => "$\\mu$",
        '\u{b7}' | '\u{22c5}' => "$\\cdot$",
        '\u{d7}' => "$\\times$",
        '\u{f7}' => "$\\div$",
        '\u{2013}' => "--",
        '\u{2014}' => "---",
        '\u{2018}' => "\\textquoteleft{}",
        '\u{2019}' => "\\textquoteright{}",
        '\u{201c}' => "\\textquotedblleft{}",
        '\u{201d}' => "\\textquotedblright{}",
        '\u{2026}' => "\\ldots{}",
        '\u{2082}' => "$_2$",
        '\u{2206}' | '\u{394}' => "$\\Delta$",
        '\u{2126}' | '\u{3a9}' => "$\\Omega$",
        '\u{2212}' => "$-$",
        '\u{2248}' => "$\\approx$",
        '\u{2264}' => "$\\leq$",
        '\u{2265}' => "$\\geq$",
        '\u{3b1}' => "$\\alpha$",
        '\u{3b2}' => "$\\beta$",
        '\u{3b3}' => "$\\gamma$",
        '\u{3b5}' => "$\\varepsilon$",
        '\u{3b7}' => "$\\eta$",
        '\u{3bb}' => "$\\lambda$",
        '\u{3c1}' => "$\\rho$",
        '\u{3c3}' => "$\\sigma$",
        '\u{3c4}' => "$\\tau$",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::book::sample::book;

    #[test]
    fn every_special_character_is_escaped() {
        for (text, expected) in [
            ("a & 5 % of $3 #1", "a \\& 5 \\% of \\$3 \\#1"),
            ("co2_x{y}", "co2\\_x\\{y\\}"),
            ("~^\\", "\\textasciitilde{}\\textasciicircum{}\\textbackslash{}"),
            ("a<b>c|d", "a$<$b$>$c$|$d"),
            ("--x ``y", "-{}-x {}\\textquoteleft{}{}\\textquoteleft{}y"),
            (
                "22 \u{b0}C \u{b1} 1 \u{b5}g, \u{e9}\u{df}",
                "22 $^\\circ$C $\\pm$ 1 $\\mu$g, \u{e9}\u{df}",
            ),
            ("\u{6f22}\u{1f600}", "[U+6F22][U+1F600]"),
            ("a\nb", "a b"),
            ("\u{7}", "[U+0007]"),
        ] {
            assert_eq!(escaped(text), expected, "{text:?}");
        }
    }

    #[test]
    fn numbers_have_a_real_minus_and_powers_of_ten() {
        assert_eq!(cell(&Cell::Number(-0.08)), "$-$0.08");
        assert_eq!(cell(&Cell::Number(-1.25e-7)), "$-$1.25$\\times10^{-7}$");
        assert_eq!(cell(&Cell::Integer(-3)), "$-$3");
        assert_eq!(cell(&Cell::Number(f64::NAN)), "--");
        assert_eq!(cell(&Cell::Empty), "");
    }

    #[test]
    fn braces_and_environments_balance_and_tables_stand_between_marks() {
        let text = write(&book());
        let bare = text.replace("\\\\", "").replace("\\{", "").replace("\\}", "");
        assert_eq!(bare.matches('{').count(), bare.matches('}').count());
        assert_eq!(bare.replace("\\$", "").matches('$').count() % 2, 0);
        for environment in ["document", "longtable", "tabular"] {
            let count = |what: &str| text.matches(&format!("\\{what}{{{environment}}}")).count();
            assert_eq!(count("begin"), count("end"), "{environment}");
        }
        let (_, table) = text.split_once("% table: trade\n").expect("a mark");
        let (table, _) = table.split_once("% end\n").expect("a mark");
        assert!(
            table.starts_with("{\\small\n\\begin{longtable}{@{}>{\\raggedright\\arraybackslash}p{16em}rrrll@{}}"),
            "{table}"
        );
        // Five rows and a header of six cells.
        let rows = table.lines().filter(|line| line.ends_with("\\\\"));
        let ends = |line: &str| line.replace("\\&", "").matches('&').count();
        assert_eq!(rows.map(ends).collect::<Vec<_>>(), [5; 6], "{table}");
        assert!(
            table.contains("\\textbf{\\boldmath $-$0.080} & \\textbf{\\boldmath NO}"),
            "{table}"
        );
        assert!(!text.contains("half-width"), "a column of detail");
    }
}
