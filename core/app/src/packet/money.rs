//! Figures in the packet: takeoff with its working, material and hours, sums; with or without prices.

use super::{Found, Packet, blocks::Page};
use crate::{answer::GoAhead, words};
use bowseam_figures::{
    basis::{Basis, Line, Standing},
    bill::{MoneyLine, TaskHours},
    estimate::Estimate,
};
use bowseam_packet::{Cell, Style};

/// The part of the paper.
pub fn figures(page: &mut Page, packet: &Packet) {
    page.part("Figures");
    go_ahead(page, &packet.figures.go_ahead, packet.prices);
    if let Some(hash) = &packet.figures.hash {
        page.text(Style::Hash, &format!("figures, SHA-256 {hash}"));
    }
    if let Some(estimate) = &packet.figures.estimate {
        self::estimate(page, estimate, &packet.figures.go_ahead.groups, packet.prices);
    }
    for found in &packet.found {
        self::found(page, found, packet.prices);
    }
    if let (Some(total), true) = (&packet.figures.agreed_total, packet.prices) {
        page.text(Style::Banner, &format!("Agreed, all together: {total} USD"));
    }
}

fn go_ahead(page: &mut Page, seen: &GoAhead, prices: bool) {
    let sum = |what: &str, of: &Option<String>| {
        of.as_ref()
            .filter(|_| prices)
            .map(|sum| format!(" {what}: {sum} USD."))
    };
    let amount = sum("Amount", &seen.amount);
    let ceiling = sum("Ceiling", &seen.ceiling);
    let over = sum("Above it", &seen.over);
    let note = seen.note.as_ref().map(|note| format!(" Note: {note}"));
    let at = seen.at.map(|at| format!(" ({})", words::utc(at)));
    let [at, amount, ceiling, over, note] = [at, amount, ceiling, over, note].map(Option::unwrap_or_default);
    page.line(&format!("{}{at}{amount}{ceiling}{over}{note}", seen.words));
}

/// The figures; `given` are the groups that have the go-ahead, where a part of them has it.
fn estimate(page: &mut Page, estimate: &Estimate, given: &[String], prices: bool) {
    for group in &estimate.groups {
        page.thing(&format!("{}: {}", group.title, group.way_title));
        if !given.is_empty() && !given.contains(&group.group) {
            page.line("No go-ahead for this: it was not done.");
        }
        if !group.note.is_empty() {
            page.line(&group.note);
        }
        takeoff(page, &group.lines);
        let rows = group.goods.iter().map(goods).chain(group.hours.iter().map(hours));
        priced(page, "material and hours", rows.collect(), prices);
    }
    let once = estimate.once.iter().map(hours);
    priced(page, "hours that the job has once", once.collect(), prices);
    if prices {
        let sums = [
            ("material", &estimate.material),
            ("labour", &estimate.labour),
            ("supplies", &estimate.supplies),
            ("tax", &estimate.tax),
            (
                if given.is_empty() {
                    "total"
                } else {
                    "total, with what was not given"
                },
                &estimate.total,
            ),
            (
                "allowance for hidden damage, not in the total",
                &estimate.allowance.amount,
            ),
        ];
        let old = estimate.old_damage.iter().flat_map(|old| {
            let sums = [
                ("of the total, without the old damage", &old.without),
                ("of the total, added by old damage", &old.adds),
            ];
            sums.into_iter()
                .filter_map(|(what, sum)| Some((what, sum.as_ref()?)))
        });
        let rows = sums.into_iter().chain(old);
        let rows = rows.map(|(what, sum)| vec![what.into(), Cell::Number(sum.clone())]);
        page.table(&["sum", "amount, USD"], rows.collect());
    }
    page.list(&estimate.lacks);
    page.list(&warnings(estimate));
}

/// What to look at before trusting the figures; measures that were not taken stand in one line.
fn warnings(estimate: &Estimate) -> Vec<String> {
    let alone = |warning: &&String| !warning.starts_with("Not measured on this unit:");
    let mut said: Vec<String> = estimate.warnings.iter().filter(alone).cloned().collect();
    if !estimate.not_measured.is_empty() {
        let measures = words::list(&estimate.not_measured);
        said.push(format!(
            "Not measured on this unit, taken from its body type: {measures}."
        ));
    }
    said
}

fn goods(line: &MoneyLine) -> Vec<Cell> {
    let by_hand = if line.by_hand { " (entered by hand)" } else { "" };
    vec![
        format!("{}{by_hand}", line.item).into(),
        Cell::Number(format!("{} {}", line.quantity, line.unit)),
        Cell::Number(line.unit_price.clone()),
        Cell::Number(line.amount.clone()),
    ]
}

fn hours(line: &TaskHours) -> Vec<Cell> {
    vec![
        line.title.clone().into(),
        Cell::Number(format!("{} h", line.hours)),
        Cell::Number(line.rate.clone()),
        Cell::Number(line.amount.clone()),
    ]
}

/// A table whose last two columns are prices.
fn priced(page: &mut Page, what: &str, mut rows: Vec<Vec<Cell>>, prices: bool) {
    let heads = [what, "how much", "price of one, USD", "amount, USD"];
    if prices {
        page.table(&heads, rows);
        return;
    }
    for row in &mut rows {
        row.truncate(2);
    }
    page.table(heads.get(..2).unwrap_or_default(), rows);
}

/// Takeoff lines, each with its working and where its values come from.
fn takeoff(page: &mut Page, lines: &[Line]) {
    let rows = lines.iter().filter(|line| !line.is_nothing()).map(|line| {
        let more = line
            .more
            .as_ref()
            .map(|more| format!(" {more}"))
            .unwrap_or_default();
        vec![
            line.item.clone().into(),
            Cell::Number(line.amount()),
            Cell::Small(format!("{}{more}", working(&line.basis))),
        ]
    });
    page.table(&["takeoff", "quantity", "working"], rows.collect());
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

fn found(page: &mut Page, found: &Found, prices: bool) {
    page.thing(&format!("Found more: {}", found.row.line));
    page.line(&format!("{}, {}", found.row.by, words::utc(found.row.at)));
    go_ahead(page, &found.row.go_ahead, prices);
    if let Some(added) = &found.added {
        if prices {
            page.line(&format!("Added to what was agreed: {} USD", added.total));
        }
        estimate(page, added, &[], prices);
    }
}
