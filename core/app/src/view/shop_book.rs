//! Shop book and stock, with where each value comes from.

use crate::{
    answer::{Answer, BookRow, Refusal, ShopBook, StockRow},
    app::App,
    now,
    shelf::{self, Line, Shelf},
};
use bowseam_figures::{cut::StockKind, measure::Unit};

/// The screen.
///
/// # Errors
/// The store cannot be read.
pub fn shop_book(app: &App) -> Result<Answer, Refusal> {
    let unit = now::unit(app)?;
    let values = now::book(app)?
        .rows(unit)
        .into_iter()
        .map(|row| BookRow {
            group: row.group,
            name: row.name,
            value: row.value,
            standing: row.standing,
        })
        .collect();
    let shelf = Shelf::of(app, &now::stock(app)?, unit)?;
    let stock = shelf
        .lines
        .iter()
        .map(|line| stock_row(app, line, unit))
        .collect::<Result<Vec<_>, Refusal>>()?;
    Ok(Answer::ShopBook(ShopBook { values, stock }))
}

fn stock_row(app: &App, line: &Line, unit: Unit) -> Result<StockRow, Refusal> {
    let stock = &line.stock;
    let sides = [Some(stock.length), stock.width]
        .into_iter()
        .flatten()
        .map(|side| side.say(unit));
    let mut size = sides.collect::<Vec<_>>().join(" × ");
    if let Some(thickness) = stock.thickness {
        size.push_str(&format!(", {} thick", thickness.say_decimal(unit)));
    }
    Ok(StockRow {
        name: if stock.name == stock.item {
            stock.name.clone()
        } else {
            format!("{}: {}", stock.item, stock.name)
        },
        size,
        count: shelf::amount(stock, line.there, unit),
        place: stock.place.clone(),
        drop: stock.kind == StockKind::Drop,
        reserved: shelf::reserved_words(&shelf::holders(app, line, unit)?),
    })
}
