//! The packet as tables: lines for an invoice, hours, measured values, proof, people, photos with their hashes.

use super::{Packet, blocks};
use crate::words;
use bowseam_figures::estimate::Estimate;
use bowseam_jobs::entry::ArrivalField;
use bowseam_packet::{Cell, Table};

/// All of them; the first are the lines for an invoice. `sha256` is that of the packet as JSON.
pub fn tables(packet: &Packet, sha256: &str) -> Vec<Table> {
    vec![
        lines(packet),
        job(packet, sha256),
        hours(packet),
        marks(packet),
        measured(packet),
        proof(packet),
        table(
            "People",
            &["person"],
            packet.people.iter().map(|who| vec![who.clone().into()]),
        ),
        photos(packet),
    ]
}

fn table(name: &str, heads: &[&str], rows: impl Iterator<Item = Vec<Cell>>) -> Table {
    Table {
        name: name.to_owned(),
        heads: heads.iter().map(|head| (*head).to_owned()).collect(),
        rows: rows.collect(),
    }
}

fn number(text: &str) -> Cell {
    Cell::Number(text.to_owned())
}

/// Entered on Arrival.
fn arrival(packet: &Packet, field: ArrivalField) -> String {
    let found = packet.arrival.iter().find(|of| of.field == field);
    found.map(|of| of.value.clone()).unwrap_or_default()
}

/// Columns of the lines; the last four are prices.
const LINES: [&str; 13] = [
    "unit",
    "order",
    "payer",
    "for",
    "go-ahead",
    "work",
    "kind",
    "item",
    "quantity",
    "measure",
    "price of one",
    "amount",
    "taxed",
];
/// How many of them are not prices.
const WITHOUT_PRICES: usize = 10;

/// Material, labour, supplies and tax of the main figures and of each found more.
fn lines(packet: &Packet) -> Table {
    let mut rows = Vec::new();
    let figures = &packet.figures;
    if let Some(estimate) = &figures.estimate {
        estimate_lines(&mut rows, estimate, "job", &figures.go_ahead.state);
    }
    for found in &packet.found {
        if let Some(added) = &found.added {
            estimate_lines(&mut rows, added, &found.row.line, &found.row.go_ahead.state);
        }
    }
    let about = [
        packet.unit.clone(),
        arrival(packet, ArrivalField::Order),
        arrival(packet, ArrivalField::Payer),
    ];
    let columns = if packet.prices {
        LINES.len()
    } else {
        WITHOUT_PRICES
    };
    let whole = rows
        .into_iter()
        .filter(|row| packet.prices || !row.only_money)
        .map(|row| {
            let mut cells: Vec<Cell> = about.iter().cloned().map(Cell::Text).collect();
            cells.extend(row.cells);
            cells.truncate(columns);
            cells
        });
    table("Lines", LINES.get(..columns).unwrap_or_default(), whole)
}

/// One line: its cells after those of the job; supplies and tax are nothing but money.
struct Row {
    cells: Vec<Cell>,
    only_money: bool,
}

fn estimate_lines(rows: &mut Vec<Row>, estimate: &Estimate, of: &str, state: &str) {
    let mut put = |work: &str,
                   kind: &str,
                   item: &str,
                   [quantity, unit, price, amount]: [&str; 4],
                   taxed: Option<bool>| {
        let taxed = taxed.map_or("", |taxed| if taxed { "yes" } else { "no" });
        let cells = vec![
            of.into(),
            state.replace('_', " ").into(),
            work.into(),
            kind.into(),
            item.into(),
            number(quantity),
            unit.into(),
            number(price),
            number(amount),
            taxed.into(),
        ];
        let only_money = quantity.is_empty();
        rows.push(Row { cells, only_money });
    };
    for group in &estimate.groups {
        let work = format!("{}: {}", group.title, group.way_title);
        for line in &group.goods {
            let money = [line.quantity.as_str(), &line.unit, &line.unit_price, &line.amount];
            put(&work, "material", &line.item, money, Some(line.taxed));
        }
        for line in &group.hours {
            put(
                &work,
                "labour",
                &line.title,
                [&line.hours, "h", &line.rate, &line.amount],
                Some(line.taxed),
            );
        }
    }
    for line in &estimate.once {
        put(
            "once for the job",
            "labour",
            &line.title,
            [&line.hours, "h", &line.rate, &line.amount],
            Some(line.taxed),
        );
    }
    put(
        "",
        "supplies",
        "shop supplies",
        ["", "", "", &estimate.supplies],
        None,
    );
    put("", "tax", "tax", ["", "", "", &estimate.tax], None);
}

fn job(packet: &Packet, sha256: &str) -> Table {
    let mut rows: Vec<[String; 2]> = vec![
        ["unit".to_owned(), packet.unit.clone()],
        ["job".to_owned(), packet.job.to_string()],
        ["packet as JSON, SHA-256".to_owned(), sha256.to_owned()],
    ];
    let figures = &packet.figures;
    let mut put = |what: &str, value: Option<&String>| {
        rows.extend(value.map(|value| [what.to_owned(), value.clone()]));
    };
    put("figures, SHA-256", figures.hash.as_ref());
    put("figures", Some(&figures.go_ahead.words));
    if packet.prices {
        put(
            "total of the figures",
            figures.estimate.as_ref().map(|estimate| &estimate.total),
        );
        put("agreed, all together", figures.agreed_total.as_ref());
        put("ceiling of the go-ahead", figures.go_ahead.ceiling.as_ref());
    }
    put(
        "release",
        packet.released.as_ref().or(Some(&"not released".to_owned())),
    );
    put("handover", packet.handed_over.as_ref());
    for lack in &packet.lacks {
        put("lacks", Some(lack));
    }
    for field in packet.arrival.iter().filter(|field| !field.value.is_empty()) {
        put(words::arrival(field.field), Some(&field.value));
    }
    rows.push(["note".to_owned(), packet.note.to_owned()]);
    table(
        "Job",
        &["what", "value"],
        rows.into_iter().map(|row| row.map(Cell::Text).to_vec()),
    )
}

/// Hours used, step by step, beside the figured ones; empty where a step was done and nobody kept its time.
fn hours(packet: &Packet) -> Table {
    let rows = (1_usize..).zip(&packet.steps).map(|(n, step)| {
        // Hundredths of an hour, as exact as a person starts and stops a clock.
        let hundredths = step
            .seconds
            .saturating_mul(100)
            .saturating_add(1800)
            .checked_div(3600)
            .unwrap_or_default();
        let (whole, part) = (hundredths.checked_div(100), hundredths.checked_rem(100));
        vec![
            number(&n.to_string()),
            step.title.clone().into(),
            number(step.figured_hours.as_deref().unwrap_or_default()),
            match step.seconds {
                0 if step.done => number(""),
                _ => number(&format!(
                    "{}.{:02}",
                    whole.unwrap_or_default(),
                    part.unwrap_or_default()
                )),
            },
            step.done_by.clone().unwrap_or_default().into(),
            step.done_at.map(words::utc).unwrap_or_default().into(),
        ]
    });
    table(
        "Hours",
        &["no.", "step", "figured hours", "hours used", "done by", "done"],
        rows,
    )
}

fn marks(packet: &Packet) -> Table {
    let rows = (1_usize..).zip(&packet.marks).map(|(n, mark)| {
        vec![
            number(&n.to_string()),
            mark.part.word().into(),
            mark.kind.word().into(),
            mark.where_.clone().into(),
            mark.size.clone().into(),
            words::age(mark.age).into(),
            mark.hits_words.clone().into(),
            mark.note.clone().into(),
        ]
    });
    table(
        "Marks",
        &["no.", "part", "kind", "where", "size", "age", "reaches", "note"],
        rows,
    )
}

fn measured(packet: &Packet) -> Table {
    let of = |step: &crate::answer::StepView| {
        let title = step.title.clone();
        let row = move |value: &crate::answer::ValueView| -> Vec<Cell> {
            let reason = value.measured.as_ref().map(|measured| measured.reason.clone());
            let fits = value.fits.map_or("", |fits| if fits { "yes" } else { "no" });
            vec![
                title.clone().into(),
                value.what.clone().into(),
                value.wanted.clone().into(),
                value.tolerance.clone().into(),
                value.said.clone().unwrap_or_default().into(),
                value.how_far.clone().unwrap_or_default().into(),
                fits.into(),
                reason.unwrap_or_default().into(),
                value.by.clone().unwrap_or_default().into(),
            ]
        };
        step.values.iter().map(row).collect::<Vec<_>>()
    };
    let heads = [
        "step",
        "value",
        "wanted",
        "tolerance",
        "measured",
        "deviation",
        "within",
        "reason",
        "by",
    ];
    table("Measured", &heads, packet.steps.iter().flat_map(of))
}

fn proof(packet: &Packet) -> Table {
    let rows = packet.proof.iter().map(|row| {
        vec![
            row.title.clone().into(),
            row.rule.clone().into(),
            row.rule_date.clone().into(),
            blocks::said(row).into(),
            row.by.clone().unwrap_or_default().into(),
            row.at.map(words::utc).unwrap_or_default().into(),
        ]
    });
    table(
        "Proof",
        &["what", "rule", "date of its text", "answer", "by", "at"],
        rows,
    )
}

fn photos(packet: &Packet) -> Table {
    let rows = packet.photos.iter().map(|photo| {
        let taken = photo
            .taken
            .map(|taken| taken.format("%Y-%m-%d %H:%M").to_string());
        vec![
            photo.name.clone().into(),
            photo.shows.clone().into(),
            words::photo_when(photo.when).into(),
            taken.unwrap_or_default().into(),
            photo.by.clone().into(),
            number(&photo.bytes.to_string()),
            photo.sha256.clone().into(),
        ]
    });
    table(
        "Photos",
        &["photo", "shows", "when", "taken", "by", "bytes", "SHA-256"],
        rows,
    )
}
