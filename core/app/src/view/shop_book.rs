//! Shop book and stock, with where each value comes from, who changed what, and each as it would be typed.

use crate::{
    answer::{Answer, BookRow, Refusal, ShopBook, StockRow},
    app::{App, Asker},
    ask::TypedStock,
    book, now,
    shelf::{self, Line, Shelf},
};
use bowseam_figures::{cut::StockKind, measure::Unit, shop::Book};

/// The screen.
///
/// # Errors
/// The store cannot be read.
pub fn shop_book(app: &App, asker: &Asker) -> Result<Answer, Refusal> {
    let (unit, book) = (now::unit(app)?, now::book(app)?);
    let start = Book::default().rows(unit);
    let of = |row: bowseam_figures::rules::Row| {
        let start = start
            .iter()
            .find(|start| start.group == row.group && start.key == row.key);
        BookRow {
            start: start
                .map(|start| start.value.clone())
                .filter(|start| *start != row.value),
            group: row.group,
            key: row.key,
            name: row.name,
            value: row.value,
            standing: row.standing,
        }
    };
    let values = book
        .rows(unit)
        .into_iter()
        .filter(|row| row.group != "cure")
        .map(of);
    let list = now::stock(app)?;
    let shelf = Shelf::of(app, &list, unit)?;
    let listed = list.len();
    let stock = shelf.lines.iter().enumerate();
    let stock = stock.map(|(at, line)| stock_row(app, line, at < listed, unit));
    let may_not = book::may_not(app, app.person(asker)?.as_ref())?;
    Ok(Answer::ShopBook(ShopBook {
        values: values.collect(),
        stock: stock.collect::<Result<Vec<_>, Refusal>>()?,
        may_not: may_not.map(|refusal| refusal.sentence),
        changes: book::changes(app)?,
        cure: book.cure,
        closed: book.closed,
    }))
}

fn stock_row(app: &App, line: &Line, listed: bool, unit: Unit) -> Result<StockRow, Refusal> {
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
        key: stock.key(),
        typed: listed.then(|| TypedStock {
            item: stock.item.clone(),
            name: stock.name.clone(),
            form: stock.kind,
            length: stock.length.say(unit),
            width: stock.width.map(|width| width.say(unit)).unwrap_or_default(),
            thickness: stock
                .thickness
                .map(|thick| thick.say_decimal(unit))
                .unwrap_or_default(),
            place: stock.place.clone(),
            there: shelf::amount(stock, line.there, unit),
            price: stock.price.clone().unwrap_or_default(),
        }),
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
