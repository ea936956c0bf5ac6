//! The shop book and the stock list as a supervisor changes them: at the office, or on a phone that knows no office.
//! Each change is kept with who made it and when; a book that figures cannot be worked out with is refused.

use crate::{
    answer::{Answer, BookChange, Refusal},
    app::{App, Kind},
    ask::TypedStock,
    change::{nothing_made, supervisor_only},
    now::{self, BOOK, STOCK},
    shelf::{self, Shelf},
    typed,
};
use bowseam_figures::{
    basis::Amount,
    body::BodyType,
    cut::{Stock, size},
    estimate::{Chosen, estimate},
    group::WayKey,
    mark::{Age, DamageKind, Mark, Part, Place, Surface},
    measure::{Length, Unit},
    shop::{Book, Closed, Cure},
    ways::ways,
};
use bowseam_jobs::people::Person;
use chrono::Utc;
use rust_decimal::Decimal;
use std::str::FromStr;
use uuid::Uuid;

/// Setting of the store: changes of book and stock, the oldest first.
const CHANGES: &str = "book_changes";
/// Most changes kept.
const MOST_CHANGES: usize = 400;
/// Most lines of the stock list, of labels and of closed days.
const MOST_LINES: usize = 2_000;
/// Most pieces of a stock.
const MOST_PIECES: i64 = 1_000_000;

/// Why this person may not change book and stock here; nothing: may.
///
/// # Errors
/// The store cannot be read.
pub fn may_not(app: &App, me: Option<&Person>) -> Result<Option<Refusal>, Refusal> {
    let Some(me) = me else {
        return Ok(Some(Refusal::new("sign_in", "Say who you are first.")));
    };
    if let Err(refusal) = supervisor_only(me, "changes the shop book and the stock list") {
        return Ok(Some(refusal));
    }
    let of_office = app.kind() == Kind::Phone && !bowseam_send::Office::book(&app.store())?.is_null();
    Ok(of_office.then(|| {
        let sentence = "The office keeps the shop book and the stock list: they are changed there, and come to this phone.";
        Refusal::new("office_keeps", sentence)
    }))
}

fn may(app: &App, me: &Person) -> Result<(), Refusal> {
    may_not(app, Some(me))?.map_or(Ok(()), Err)
}

/// What was changed, the newest first.
///
/// # Errors
/// The store cannot be read.
pub fn changes(app: &App) -> Result<Vec<BookChange>, Refusal> {
    let mut all: Vec<BookChange> = app.store().setting(CHANGES)?.unwrap_or_default();
    all.reverse();
    Ok(all)
}

/// Changes the book with nobody in between; a refusal leaves it as it was.
///
/// # Errors
/// That of the change; the store cannot be read or written.
pub fn change<R>(app: &App, change: impl FnOnce(&mut Book) -> Result<R, Refusal>) -> Result<R, Refusal> {
    app.store().try_change_setting(BOOK, change)?
}

fn note(app: &App, me: &Person, what: String, was: String, now: String) -> Result<Answer, Refusal> {
    if was != now {
        app.store().change_setting(CHANGES, |all: &mut Vec<BookChange>| {
            all.push(BookChange {
                what,
                was,
                now,
                by: me.name.clone(),
                at: Utc::now(),
            });
            let over = all.len().saturating_sub(MOST_CHANGES);
            all.drain(..over);
        })?;
    }
    Ok(nothing_made(None))
}

/// Sets a value; an empty one brings the starting value back.
///
/// # Errors
/// `supervisor_only`, `office_keeps`, no such value, or what was typed is none.
pub fn set(app: &App, me: &Person, group: &str, key: &str, value: &str) -> Result<Answer, Refusal> {
    may(app, me)?;
    let unit = now::unit(app)?;
    let row = |book: &Book| {
        let rows = book.rows(unit);
        let row = rows.into_iter().find(|row| row.group == group && row.key == key);
        row.map_or_else(Default::default, |row| (row.name, row.value))
    };
    let [was, now] = change(app, |book| {
        let was = row(book);
        book.set(group, key, value, unit)
            .map_err(|e| Refusal::from(e).beside("value"))?;
        usable(book, unit).map_err(|e| e.beside("value"))?;
        Ok([was, row(book)])
    })?;
    note(app, me, was.0, was.1, now.1)
}

/// A book has to give figures: a roof and a side are worked out with it.
fn usable(book: &Book, unit: Unit) -> Result<(), Refusal> {
    let plan = BodyType::DryVan53.plan();
    let inch = Length::inches;
    let mark = |id: &str, surface, part, [from, to, low, high]: [i64; 4]| Mark {
        id: id.to_owned(),
        place: Place {
            surface,
            from: inch(from),
            to: inch(to),
            low: inch(low),
            high: inch(high),
        },
        kind: DamageKind::Tear,
        part,
        age: Age::New,
        depth: None,
    };
    let marks = [
        mark("roof", Surface::Roof, Part::RoofSheet, [20, 100, 10, 60]),
        mark("side", Surface::Curbside, Part::SideSheet, [200, 206, 40, 46]),
    ];
    ways(&plan, &marks, book, unit)?;
    let chosen = Chosen {
        group: "roof".to_owned(),
        way: WayKey::WholeRoof.key().to_owned(),
        by_hand: None,
    };
    estimate(&plan, &marks, &[chosen], book, &[], unit)?;
    Ok(())
}

/// Sets hours of cure from a label; without hours the line goes.
///
/// # Errors
/// As [`set`].
pub fn set_cure(app: &App, me: &Person, product: &str, at: &str, hours: &str) -> Result<Answer, Refusal> {
    may(app, me)?;
    let product = typed::text(product, "product")?;
    if product.is_empty() {
        return Err(Refusal::at(
            "product_missing",
            "product",
            "Which product? Its name as the label has it.",
        ));
    }
    let at_f = typed::fahrenheit(at, "at")?;
    let hours = match hours.trim() {
        "" => None,
        text => {
            let read = Decimal::from_str(text).ok();
            let read = read.filter(|h| *h > Decimal::ZERO && *h <= Decimal::from(2_000) && h.scale() <= 2);
            Some(Amount(read.ok_or_else(|| {
                Refusal::at(
                    "hours_unread",
                    "hours",
                    "Hours from the label, above 0 and up to 2000, as in 24 or 1.5.",
                )
            })?))
        }
    };
    let this = |line: &Cure| line.product == product && line.at_f == at_f;
    let said = |hours: &Amount| format!("{} h", hours.0.normalize());
    let was = change(app, |book| {
        let was = book.cure.iter().find(|line| this(line));
        let was = was.map(|line| said(&line.hours));
        book.cure.retain(|line| !this(line));
        book.cure.extend(hours.map(|hours| Cure {
            product: product.clone(),
            at_f,
            hours,
        }));
        book.cure
            .sort_by(|a, b| (&a.product, a.at_f).cmp(&(&b.product, b.at_f)));
        few(book.cure.len(), "product")?;
        Ok(was)
    })?;
    let what = format!("cure of {product} at {at_f} °F");
    note(
        app,
        me,
        what,
        was.unwrap_or_default(),
        hours.as_ref().map(said).unwrap_or_default(),
    )
}

fn few(lines: usize, field: &str) -> Result<(), Refusal> {
    if lines <= MOST_LINES {
        return Ok(());
    }
    Err(Refusal::at(
        "too_many",
        field,
        format!("No more than {MOST_LINES} lines are kept: take one off first."),
    ))
}

/// A day on which the shop does not work, or it does after all.
///
/// # Errors
/// As [`set`].
pub fn set_closed(app: &App, me: &Person, day: &str, why: &str, closed: bool) -> Result<Answer, Refusal> {
    may(app, me)?;
    let day = typed::date(day, false).map_err(|e| e.beside("day"))?;
    let why = typed::text(why, "why")?;
    if closed && why.is_empty() {
        return Err(Refusal::at(
            "why_missing",
            "why",
            "Why is the shop closed that day? A holiday's name is enough.",
        ));
    }
    let was = change(app, |book| {
        let was = book.closed.iter().find(|one| one.day == day);
        let was = was.map(|one| one.why.clone());
        book.closed.retain(|one| one.day != day);
        if closed {
            book.closed.push(Closed {
                day: day.clone(),
                why: why.clone(),
            });
            book.closed.sort();
        }
        few(book.closed.len(), "day")?;
        Ok(was)
    })?;
    let now = if closed { why } else { String::new() };
    note(app, me, format!("closed on {day}"), was.unwrap_or_default(), now)
}

/// Adds a line of the stock list, changes it, or takes it off.
///
/// # Errors
/// As [`set`]; `no_stock`.
pub fn set_stock(
    app: &App,
    me: &Person,
    stock: Option<String>,
    line: Option<&TypedStock>,
) -> Result<Answer, Refusal> {
    may(app, me)?;
    let unit = now::unit(app)?;
    let list = now::stock(app)?;
    let place = |list: &[Stock]| {
        match &stock {
        None => Ok(None),
        Some(key) => list.iter().position(|known| known.key() == *key).map(Some).ok_or_else(|| {
            let sentence = "This is not in the stock list any more. A drop that a job kept is changed on that job's Cut list.";
            Refusal::at("no_stock", "stock", sentence)
        }),
    }
    };
    let known = place(&list)?.and_then(|at| list.get(at)).cloned();
    let shelf = Shelf::of(app, &list, unit)?;
    let said = |stock: &Stock, there: i64| {
        let size = size(stock.length, stock.width, stock.thickness, unit);
        format!("{size}, {} at {}", shelf::amount(stock, there, unit), stock.place)
    };
    let there = |known: &Stock| shelf.line(&known.key()).map_or(0, |line| line.there);
    let was = known.as_ref().map(|known| said(known, there(known)));
    let new = line.map(|line| read(line, known.as_ref(), unit)).transpose()?;
    let new = new.map(|(stock, count)| {
        let count = count.unwrap_or_else(|| known.as_ref().map_or(0, &there));
        (stock, count)
    });
    let name = new.as_ref().map(|(stock, _)| stock).or(known.as_ref());
    let what = name
        .map(|stock| format!("stock: {}", stock.name))
        .unwrap_or_default();
    let now = new.as_ref().map(|(stock, count)| said(stock, *count));
    let new = new.map(|(stock, count)| {
        let used = known.as_ref().map_or(0, |known| {
            let whole = shelf::whole(known).saturating_add(known.counted);
            whole.saturating_sub(there(known))
        });
        let counted = count.saturating_add(used).saturating_sub(shelf::whole(&stock));
        Stock { counted, ..stock }
    });
    app.store().try_change_setting(STOCK, |list: &mut Vec<Stock>| {
        let at = place(list)?.unwrap_or(list.len());
        // It takes the place of the one it was, or comes last.
        list.splice(at..at.saturating_add(1).min(list.len()), new);
        few(list.len(), "stock")
    })??;
    note(app, me, what, was.unwrap_or_default(), now.unwrap_or_default())
}

/// A typed line, and what lies there.
fn read(line: &TypedStock, known: Option<&Stock>, unit: Unit) -> Result<(Stock, Option<i64>), Refusal> {
    let filled = |text: &str, field: &str, what: &str| {
        let text = typed::text(text, field)?;
        if text.is_empty() {
            return Err(Refusal::at("stock_missing", field, format!("{what} is missing.")));
        }
        Ok(text)
    };
    let some = |text: &str, field: &str| match text.trim() {
        "" => Ok(None),
        text => positive(text, field, unit).map(Some),
    };
    let place = filled(&line.place, "place", "Its place on the shelf")?;
    let there = match line.there.trim() {
        "" => None,
        text if shelf::by_length(line.form) => Some(typed::length(text, unit, "there")?.nm().max(0)),
        text => {
            let pieces = text.parse::<i64>().ok().filter(|n| (0..=MOST_PIECES).contains(n));
            let pieces = pieces.ok_or_else(|| {
                Refusal::at(
                    "pieces_unread",
                    "there",
                    format!("A number of pieces from 0 to {MOST_PIECES}."),
                )
            })?;
            Some(pieces)
        }
    };
    let price = match line.price.trim() {
        "" => None,
        text => {
            let read = Decimal::from_str(text)
                .ok()
                .filter(|price| !price.is_sign_negative());
            let read =
                read.ok_or_else(|| Refusal::at("price_unread", "price", "A price as in 46.50, or nothing."))?;
            Some(read.to_string())
        }
    };
    let stock = Stock {
        // Its name and place may change from now on: what it is reserved by does not.
        id: known.map_or_else(|| Uuid::now_v7().to_string(), Stock::key),
        item: filled(&line.item, "item", "What it is cut for, as in roof sheet,")?.to_lowercase(),
        name: filled(&line.name, "name", "Its name")?,
        kind: line.form,
        length: positive(&line.length, "length", unit)?,
        width: some(&line.width, "width")?,
        thickness: some(&line.thickness, "thickness")?,
        place,
        count: known.map_or(0, |known| known.count),
        price,
        counted: 0,
    };
    Ok((stock, there))
}

fn positive(text: &str, field: &str, unit: Unit) -> Result<Length, Refusal> {
    let length = typed::length(text, unit, field)?;
    if length.is_sound() && length > Length::ZERO {
        return Ok(length);
    }
    Err(Refusal::at(
        "length_none",
        field,
        "A length above 0, up to 100 m.",
    ))
}
