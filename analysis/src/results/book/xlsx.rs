//! A book as a workbook (Office Open XML, ISO/IEC 29500): a worksheet to a sheet, then `columns` (what each column means) and
//! `provenance` (the answer, where it comes from, the caution).
//!
//! Numbers are numbers with every digit; only their number format follows their confidence. Text is never taken for a formula.
//! What stands out does so in print and without colour: margins below zero by a triangle before the minus, which is part of their
//! number format, "NO" and "yes" by being bold; the fills are of the pair orange and blue, which all kinds of colour vision tell
//! apart. Reproducible: the file's dates are fixed, the archive has none, and it is compressed the same everywhere.

use rust_xlsxwriter::{
    ConditionalFormatCell, ConditionalFormatCellRule, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder,
    Workbook, Worksheet,
};

use super::names::{cut, names};
use super::{Book, BookError, MOST_COLUMNS, MOST_ROWS, page};
use crate::results::figures::{Shown, shown};
use crate::results::table::{Cell, Column, Mark, Table};

/// Longest text of a cell, in UTF-16 units.
const LONGEST_TEXT: usize = 32_767;
/// Whole numbers up to this size are kept exactly: cells are double precision.
const MOST_EXACT: u64 = 1 << 53;
/// Widths of columns, in characters.
const NARROWEST: usize = 7;
const WIDEST: usize = 48;
/// Room for the arrow of the filter in a header, in characters.
const ARROW: usize = 3;
/// Height of a line, in points.
const LINE: f64 = 15.0;
/// A4.
const PAPER: u8 = 9;

/// The bytes of the workbook.
///
/// # Errors
/// If a table is larger than a worksheet.
pub fn write(book: &Book<'_>) -> Result<Vec<u8>, BookError> {
    debug_assert!(
        book.has_own_names(),
        "sheets and columns of {} differ by name",
        book.name
    );
    let mut workbook = Workbook::new();
    // A date that is always the same; the earliest that an archive can state.
    let created = ExcelDateTime::from_ymd(1980, 1, 1)?;
    let properties = DocProperties::new()
        .set_title(&book.title)
        .set_creation_datetime(&created);
    workbook.set_properties(&properties);
    let names = names(book);
    for (table, name) in book.sheets.iter().zip(&names) {
        let sheet = workbook.add_worksheet();
        sheet.set_name(name)?;
        table_sheet(sheet, table)?;
    }
    let meanings = names.iter().zip(&book.sheets).flat_map(|(name, table)| {
        let columns = table.columns.iter();
        columns.map(move |column| {
            [
                name,
                column.name.as_str(),
                column.unit.as_deref().unwrap_or(""),
                &column.meaning,
            ]
            .map(str::to_owned)
        })
    });
    text_sheet(
        workbook.add_worksheet(),
        "columns",
        ["sheet", "column", "unit", "meaning"],
        meanings,
    )?;
    let pairs = |what: &str, value: &str| [what.to_owned(), value.to_owned()];
    let answer = book.answer.iter().map(|sentence| pairs("answer", sentence));
    let stamp = book.stamp.iter().map(|(what, value)| pairs(what, value));
    let rows = [pairs("title", &book.title)].into_iter().chain(answer).chain(stamp);
    let rows = rows.chain([
        pairs(
            "figures",
            "Shown as far as their confidence carries; each cell holds every digit.",
        ),
        pairs("caution", &book.caution),
    ]);
    text_sheet(workbook.add_worksheet(), "provenance", ["what", "value"], rows)?;
    Ok(workbook.save_to_buffer()?)
}

fn table_sheet(sheet: &mut Worksheet, table: &Table<'_>) -> Result<(), BookError> {
    let (rows, columns) = (table.rows(), table.columns.len());
    let large = || BookError::TooLarge {
        table: table.name.to_owned(),
        rows,
        columns,
    };
    let last_row = u32::try_from(rows)
        .ok()
        .filter(|_| rows < MOST_ROWS)
        .ok_or_else(large)?;
    if columns > MOST_COLUMNS {
        return Err(large());
    }
    let headers: Vec<String> = table.columns.iter().map(Column::header).collect();
    let mut widths: Vec<usize> = headers.iter().map(|header| header_width(header)).collect();
    for (row, cells) in (1..).zip(page::rows(table)) {
        for (at, (cell, column)) in (0..).zip(cells.iter().zip(&table.columns)) {
            let width = write_cell(sheet, (row, at), cell, column)?;
            widths[usize::from(at)] = widths[usize::from(at)].max(width);
        }
    }
    let flush_right = table.columns.iter().map(page::is_number);
    header(sheet, headers.iter().map(String::as_str).zip(flush_right), &widths)?;
    let Some(last_column) = columns.checked_sub(1).and_then(|last| u16::try_from(last).ok()) else {
        return Ok(());
    };
    sheet.set_freeze_panes(1, 1)?;
    sheet.set_repeat_columns(0, 0)?;
    sheet.autofilter(0, 0, last_row, last_column)?;
    if last_row > 0 {
        for (at, column) in (0..).zip(&table.columns) {
            mark(sheet, column.mark, at, last_row)?;
        }
    }
    Ok(())
}

/// Writes a cell; how wide what it shows is, in characters.
fn write_cell(sheet: &mut Worksheet, (row, at): (u32, u16), cell: &Cell, column: &Column) -> Result<usize, BookError> {
    let exact = |value: &i64| value.unsigned_abs() <= MOST_EXACT;
    let mut write = |value: f64, shown: &Shown| -> Result<usize, BookError> {
        sheet.write_number_with_format(row, at, value, &number_format(shown, column))?;
        Ok(shown.text.chars().count() + 2)
    };
    match cell {
        Cell::Number(value) if value.is_finite() => write(*value, &shown(*value, 0.0)),
        Cell::Measured { value, half_width } if value.is_finite() => write(*value, &shown(*value, *half_width)),
        Cell::Integer(value) if exact(value) => {
            let text = value.to_string();
            let whole = Shown {
                text,
                decimals: 0,
                exponent: false,
            };
            write(*value as f64, &whole)
        }
        Cell::Integer(value) => text_cell(sheet, (row, at), &value.to_string()),
        Cell::Text(text) => text_cell(sheet, (row, at), text),
        Cell::Number(_) | Cell::Measured { .. } | Cell::Empty => Ok(0),
    }
}

fn text_cell(sheet: &mut Worksheet, (row, at): (u32, u16), text: &str) -> Result<usize, BookError> {
    if text.is_empty() {
        return Ok(0);
    }
    let width = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
    let format = Format::new().set_align(FormatAlign::Top);
    let wraps = width > WIDEST || text.contains('\n');
    let format = if wraps { format.set_text_wrap() } else { format };
    sheet.write_string_with_format(row, at, cut(text, LONGEST_TEXT, "\u{2026}"), &format)?;
    Ok(width + 1)
}

/// A number format with as many places as are shown; below zero with a triangle where that is beyond a limit.
fn number_format(shown: &Shown, column: &Column) -> Format {
    let places = if shown.decimals == 0 {
        String::new()
    } else {
        format!(".{}", "0".repeat(shown.decimals))
    };
    let exponent = if shown.exponent { "E+00" } else { "" };
    let plain = format!("0{places}{exponent}");
    let format = if column.mark == Mark::Margin {
        format!("{plain};\"\u{25bc} \"-{plain};{plain}")
    } else {
        plain
    };
    Format::new().set_num_format(format).set_align(FormatAlign::Top)
}

/// Lets what a mark means stand out, also in cells that somebody changes.
fn mark(sheet: &mut Worksheet, mark: Mark, at: u16, last_row: u32) -> Result<(), BookError> {
    let bad = || {
        Format::new()
            .set_bold()
            .set_font_color(0x8A_3A_00)
            .set_background_color(0xFC_E0_CC)
    };
    let good = || {
        Format::new()
            .set_bold()
            .set_font_color(0x0B_4F_80)
            .set_background_color(0xDC_EB_F7)
    };
    let when = ConditionalFormatCell::new();
    if mark == Mark::Front {
        // The knee is on the front.
        let knee = ConditionalFormatCell::new()
            .set_rule(ConditionalFormatCellRule::EqualTo("knee"))
            .set_format(good());
        sheet.add_conditional_format(1, at, last_row, at, &knee)?;
    }
    let rule = match mark {
        Mark::None => return Ok(()),
        Mark::Margin => when.set_rule(ConditionalFormatCellRule::LessThan(0)).set_format(bad()),
        Mark::Met => when
            .set_rule(ConditionalFormatCellRule::EqualTo("NO"))
            .set_format(bad()),
        Mark::Front => when
            .set_rule(ConditionalFormatCellRule::EqualTo("yes"))
            .set_format(good()),
    };
    sheet.add_conditional_format(1, at, last_row, at, &rule)?;
    Ok(())
}

/// A sheet of text in which a header stays in sight.
fn text_sheet<const N: usize>(
    sheet: &mut Worksheet,
    name: &str,
    headers: [&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> Result<(), BookError> {
    sheet.set_name(name)?;
    let mut widths = headers.map(header_width);
    for (row, texts) in (1..).zip(rows) {
        for (at, text) in (0..).zip(&texts) {
            let format = Format::new().set_text_wrap().set_align(FormatAlign::Top);
            if !text.is_empty() {
                sheet.write_string_with_format(row, at, cut(text, LONGEST_TEXT, "\u{2026}"), &format)?;
            }
            widths[usize::from(at)] = widths[usize::from(at)].max(text.chars().count() + 1);
        }
    }
    header(sheet, headers.into_iter().map(|header| (header, false)), &widths)?;
    // Sentences get twice the room that cells get.
    if let Some(last) = widths.last() {
        sheet.set_column_width(u16::try_from(N - 1).unwrap_or(0), (*last).min(2 * WIDEST) as f64)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    Ok(())
}

/// The header: bold, wrapped, on every page; with it the widths of the columns and what the page is.
fn header<'h>(
    sheet: &mut Worksheet,
    headers: impl Iterator<Item = (&'h str, bool)>,
    widths: &[usize],
) -> Result<(), BookError> {
    let mut lines = 1;
    for (at, ((text, flush_right), width)) in (0..).zip(headers.zip(widths)) {
        let width = (*width).clamp(NARROWEST, WIDEST);
        sheet.set_column_width(at, width as f64)?;
        let align = if flush_right {
            FormatAlign::Right
        } else {
            FormatAlign::Left
        };
        let format = Format::new()
            .set_bold()
            .set_text_wrap()
            .set_align(align)
            .set_align(FormatAlign::Top)
            .set_border_bottom(FormatBorder::Thin)
            .set_background_color(0xEE_EE_EE);
        sheet.write_string_with_format(0, at, text, &format)?;
        lines = lines.max(lines_of(text, width.saturating_sub(ARROW)));
    }
    sheet.set_row_height(0, LINE * lines as f64)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape().set_paper_size(PAPER).set_print_fit_to_pages(1, 0);
    Ok(())
}

/// How wide a header is at least: its longest word, and half of it where that is not too much, so that it takes few lines.
fn header_width(header: &str) -> usize {
    let word = header
        .split_whitespace()
        .map(|word| word.chars().count())
        .max()
        .unwrap_or(0);
    word.max((header.chars().count() / 2).min(16)) + ARROW
}

/// How many lines of a width the words of a text take.
fn lines_of(text: &str, width: usize) -> usize {
    let (mut lines, mut used) = (1, 0);
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if used > 0 && used + 1 + length > width {
            lines += 1;
            used = 0;
        }
        used += length + usize::from(used > 0);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_larger_than_a_worksheet_is_refused_by_name() {
        let table = Table::new("rows", "T.", vec![Column::integer("k", "K.")], MOST_ROWS, |k, cells| {
            cells.push(Cell::Integer(k as i64));
        });
        let book = Book {
            name: "x",
            title: String::new(),
            answer: vec![],
            stamp: vec![],
            caution: String::new(),
            sheets: vec![table],
        };
        let error = write(&book).expect_err("too large").to_string();
        assert!(
            error.contains("rows has 1048576 rows") && error.contains("rows.csv"),
            "{error}"
        );
    }

    #[test]
    fn number_formats_show_the_figures_that_count() {
        let format = |value: f64, half_width: f64, mark| {
            let column = Column::number("a", "", "A.").marked(mark);
            number_format(&shown(value, half_width), &column)
        };
        let as_written = |format: &str| Format::new().set_num_format(format).set_align(FormatAlign::Top);
        assert_eq!(format(2.4149, 0.14, Mark::None), as_written("0.00"));
        assert_eq!(format(31.2, 4.0, Mark::None), as_written("0"));
        assert_eq!(format(1.25e-7, 0.0, Mark::None), as_written("0.00E+00"));
        assert_eq!(
            format(-0.08, 0.02, Mark::Margin),
            as_written("0.000;\"\u{25bc} \"-0.000;0.000")
        );
    }
}
