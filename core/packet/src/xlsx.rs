//! Tables as a workbook: one sheet a table, its heads kept in view.

use crate::{Cell, Error, Table};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError};

/// Widest column, in characters.
const WIDEST: usize = 60;

/// The tables as a workbook with this title, which bears this date (year, month, day, hour, minute).
///
/// # Errors
/// [`Error::Table`].
pub fn xlsx(title: &str, date: [u16; 5], tables: &[Table]) -> Result<Vec<u8>, Error> {
    workbook(title, date, tables).map_err(|e| Error::Table(e.to_string()))
}

fn workbook(
    title: &str,
    [year, month, day, hour, minute]: [u16; 5],
    tables: &[Table],
) -> Result<Vec<u8>, XlsxError> {
    let small = |n: u16| u8::try_from(n).unwrap_or_default();
    let made = ExcelDateTime::from_ymd(year, small(month), small(day))?.and_hms(hour, small(minute), 0)?;
    let mut book = Workbook::new();
    book.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&made));
    let head = Format::new()
        .set_bold()
        .set_text_wrap()
        .set_align(FormatAlign::Top);
    let words = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    for table in tables {
        let sheet = book.add_worksheet();
        sheet.set_name(&table.name)?;
        sheet.set_freeze_panes(1, 0)?;
        for (column, text) in (0_u16..).zip(&table.heads) {
            sheet.write_string_with_format(0, column, text, &head)?;
            let cells = table.rows.iter().filter_map(|row| row.get(usize::from(column)));
            let longest = cells
                .map(|cell| cell.text().chars().count())
                .max()
                .unwrap_or_default();
            let width = longest.max(text.chars().count()).min(WIDEST).saturating_add(2);
            sheet.set_column_width(column, u32::try_from(width).unwrap_or(10))?;
        }
        for (line, row) in (1_u32..).zip(&table.rows) {
            for (column, cell) in (0_u16..).zip(row) {
                put(sheet, line, column, cell, &words)?;
            }
        }
    }
    book.save_to_buffer()
}

/// A number with as many decimals as it was written with; whatever is no number stays words.
fn put(sheet: &mut Worksheet, line: u32, column: u16, cell: &Cell, words: &Format) -> Result<(), XlsxError> {
    if let Cell::Number(text) = cell
        && let Ok(number) = text.parse::<f64>()
    {
        let decimals = text.split_once('.').map_or(0, |(_, after)| after.len());
        let shown = match decimals {
            0 => "0".to_owned(),
            n => format!("0.{}", "0".repeat(n)),
        };
        sheet.write_number_with_format(line, column, number, &Format::new().set_num_format(shown))?;
    } else {
        // Written as text, never as a formula.
        sheet.write_string_with_format(line, column, cell.text(), words)?;
    }
    Ok(())
}
