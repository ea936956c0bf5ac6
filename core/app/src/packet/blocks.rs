//! What stands in a packet, block by block, in the order in which a customer reads it.

use super::{NOTE, Packet, drawing, money::figures, shown};
use crate::{
    answer::{ProofRow, StepView},
    now::Now,
    words,
};
use bowseam_figures::measure::Unit;
use bowseam_jobs::entry::{ArrivalField, ProofOk, Roll};
use bowseam_packet::{Block, Cell, Level, Paper, Photo as Shown, Size, Style, Table};
use chrono::{DateTime, Datelike, Timelike, Utc};

/// Blocks in the making.
pub struct Page(Vec<Block>);

impl Page {
    pub fn part(&mut self, text: &str) {
        self.0.push(Block::Heading(Level::Part, text.to_owned()));
    }

    pub fn thing(&mut self, text: &str) {
        self.0.push(Block::Heading(Level::Thing, text.to_owned()));
    }

    pub fn text(&mut self, style: Style, text: &str) {
        self.0.push(Block::Text(style, words::plain(text)));
    }

    pub fn line(&mut self, text: &str) {
        self.text(Style::Plain, text);
    }

    pub fn list(&mut self, items: &[String]) {
        let items = items.iter().map(|item| words::plain(item));
        self.0.push(Block::List(items.collect()));
    }

    pub fn table(&mut self, heads: &[&str], rows: Vec<Vec<Cell>>) {
        self.0.push(Block::Table(Table {
            name: String::new(),
            heads: heads.iter().map(|head| (*head).to_owned()).collect(),
            rows,
        }));
    }

    pub fn photos(&mut self, photos: Vec<Shown>) {
        if !photos.is_empty() {
            self.0.push(Block::Photos(photos));
        }
    }

    /// A table without the columns in which nothing stands.
    pub fn lean_table(&mut self, heads: &[&str], rows: Vec<Vec<Cell>>) {
        let (heads, rows) = full(heads, rows);
        self.0.push(Block::Table(Table {
            name: String::new(),
            heads,
            rows,
        }));
    }
}

/// Without the columns in which nothing stands.
fn full(heads: &[&str], rows: Vec<Vec<Cell>>) -> (Vec<String>, Vec<Vec<Cell>>) {
    let says = |column: usize| {
        let mut cells = rows.iter().filter_map(|row| row.get(column));
        cells.any(|cell| !cell.text().is_empty())
    };
    let kept: Vec<bool> = (0..heads.len()).map(says).collect();
    let heads = heads.iter().zip(&kept).filter(|(_, kept)| **kept);
    let heads = heads.map(|(head, _)| (*head).to_owned()).collect();
    let lean = |row: Vec<Cell>| {
        row.into_iter()
            .zip(&kept)
            .filter(|(_, kept)| **kept)
            .map(|(cell, _)| cell)
            .collect()
    };
    (heads, rows.into_iter().map(lean).collect())
}

/// The whole paper; `work_out`: also what takes a while, how photos lie over each other where that is not known yet.
pub fn paper(now: &Now, packet: &Packet, work_out: bool) -> Paper {
    let unit = format!("Unit {}", packet.unit);
    let mut page = Page(vec![Block::Title(unit.clone())]);
    page.line(NOTE);
    if let Some(not_seen) = &packet.inside_not_seen {
        page.text(Style::Banner, not_seen);
    }
    in_short(&mut page, packet);
    closing(&mut page, packet);
    arrival(&mut page, packet);
    marks(&mut page, now, packet);
    figures(&mut page, packet);
    roof_off(&mut page, packet);
    steps(&mut page, packet);
    proof(&mut page, packet);
    shown::photos(&mut page, now, packet, work_out);
    page.part("People");
    page.list(&packet.people);
    page.line(&packet.keep);
    Paper {
        title: format!("Packet of unit {}", packet.unit),
        unit: format!(
            "{unit} · packet{}",
            if packet.prices { "" } else { " without prices" }
        ),
        job: format!("job {}", packet.job),
        foot: "What was checked, against which rule, and who signed: never that a repair is safe.".to_owned(),
        size: match now.unit {
            Unit::In => Size::Letter,
            Unit::Mm => Size::A4,
        },
        date: date(now.job.last),
        blocks: page.0,
    }
}

/// A moment as the papers want it; a job without an entry has none, and bears the first day of the program's era.
pub fn date(last: Option<DateTime<Utc>>) -> [u16; 5] {
    let last = last.unwrap_or_default();
    let small = |n: u32| u16::try_from(n).unwrap_or_default();
    [
        u16::try_from(last.year()).unwrap_or(1970),
        small(last.month()),
        small(last.day()),
        small(last.hour()),
        small(last.minute()),
    ]
}

/// What a customer looks for first.
fn in_short(page: &mut Page, packet: &Packet) {
    let entered = |field: ArrivalField| {
        let found = packet.arrival.iter().find(|of| of.field == field);
        found.map(|of| of.value.clone()).unwrap_or_default()
    };
    let done = packet.steps.iter().filter(|step| step.done).count();
    let total = packet.figures.agreed_total.as_ref().filter(|_| packet.prices);
    let rows = [
        ("VIN", entered(ArrivalField::Vin)),
        (words::arrival(ArrivalField::Order), entered(ArrivalField::Order)),
        (words::arrival(ArrivalField::Payer), entered(ArrivalField::Payer)),
        (
            "damage marked",
            words::count(packet.marks.len(), "place", "places"),
        ),
        (
            "found more when it was open",
            match packet.found.len() {
                0 => String::new(),
                n => words::count(n, "place", "places"),
            },
        ),
        (
            "steps of the work done",
            match packet.steps.len() {
                0 => String::new(),
                all => format!("{done} of {all}"),
            },
        ),
        (
            "agreed, all together",
            total.map(|total| format!("{total} USD")).unwrap_or_default(),
        ),
        ("photos", packet.photos.len().to_string()),
    ];
    let said = rows.into_iter().filter(|(_, value)| !value.is_empty());
    page.table(
        &["in short", "value"],
        said.map(|(what, value)| vec![what.into(), value.into()])
            .collect(),
    );
}

fn closing(page: &mut Page, packet: &Packet) {
    page.part("Release");
    page.line(packet.released.as_deref().unwrap_or("not released"));
    if let Some(handed_over) = &packet.handed_over {
        page.line(handed_over);
    }
    if !packet.lacks.is_empty() {
        page.text(Style::Banner, "This job is not finished. What lacks:");
        page.list(&packet.lacks);
    }
    if !packet.left_open.is_empty() {
        page.line("Left open:");
        page.list(&packet.left_open);
    }
    page.list(&packet.clashes);
    if !packet.taken_back.is_empty() {
        page.line("Taken back:");
        page.list(&packet.taken_back);
    }
    page.part("May it roll?");
    match &packet.roll {
        None => page.line("not answered"),
        Some(roll) => {
            page.line(&say_roll(&roll.answer));
            page.line(&format!("{}, {}", roll.by, roll.at));
        }
    }
    if let Some(doubt) = &packet.roll_doubt {
        page.text(Style::Banner, &format!("{doubt}."));
    }
    for roll in &packet.rolls_before {
        page.line(&format!(
            "before: {}, {}, {}",
            say_roll(&roll.answer),
            roll.by,
            roll.at
        ));
    }
    page.line("49 CFR 396.7 and the person who releases the unit decide.");
}

fn say_roll(roll: &Roll) -> String {
    let mut said = words::roll(roll.answer).to_owned();
    let parts = [
        ("reason", &roll.reason),
        ("temporary fix", &roll.fix),
        ("speed", &roll.speed),
        ("distance", &roll.distance),
        ("weather", &roll.weather),
    ];
    for (name, value) in parts.iter().filter(|(_, value)| !value.is_empty()) {
        said.push_str(&format!("; {name}: {value}"));
    }
    said
}

fn arrival(page: &mut Page, packet: &Packet) {
    page.part("Arrival");
    let rows = packet
        .arrival
        .iter()
        .filter(|field| !field.value.is_empty())
        .map(|field| {
            let remark = field
                .remark
                .as_ref()
                .map(|remark| format!(" ({remark})"))
                .unwrap_or_default();
            vec![
                words::arrival(field.field).into(),
                format!("{}{remark}", field.value.replace('_', " ")).into(),
                field.by.clone().unwrap_or_default().into(),
            ]
        });
    page.table(&["what", "entered", "by"], rows.collect());
    if !packet.missing.is_empty() {
        page.line("Missing:");
        page.list(&packet.missing);
    }
}

fn marks(page: &mut Page, now: &Now, packet: &Packet) {
    page.part("Marks, to scale");
    page.line("The body unfolded, nose up: roof in the middle, roadside left, curbside right, each seen from outside.");
    page.0
        .push(Block::Drawing(drawing::sheet(now, &packet.marks, false)));
    if packet.marks.iter().any(|mark| mark.inside) {
        page.line("Inside:");
        page.0
            .push(Block::Drawing(drawing::sheet(now, &packet.marks, true)));
    }
    let rows = (1_usize..).zip(&packet.marks).map(|(number, mark)| {
        let found = if mark.found.is_some() { ", found more" } else { "" };
        vec![
            Cell::Text(number.to_string()),
            format!("{}, {}", mark.part.word(), mark.kind.word()).into(),
            mark.where_.clone().into(),
            mark.size.clone().into(),
            format!("{}{found}", words::age(mark.age)).into(),
            mark.hits_words.clone().into(),
            mark.note.clone().into(),
        ]
    });
    page.lean_table(
        &["no.", "mark", "where", "size", "age", "reaches", "note"],
        rows.collect(),
    );
    page.thing("Measures of the body");
    let rows = packet.measures.iter().map(|field| {
        let value = match field.value.is_empty() {
            true => field.remark.clone().unwrap_or_default(),
            false => field.value.clone(),
        };
        vec![words::plan(field.field).into(), value.into()]
    });
    page.table(&["measure", "value"], rows.collect());
}

fn roof_off(page: &mut Page, packet: &Packet) {
    let Some(check) = &packet.roof_off else { return };
    page.part("Roof-off check");
    page.line(if check.go {
        "The check says: go."
    } else {
        "The check says: no-go."
    });
    if let Some(overruled) = &check.overruled {
        page.line(overruled);
    }
    if let Some(opened) = check.opened {
        page.line(&format!("go to open the roof given {}", words::utc(opened)));
    }
    let rows = check.rows.iter().map(|row| {
        let said = if row.value.is_empty() {
            &row.place
        } else {
            &row.value
        };
        vec![
            row.title.clone().into(),
            row.wanted.clone().into(),
            said.clone().into(),
            if row.ok { "yes" } else { "no" }.into(),
            row.by.clone().unwrap_or_default().into(),
        ]
    });
    page.table(&["what", "wanted", "entered", "there", "by"], rows.collect());
}

fn steps(page: &mut Page, packet: &Packet) {
    page.part("Cautions of this work");
    for caution in &packet.cautions {
        page.text(Style::Caution, caution);
    }
    page.part("Steps");
    for (number, step) in (1_usize..).zip(&packet.steps) {
        one_step(page, number, step);
    }
}

fn one_step(page: &mut Page, number: usize, step: &StepView) {
    let stop = if step.stop_and_check {
        " (stop and check)"
    } else {
        ""
    };
    page.thing(&format!("{number}. {}{stop}", step.title));
    let done = match (&step.done_by, step.done_at) {
        (Some(by), Some(at)) => format!("done by {by}, {}", words::utc(at)),
        _ => "not done".to_owned(),
    };
    let minutes = usize::try_from(step.seconds.checked_div(60).unwrap_or_default()).unwrap_or_default();
    let on_it = match minutes {
        // Nobody started the clock: that is not the same as no time.
        0 if step.done && step.seconds == 0 => "; no time kept".to_owned(),
        0 => String::new(),
        n => format!("; {} on it", words::count(n, "minute", "minutes")),
    };
    page.line(&format!("{done}{on_it}"));
    let rows = step.values.iter().map(|value| {
        let reason = value.measured.as_ref().map(|measured| measured.reason.clone());
        vec![
            value.what.clone().into(),
            format!("{} {}", value.wanted, value.tolerance).into(),
            value
                .said
                .clone()
                .unwrap_or_else(|| "not entered".to_owned())
                .into(),
            value.how_far.clone().unwrap_or_default().into(),
            reason.unwrap_or_default().into(),
            value.by.clone().unwrap_or_default().into(),
        ]
    });
    page.lean_table(
        &["value", "wanted", "measured", "deviation", "reason", "by"],
        rows.collect(),
    );
}

fn proof(page: &mut Page, packet: &Packet) {
    page.part("Proof");
    page.line(&packet.rule_note);
    let rows = packet.proof.iter().map(|row| {
        let signed = match (&row.by, row.at) {
            (Some(by), Some(at)) => format!("{by}, {}", words::utc(at)),
            _ => String::new(),
        };
        let rule = joined(&[&row.rule, &row.rule_date]);
        vec![
            row.title.clone().into(),
            rule.into(),
            said(row).into(),
            signed.into(),
        ]
    });
    page.table(
        &["what", "rule, and date of its text", "answer", "signed"],
        rows.collect(),
    );
}

/// The answer of a row of Proof, in words.
pub fn said(row: &ProofRow) -> String {
    let Some(answer) = &row.answer else {
        return if row.ok { "there" } else { "not answered" }.to_owned();
    };
    let word = match answer.ok {
        ProofOk::Yes => "yes",
        ProofOk::No => "no",
        ProofOk::NotNeeded => "not part of this job",
    };
    joined(&[word, &answer.value, &answer.note])
}

fn joined(parts: &[&str]) -> String {
    let said: Vec<&str> = parts.iter().copied().filter(|part| !part.is_empty()).collect();
    said.join(", ")
}
