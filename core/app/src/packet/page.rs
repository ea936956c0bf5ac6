//! The packet as one page to print: no script, no address outside itself, photos as small copies inside it.

use super::{Found, NOTE, Packet, drawing, over};
use crate::{
    answer::{GoAhead, Photo, StepView},
    now::Now,
    words,
};
use base64::{Engine, engine::general_purpose::STANDARD};
use bowseam_figures::{
    basis::{Basis, Line, Standing},
    estimate::Estimate,
};
use bowseam_jobs::entry::{ProofOk, Roll};
use std::fmt::Write;

const STYLE: &str = include_str!("style.css");

/// A page in the making. What comes from people is escaped on its way in.
struct Page(String);

impl Page {
    fn raw(&mut self, markup: &str) {
        self.0.push_str(markup);
    }

    fn text(&mut self, tag: &str, class: &str, text: &str) {
        let class = if class.is_empty() {
            String::new()
        } else {
            format!(" class=\"{class}\"")
        };
        // Writing into a String cannot fail.
        let _ = write!(self.0, "<{tag}{class}>{}</{tag}>", escape(text));
    }

    fn heading(&mut self, text: &str) {
        self.text("h2", "", text);
    }

    fn line(&mut self, text: &str) {
        self.text("p", "", text);
    }

    fn list(&mut self, items: &[String]) {
        self.raw("<ul>");
        for item in items {
            self.text("li", "", item);
        }
        self.raw("</ul>");
    }

    fn table(&mut self, heads: &[&str], rows: &[Vec<String>]) {
        self.raw("<table><thead><tr>");
        for head in heads {
            self.text("th", "", head);
        }
        self.raw("</tr></thead><tbody>");
        for row in rows {
            self.raw("<tr>");
            for cell in row {
                self.text("td", "", cell);
            }
            self.raw("</tr>");
        }
        self.raw("</tbody></table>");
    }
}

/// Text as it stands in HTML.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

/// The whole page.
pub fn page(now: &Now, packet: &Packet) -> String {
    let mut page = Page(String::new());
    page.raw("<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>");
    page.raw(&escape(&format!("Packet of unit {}", packet.unit)));
    page.raw(&format!(
        "</title><style>{STYLE}</style></head><body><main class=\"packet\">"
    ));
    page.text("h1", "", &format!("Unit {}", packet.unit));
    page.line(NOTE);
    if let Some(not_seen) = &packet.inside_not_seen {
        page.text("p", "banner", not_seen);
    }
    closing(&mut page, packet);
    arrival(&mut page, packet);
    marks(&mut page, now, packet);
    figures(&mut page, packet);
    roof_off(&mut page, packet);
    steps(&mut page, packet);
    proof(&mut page, packet);
    photos(&mut page, now, packet);
    page.heading("People");
    page.list(&packet.people);
    page.line(&packet.keep);
    page.text("p", "hash", &format!("job {}", packet.job));
    page.raw("</main></body></html>");
    page.0
}

fn closing(page: &mut Page, packet: &Packet) {
    page.heading("Release");
    page.line(packet.released.as_deref().unwrap_or("not released"));
    if let Some(handed_over) = &packet.handed_over {
        page.line(handed_over);
    }
    if !packet.lacks.is_empty() {
        page.line("What lacks:");
        page.list(&packet.lacks);
    }
    page.list(&packet.clashes);
    page.heading("May it roll?");
    match &packet.roll {
        None => page.line("not answered"),
        Some(roll) => {
            page.line(&say_roll(&roll.answer));
            page.line(&format!("{}, {}", roll.by, roll.at));
        }
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
    page.heading("Arrival");
    let rows: Vec<Vec<String>> = packet
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
                words::arrival(field.field).to_owned(),
                format!("{}{remark}", field.value.replace('_', " ")),
                field.by.clone().unwrap_or_default(),
            ]
        })
        .collect();
    page.table(&["what", "entered", "by"], &rows);
    if !packet.missing.is_empty() {
        page.line("Missing:");
        page.list(&packet.missing);
    }
}

fn marks(page: &mut Page, now: &Now, packet: &Packet) {
    page.heading("Marks, to scale");
    page.line("The body unfolded, nose up: roof in the middle, roadside left, curbside right, each seen from outside.");
    page.raw(&drawing::sheet(now, &packet.marks, false));
    if packet.marks.iter().any(|mark| mark.inside) {
        page.line("Inside:");
        page.raw(&drawing::sheet(now, &packet.marks, true));
    }
    let rows: Vec<Vec<String>> = packet
        .marks
        .iter()
        .enumerate()
        .map(|(number, mark)| {
            let found = if mark.found.is_some() { ", found more" } else { "" };
            vec![
                number.saturating_add(1).to_string(),
                format!("{}, {}", mark.part.word(), mark.kind.word()),
                mark.where_.clone(),
                mark.size.clone(),
                format!("{}{found}", words::age(mark.age)),
                mark.hits_words.clone(),
                mark.note.clone(),
            ]
        })
        .collect();
    page.table(&["no.", "mark", "where", "size", "age", "reaches", "note"], &rows);
    let measures: Vec<String> = packet
        .measures
        .iter()
        .map(|field| {
            let value = if field.value.is_empty() {
                field.remark.clone().unwrap_or_default()
            } else {
                field.value.clone()
            };
            format!("{}: {value}", words::plan(field.field))
        })
        .collect();
    page.text("h3", "", "Measures of the body");
    page.list(&measures);
}

fn figures(page: &mut Page, packet: &Packet) {
    page.heading("Figures");
    go_ahead(page, &packet.figures.go_ahead);
    if let Some(hash) = &packet.figures.hash {
        page.text("p", "hash", &format!("figures, SHA-256 {hash}"));
    }
    if let Some(estimate) = &packet.figures.estimate {
        self::estimate(page, estimate);
    }
    for found in &packet.found {
        self::found(page, found);
    }
    if let Some(total) = &packet.figures.agreed_total {
        page.text("p", "banner", &format!("Agreed, all together: {total}"));
    }
}

fn go_ahead(page: &mut Page, seen: &GoAhead) {
    let amount = seen
        .amount
        .as_ref()
        .map(|amount| format!(" Amount: {amount}."))
        .unwrap_or_default();
    let note = seen
        .note
        .as_ref()
        .map(|note| format!(" Note: {note}"))
        .unwrap_or_default();
    let at = seen
        .at
        .map(|at| format!(" ({})", words::time(at)))
        .unwrap_or_default();
    page.line(&format!("{}{at}{amount}{note}", seen.words));
}

fn estimate(page: &mut Page, estimate: &Estimate) {
    for group in &estimate.groups {
        page.text("h3", "", &format!("{}: {}", group.title, group.way_title));
        if !group.note.is_empty() {
            page.line(&group.note);
        }
        takeoff(page, &group.lines);
        let goods = group.goods.iter().map(|line| {
            let by_hand = if line.by_hand { " (entered by hand)" } else { "" };
            vec![
                format!("{}{by_hand}", line.item),
                format!("{} {}", line.quantity, line.unit),
                line.unit_price.clone(),
                line.amount.clone(),
            ]
        });
        let hours = group.hours.iter().map(|line| {
            vec![
                line.title.clone(),
                format!("{} h", line.hours),
                line.rate.clone(),
                line.amount.clone(),
            ]
        });
        let rows: Vec<Vec<String>> = goods.chain(hours).collect();
        page.table(
            &["material and hours", "how much", "price of one", "amount"],
            &rows,
        );
    }
    let once: Vec<Vec<String>> = estimate
        .once
        .iter()
        .map(|line| {
            vec![
                line.title.clone(),
                format!("{} h", line.hours),
                line.rate.clone(),
                line.amount.clone(),
            ]
        })
        .collect();
    if !once.is_empty() {
        page.table(
            &[
                "hours that the job has once",
                "how much",
                "price of one",
                "amount",
            ],
            &once,
        );
    }
    let sums = [
        ("material", &estimate.material),
        ("labour", &estimate.labour),
        ("supplies", &estimate.supplies),
        ("tax", &estimate.tax),
        ("total", &estimate.total),
        (
            "allowance for hidden damage, not in the total",
            &estimate.allowance.amount,
        ),
    ];
    let rows: Vec<Vec<String>> = sums
        .iter()
        .map(|(what, sum)| vec![(*what).to_owned(), (*sum).clone()])
        .collect();
    page.table(&["sum", "amount"], &rows);
    page.list(&estimate.lacks);
    page.list(&estimate.warnings);
}

/// Takeoff lines, each with its working and where its values come from.
fn takeoff(page: &mut Page, lines: &[Line]) {
    if lines.is_empty() {
        return;
    }
    page.raw("<table><thead><tr><th>takeoff</th><th>quantity</th><th>working</th></tr></thead><tbody>");
    for line in lines.iter().filter(|line| !line.is_nothing()) {
        page.raw("<tr>");
        page.text("td", "", &line.item);
        page.text("td", "number", &line.amount());
        let more = line
            .more
            .as_ref()
            .map(|more| format!(" {more}"))
            .unwrap_or_default();
        page.text("td", "working", &format!("{}{more}", working(&line.basis)));
        page.raw("</tr>");
    }
    page.raw("</tbody></table>");
}

fn working(basis: &[Basis]) -> String {
    let step = |basis: &Basis| format!("{} {} [{}]", basis.value, basis.what, from(&basis.standing));
    basis.iter().map(step).collect::<Vec<_>>().join("; ")
}

fn from(standing: &Standing) -> String {
    match standing {
        Standing::Published(source) => source.clone(),
        Standing::CommonPractice => "common practice".to_owned(),
        Standing::Memory => "from memory, to be confirmed".to_owned(),
        Standing::Shop => "shop".to_owned(),
        Standing::Unit => "this unit".to_owned(),
        Standing::Worked => "worked out".to_owned(),
    }
}

fn found(page: &mut Page, found: &Found) {
    page.text("h3", "", &format!("Found more: {}", found.row.line));
    page.line(&format!("{}, {}", found.row.by, words::time(found.row.at)));
    go_ahead(page, &found.row.go_ahead);
    if let Some(added) = &found.added {
        page.line(&format!("Added to what was agreed: {}", added.total));
        estimate(page, added);
    }
}

fn roof_off(page: &mut Page, packet: &Packet) {
    let Some(check) = &packet.roof_off else { return };
    page.heading("Roof-off check");
    page.line(if check.go { "go" } else { "no-go" });
    if let Some(overruled) = &check.overruled {
        page.line(overruled);
    }
    if let Some(opened) = check.opened {
        page.line(&format!("go to open the roof given {}", words::time(opened)));
    }
    let rows: Vec<Vec<String>> = check
        .rows
        .iter()
        .map(|row| {
            let said = if row.value.is_empty() {
                row.place.clone()
            } else {
                row.value.clone()
            };
            vec![
                row.title.clone(),
                row.wanted.clone(),
                said,
                if row.ok { "yes" } else { "no" }.to_owned(),
                row.by.clone().unwrap_or_default(),
            ]
        })
        .collect();
    page.table(&["what", "wanted", "entered", "there", "by"], &rows);
}

fn steps(page: &mut Page, packet: &Packet) {
    page.heading("Cautions of this work");
    for caution in &packet.cautions {
        page.text("p", "caution", caution);
    }
    page.heading("Steps");
    for (number, step) in packet.steps.iter().enumerate() {
        one_step(page, number.saturating_add(1), step);
    }
}

fn one_step(page: &mut Page, number: usize, step: &StepView) {
    let stop = if step.stop_and_check {
        " (stop and check)"
    } else {
        ""
    };
    page.text("h3", "", &format!("{number}. {}{stop}", step.title));
    let done = match (&step.done_by, step.done_at) {
        (Some(by), Some(at)) => format!("done by {by}, {}", words::time(at)),
        _ => "not done".to_owned(),
    };
    let minutes = step.seconds.checked_div(60).unwrap_or_default();
    page.line(&format!(
        "{done}; {} on it",
        words::count(usize::try_from(minutes).unwrap_or_default(), "minute", "minutes")
    ));
    let rows: Vec<Vec<String>> = step
        .values
        .iter()
        .map(|value| {
            let reason = value
                .measured
                .as_ref()
                .map(|measured| measured.reason.clone())
                .unwrap_or_default();
            vec![
                value.what.clone(),
                format!("{} {}", value.wanted, value.tolerance),
                value.said.clone().unwrap_or_else(|| "not entered".to_owned()),
                value.how_far.clone().unwrap_or_default(),
                reason,
                value.by.clone().unwrap_or_default(),
            ]
        })
        .collect();
    if !rows.is_empty() {
        page.table(
            &["value", "wanted", "measured", "deviation", "reason", "by"],
            &rows,
        );
    }
}

fn proof(page: &mut Page, packet: &Packet) {
    page.heading("Proof");
    page.line(&packet.rule_note);
    let rows: Vec<Vec<String>> = packet
        .proof
        .iter()
        .map(|row| {
            let said = match &row.answer {
                None => if row.ok { "there" } else { "not answered" }.to_owned(),
                Some(answer) => {
                    let word = match answer.ok {
                        ProofOk::Yes => "yes",
                        ProofOk::No => "no",
                        ProofOk::NotNeeded => "not part of this job",
                    };
                    [word, &answer.value, &answer.note]
                        .into_iter()
                        .filter(|part| !part.is_empty())
                        .collect::<Vec<_>>()
                        .join(", ")
                }
            };
            let rule = [row.rule.as_str(), row.rule_date.as_str()]
                .into_iter()
                .filter(|part| !part.is_empty())
                .collect::<Vec<_>>();
            let signed = match (&row.by, row.at) {
                (Some(by), Some(at)) => format!("{by}, {}", words::time(at)),
                _ => String::new(),
            };
            vec![row.title.clone(), rule.join(", "), said, signed]
        })
        .collect();
    page.table(&["what", "rule, and date of its text", "answer", "signed"], &rows);
}

fn photos(page: &mut Page, now: &Now, packet: &Packet) {
    page.heading("Before and after");
    for pair in packet
        .pairs
        .iter()
        .filter(|pair| !pair.before.is_empty() || !pair.after.is_empty())
    {
        page.text("h3", "", &pair.words);
        page.raw("<div class=\"pair\">");
        for (word, photo) in pair
            .before
            .iter()
            .map(|p| ("before", p))
            .chain(pair.after.iter().map(|p| ("after", p)))
        {
            self::photo(page, now, word, photo);
        }
        page.raw("</div>");
    }
    page.heading("All photos, with the SHA-256 of the original");
    page.raw("<table><tbody>");
    for photo in &packet.photos {
        page.raw("<tr>");
        page.text("td", "", &photo.name);
        page.text("td", "", &photo.shows);
        page.text("td", "hash", &photo.sha256);
        page.raw("</tr>");
    }
    page.raw("</tbody></table>");
    if !packet.photos_changed.is_empty() {
        page.line("Not as they came:");
        page.list(&packet.photos_changed);
    }
}

/// A small copy inside the page; its name where it cannot be shown.
fn photo(page: &mut Page, now: &Now, word: &str, photo: &Photo) {
    page.raw("<figure>");
    let small = now
        .app
        .photos()
        .small(&photo.sha256)
        .ok()
        .and_then(|path| std::fs::read(path).ok());
    match small {
        Some(bytes) => {
            let said = escape(&format!("{word}: {}", photo.shows));
            page.raw(&format!(
                "<div class=\"drawn\"><img alt=\"{said}\" src=\"data:image/jpeg;base64,{}\">{}</div>",
                STANDARD.encode(bytes),
                over::drawing(photo).unwrap_or_default()
            ));
        }
        None => page.line("This photo cannot be shown here; its original is kept."),
    }
    let taken = photo
        .taken
        .map(|taken| format!(", taken {}", taken.format("%Y-%m-%d %H:%M")))
        .unwrap_or_default();
    page.text("figcaption", "", &format!("{word}{taken}, {}", photo.by));
    if !photo.measured.is_empty() {
        page.line(&format!(
            "measured in it: {} (95 of 100 times within)",
            words::list(&photo.measured)
        ));
    }
    page.text("p", "hash", &photo.sha256);
    page.raw("</figure>");
}

#[cfg(test)]
mod tests {
    #[test]
    fn what_people_typed_cannot_become_markup() {
        let typed = "<img src=x onerror=\"a('b')\"> & more";
        assert_eq!(
            super::escape(typed),
            "&lt;img src=x onerror=&quot;a(&#39;b&#39;)&quot;&gt; &amp; more"
        );
    }
}
