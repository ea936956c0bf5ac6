//! Shop book and stock, with where each value comes from.

use crate::{
    answer::{Answer, BookRow, Refusal, ShopBook, StockRow},
    app::App,
    now,
};
use bowseam_figures::{
    cut::{Stock, StockKind},
    measure::Unit,
};

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
    let stock = now::stock(app)?
        .into_iter()
        .map(|stock| stock_row(stock, unit))
        .collect();
    Ok(Answer::ShopBook(ShopBook { values, stock }))
}

fn stock_row(stock: Stock, unit: Unit) -> StockRow {
    let sides = [Some(stock.length), stock.width]
        .into_iter()
        .flatten()
        .map(|side| side.say(unit));
    let mut size = sides.collect::<Vec<_>>().join(" × ");
    if let Some(thickness) = stock.thickness {
        size.push_str(&format!(", {} thick", thickness.say_decimal(unit)));
    }
    StockRow {
        name: if stock.name == stock.item {
            stock.name
        } else {
            format!("{}: {}", stock.item, stock.name)
        },
        size,
        count: stock.count.to_string(),
        place: stock.place,
        drop: stock.kind == StockKind::Drop,
    }
}
