//! A table as CSV (RFC 4180), UTF-8 with a byte order mark, so that spreadsheets read names as they are.

use crate::{Cell, Error, Table};

/// The table as CSV. Words that a spreadsheet would run as a formula get an apostrophe before them.
///
/// # Errors
/// [`Error::Table`].
pub fn csv(table: &Table) -> Result<String, Error> {
    let wrong = |e: csv::Error| Error::Table(e.to_string());
    let mut out = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(b"\xef\xbb\xbf".to_vec());
    out.write_record(&table.heads).map_err(wrong)?;
    for row in &table.rows {
        out.write_record(row.iter().map(plain)).map_err(wrong)?;
    }
    let bytes = out.into_inner().map_err(|e| Error::Table(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| Error::Table(e.to_string()))
}

/// What people typed must not become a formula in somebody's spreadsheet.
fn plain(cell: &Cell) -> String {
    let text = cell.text();
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    match cell {
        Cell::Number(_) => text.to_owned(),
        _ if formula => format!("'{text}"),
        _ => text.to_owned(),
    }
}
