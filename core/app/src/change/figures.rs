//! Changes around the figures: the way chosen, the go-ahead asked for, the office's answer.

use super::{Change, supervisor_only};
use crate::{
    answer::{Answer, Refusal},
    ask::WayOf,
    now::Now,
    typed,
    view::{figures::money as sum, found::found_more},
    words,
};
use bowseam_figures::ways::Choice;
use bowseam_jobs::{
    entry::{ByHand, ChosenWay, Decision, HandLine, What},
    job::Asked,
};
use rust_decimal::Decimal;
use uuid::Uuid;

/// Chooses a way for a group; nothing takes the choice away.
pub fn choose_way(
    change: &Change,
    group: String,
    way: Option<String>,
    by_hand: Option<ByHand>,
) -> Result<Answer, Refusal> {
    let choice = choice(change, &group)?;
    let Some(key) = way else {
        return change.one(What::Way { group, chosen: None });
    };
    fits(choice, &key)?;
    let by_hand = match by_hand {
        Some(given) if key == "by_hand" => Some(read_by_hand(given)?),
        Some(_) => {
            let sentence =
                "Hours and material by hand go with the way “by hand” alone; the others are figured.";
            return Err(Refusal::at("not_by_hand", "by_hand", sentence));
        }
        None if key == "by_hand" => return Err(by_hand_missing()),
        None => None,
    };
    change.one(What::Way {
        group,
        chosen: Some(ChosenWay { way: key, by_hand }),
    })
}

/// Takes several ways at once; what is entered by hand for a group stays.
pub fn choose_ways(change: &Change, ways: Vec<WayOf>) -> Result<Answer, Refusal> {
    let mut what = Vec::new();
    for WayOf { group, way } in ways {
        fits(choice(change, &group)?, &way)?;
        let now = change.now.job.ways.get(&group).map(|kept| &kept.value);
        if now.is_some_and(|now| now.way == way) {
            continue;
        }
        if way == "by_hand" {
            return Err(by_hand_missing());
        }
        let chosen = Some(ChosenWay { way, by_hand: None });
        what.push(What::Way { group, chosen });
    }
    if what.is_empty() {
        return Ok(super::nothing_made(None));
    }
    change.save(None, what)
}

fn choice<'c>(change: &'c Change, group: &str) -> Result<&'c Choice, Refusal> {
    let choices = change.now.choices()?;
    choices
        .iter()
        .find(|choice| choice.group == group)
        .ok_or_else(|| {
            Refusal::at(
                "no_group",
                "group",
                "These marks are not fixed together any more. Look at Ways to fix again.",
            )
        })
}

/// Refuses a way that is not there or does not fit.
fn fits(choice: &Choice, key: &str) -> Result<(), Refusal> {
    let way = choice
        .ways
        .iter()
        .find(|way| way.key.key() == key)
        .ok_or_else(|| {
            let keys: Vec<&str> = choice.ways.iter().map(|way| way.title.as_str()).collect();
            Refusal::at(
                "no_way",
                "way",
                format!("There is no such way here. There are: {}.", words::list(&keys)),
            )
        })?;
    if way.fits {
        return Ok(());
    }
    Err(Refusal::at(
        "does_not_fit",
        "way",
        format!("{} does not fit: {}", way.title, way.why.join(" ")),
    ))
}

fn by_hand_missing() -> Refusal {
    let sentence = "By hand needs its hours, people and material lines: nothing of them is figured.";
    Refusal::at("by_hand_missing", "by_hand", sentence)
}

fn read_by_hand(given: ByHand) -> Result<ByHand, Refusal> {
    let hours = typed::decimal(&given.hours, "hours", "hours")?;
    if hours.is_zero() && given.lines.is_empty() {
        let sentence =
            "Hours and material are both nothing. Enter hours (2.5), or at least one material line.";
        return Err(Refusal::at("by_hand_missing", "hours", sentence));
    }
    if !(1..=20).contains(&given.people) {
        return Err(Refusal::at("people", "people", "People are 1 to 20."));
    }
    let mut lines = Vec::new();
    for (number, line) in given
        .lines
        .iter()
        .enumerate()
        .map(|(i, line)| (i.saturating_add(1), line))
    {
        let item = typed::text(&line.item, "lines")?;
        if item.is_empty() {
            return Err(Refusal::at(
                "line_item",
                "lines",
                format!("Line {number} has no item. Any words are accepted."),
            ));
        }
        let quantity =
            typed::decimal(&line.quantity, &format!("the quantity of line {number}"), "lines")?.to_string();
        let unit_price =
            typed::decimal(&line.unit_price, &format!("the price of line {number}"), "lines")?.to_string();
        lines.push(HandLine {
            item,
            quantity,
            unit_price,
        });
    }
    Ok(ByHand {
        hours: hours.to_string(),
        people: given.people,
        lines,
        note: typed::text(&given.note, "note")?,
    })
}

/// Freezes figures and asks the office about them.
pub fn ask_go_ahead(change: &Change, found: Option<Uuid>, note: &str) -> Result<Answer, Refusal> {
    let mut figured = match found {
        None => change.now.main()?.clone(),
        Some(id) => change.now.supplement(id)?.clone(),
    };
    if let Some(id) = found {
        figured.lacks = found_more(&change.now, id)?.lacks;
    }
    if !figured.lacks.is_empty() {
        return Err(Refusal::new(
            "figures_lack",
            format!("Not ready to be asked: {}.", figured.lacks.join("; ")),
        ));
    }
    let (Some(estimate), Some(hash)) = (&figured.estimate, figured.hash) else {
        return Err(Refusal::new(
            "no_figures",
            "There is nothing to ask about yet: put marks on the Fold-out and choose a way for them.",
        ));
    };
    if matches!(figured.go_ahead.state.as_str(), "asked" | "go_ahead") {
        return Err(Refusal::new(
            "asked_already",
            format!(
                "These same figures were asked already. {}",
                figured.go_ahead.words
            ),
        ));
    }
    let figures = serde_json::to_value(estimate).map_err(|e| Refusal::new("figures", e.to_string()))?;
    change.one(What::Asked {
        hash,
        figures,
        found,
        note: typed::text(note, "note")?,
    })
}

/// The go-ahead for the figures with this hash: at an amount, for some groups alone, or up to a ceiling.
pub fn go_ahead(
    change: &Change,
    hash: String,
    (amount, groups, ceiling): (Option<String>, Vec<String>, Option<String>),
    note: &str,
) -> Result<Answer, Refusal> {
    supervisor_only(&change.person, "gives a go-ahead")?;
    let asked = newest_asked(&change.now, &hash)?;
    let money = |typed: Option<String>, what: &str, field: &str| {
        let typed = typed
            .map(|typed| typed.trim().to_owned())
            .filter(|typed| !typed.is_empty());
        let read = typed
            .map(|typed| typed::decimal(&typed, what, field))
            .transpose()?;
        Ok::<_, Refusal>(read)
    };
    let amount = money(amount, "an amount", "amount")?;
    let ceiling = money(ceiling, "a ceiling", "ceiling")?;
    let groups = part(&change.now, asked, groups)?;
    if (!groups.is_empty() || ceiling.is_some()) && asked.found.is_some() {
        let sentence = "What was found more gets its go-ahead as a whole: send it back with a note if not all of it is wanted.";
        return Err(Refusal::at("found_whole", "groups", sentence));
    }
    // What is given comes to; of a part it is kept, since the part is worked out anew by the book of each day.
    let part_sum = (!groups.is_empty())
        .then(|| change.now.part(&groups))
        .transpose()?
        .map(|part| sum(&part.total));
    if let Some(ceiling) = ceiling {
        let all = asked.figures.get("total").and_then(serde_json::Value::as_str);
        let least = part_sum.unwrap_or_else(|| all.map(sum).unwrap_or_default());
        if ceiling < least {
            let sentence = format!(
                "A ceiling is not below what it is for (${least:.2}). For less give the go-ahead for a part, or send the figures back."
            );
            return Err(Refusal::at("ceiling_low", "ceiling", sentence));
        }
    }
    // Up to a ceiling what is agreed is what is figured.
    let amount = amount.filter(|_| ceiling.is_none()).or(part_sum);
    let said = |money: Option<Decimal>| money.map(|money| format!("{money:.2}"));
    let decision = Decision::GoAhead {
        amount: said(amount),
        note: typed::text(note, "note")?,
        groups,
        ceiling: said(ceiling),
    };
    change.one(What::Decided { hash, decision })
}

/// The groups that have the go-ahead; none where all have it. A part is worked out anew, so it can only be one of the
/// figures as they are.
pub(crate) fn part(now: &Now, asked: &Asked, mut groups: Vec<String>) -> Result<Vec<String>, Refusal> {
    groups.sort();
    groups.dedup();
    if groups.is_empty() {
        return Ok(groups);
    }
    let main = now.main()?;
    if main.hash.as_ref() != Some(&asked.hash) {
        let sentence = "The figures changed since they were asked: a part of them can only be had once they are asked anew.";
        return Err(Refusal::at("part_stale", "groups", sentence));
    }
    let all: Vec<&str> = main
        .estimate
        .iter()
        .flat_map(|figured| &figured.groups)
        .map(|group| group.group.as_str())
        .collect();
    if groups.iter().any(|group| !all.contains(&group.as_str())) {
        return Err(Refusal::at(
            "no_group",
            "groups",
            "This part is not in the figures. Choose among those shown.",
        ));
    }
    if groups.len() == all.len() {
        groups.clear();
    }
    Ok(groups)
}

/// Sends the figures with this hash back; the note says why.
pub fn send_back(change: &Change, hash: String, note: &str) -> Result<Answer, Refusal> {
    supervisor_only(&change.person, "sends figures back")?;
    newest_asked(&change.now, &hash)?;
    let note = typed::text(note, "note")?;
    if note.is_empty() {
        return Err(Refusal::at(
            "note_missing",
            "note",
            "Say why they go back, so that they can be put right. Any words are accepted.",
        ));
    }
    change.one(What::Decided {
        hash,
        decision: Decision::SentBack { note },
    })
}

/// An answer is only for figures that were asked, and not for old ones when newer were asked since.
pub(crate) fn newest_asked<'n>(now: &'n Now, hash: &str) -> Result<&'n Asked, Refusal> {
    let asked = &now.job.asked;
    let this = asked
        .iter()
        .filter(|kept| kept.value.hash == hash)
        .max_by_key(|kept| kept.at)
        .ok_or_else(|| {
            Refusal::at(
                "not_asked",
                "hash",
                "Figures with this hash were not asked about. Open the job again and answer the ones shown.",
            )
        })?;
    let newer = asked
        .iter()
        .any(|kept| kept.value.found == this.value.found && kept.at > this.at);
    if newer {
        let sentence = "Other figures were asked since these. Open the job again and answer the newer ones.";
        return Err(Refusal::at("stale", "hash", sentence));
    }
    Ok(&this.value)
}
