//! Steps: the work in order, each with its cautions before everything else, its values and photos, and what
//! keeps it shut.

use crate::{
    answer::{NoteRow, Refusal, StepView, Steps, ValueView},
    now::Now,
    roof, typed,
    view::{
        found,
        handover::Lack,
        head,
        looked_at::{self, Form},
        photos, proof, roof_off,
    },
    words,
};
use bowseam_figures::{
    basis::Basis,
    growth::{Growth, at_stretching},
    measure::{Length, Unit},
    rail_rivets::{Carrier, Fitting, RailRivet},
    steps::{BEHIND, CURE_STARTED, Fits, Step, Target, Wanted, check_value, opened},
};
use bowseam_jobs::{
    entry::{Measured, PhotoOf, PhotoWhen},
    job::{Kept, StepState},
};
use chrono::{Local, Utc};
use rust_decimal::Decimal;
use uuid::Uuid;

/// The step after which the roof must have been opened by the Roof-off check.
const LAST_BEFORE_OPENING: &str = "strip_out";

/// The step that the before photos of the job count for.
pub const BEFORE_PHOTOS: &str = "before_photos";
/// The step that the after photos of the job count for.
const AFTER_PHOTOS: &str = "after_photos";
/// The step that runs while it cures.
const LIGHTS: &str = "lights";
/// The step that opens the roof.
const OLD_SHEET: &str = "old_sheet";
/// The wait for the cure.
const CURE: &str = "cure";
/// The step that waits for the cure, as its row of Proof does.
const LEAK_TEST: &str = "leak_test";

/// A step with why it cannot be worked on now.
pub struct Seen {
    /// As it is shown.
    pub view: StepView,
    /// Why it is shut, in words.
    pub shut: Option<String>,
}

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn steps(now: &Now) -> Result<Steps, Refusal> {
    let (shut, opener) = match no_go_ahead(now)? {
        Some(why) => (Some(why), "figures"),
        None => (
            current(now).and_then(|step| roof_shut(now, &step.key)),
            "roof_off",
        ),
    };
    Ok(Steps {
        head: head::head(now)?,
        steps: now.steps().iter().map(|step| view(now, step)).collect(),
        current: current(now).map(|step| step.key.clone()),
        shut_where: shut.as_ref().map(|_| opener.to_owned()),
        shut,
        notes: notes(now),
        found: found::rows(now)?,
    })
}

/// Notes of one shift for the next, the newest first.
pub fn notes(now: &Now) -> Vec<NoteRow> {
    let row = |(id, kept): &(Uuid, Kept<String>)| NoteRow {
        id: *id,
        text: kept.value.clone(),
        by: now.name(kept.by),
        at: kept.at,
        own: Some(kept.by) == now.person,
    };
    now.job.notes.iter().rev().map(row).collect()
}

/// The first step that is not done.
pub fn current<'n>(now: &'n Now) -> Option<&'n Step> {
    now.steps().iter().find(|step| !is_done(now, &step.key))
}

/// The step at which the time of who is on this one goes on once it is done: the next one, where somebody works on it
/// and it is open.
pub fn goes_on_at(now: &Now, key: &str) -> Option<String> {
    let next = now
        .steps()
        .iter()
        .find(|step| step.key != key && !is_done(now, &step.key))?;
    let mine = now
        .person
        .is_some_and(|me| state(now, &next.key).is_some_and(|state| state.people_on.contains_key(&me)));
    // Nobody works while it cures.
    (next.key != CURE && !mine && roof_shut(now, &next.key).is_none()).then(|| next.key.clone())
}

/// One step by its key, with why it is shut.
///
/// # Errors
/// `no_step`, or the figures cannot be worked out.
pub fn step(now: &Now, key: &str) -> Result<Seen, Refusal> {
    let step = now.step(key)?;
    let shut = match no_go_ahead(now)? {
        Some(why) => Some(why),
        None => roof_shut(now, key).or_else(|| earlier_stop(now, key).map(stop_first)),
    };
    Ok(Seen {
        view: view(now, step),
        shut,
    })
}

/// Why nothing is worked on yet: no go-ahead for the figures as they are now.
///
/// # Errors
/// The figures cannot be worked out.
pub fn no_go_ahead(now: &Now) -> Result<Option<String>, Refusal> {
    let main = now.main()?;
    Ok(match main.go_ahead.state.as_str() {
        "go_ahead" => None,
        "none" => Some("No go-ahead yet: ask for it on Figures.".to_owned()),
        _ => Some(format!("No go-ahead for these figures. {}", main.go_ahead.words)),
    })
}

/// Steps after the strip-out wait until the roof was opened with a go of the Roof-off check.
fn roof_shut(now: &Now, key: &str) -> Option<String> {
    if !roof_off::is_needed(now) || now.job.roof_opened.as_ref().is_some_and(|kept| kept.value) {
        return None;
    }
    let place = |key: &str| now.steps().iter().position(|step| step.key == key);
    (place(key)? > place(LAST_BEFORE_OPENING)?)
        .then(|| "The Roof-off check comes first: nothing is opened before it says go.".to_owned())
}

/// A stop-and-check point ahead of this step that is not done.
fn earlier_stop<'n>(now: &'n Now, key: &str) -> Option<&'n Step> {
    let ahead = now.steps().iter().take_while(|step| step.key != key);
    // Lamps are looked at while it cures.
    let waits = |step: &&Step| !(step.key == CURE && key == LIGHTS);
    ahead
        .filter(|step| step.stop_and_check)
        .filter(waits)
        .find(|step| !is_done(now, &step.key))
}

fn stop_first(step: &Step) -> String {
    format!("Stop and check first: {}.", step.title)
}

fn state<'n>(now: &'n Now, key: &str) -> Option<&'n StepState> {
    now.job.steps.get(key)
}

/// Whether a step is done.
pub fn is_done(now: &Now, key: &str) -> bool {
    state(now, key)
        .and_then(|state| state.done.as_ref())
        .is_some_and(|kept| kept.value)
}

fn view(now: &Now, step: &Step) -> StepView {
    let record = state(now, &step.key);
    let done = record
        .and_then(|state| state.done.as_ref())
        .filter(|kept| kept.value);
    let mine = now.person.and_then(|me| record?.people_on.get(&me).copied());
    let of = PhotoOf::Step(step.key.clone());
    let mut photos = photos::of(now, &of);
    match step.key.as_str() {
        BEFORE_PHOTOS => photos.extend(photos::of_unit(now, PhotoWhen::Before)),
        AFTER_PHOTOS => photos.extend(photos::of_unit(now, PhotoWhen::After)),
        _ => {}
    }
    let values: Vec<ValueView> = step
        .values
        .iter()
        .map(|wanted| value(now, step, wanted))
        .collect();
    let mut said = remark(now, step);
    said.0 = match (said.0, from_stock(now, step).filter(|_| done.is_none())) {
        (Some(one), Some(more)) => Some(format!("{one} {more}")),
        (one, more) => one.or(more),
    };
    let lacks = lacks(now, step, &values, photos.len()).into_iter();
    let (lacks, lacks_where) = lacks.map(|lack| (lack.words, lack.screen)).unzip();
    let photos_wanted = match step.key.as_str() {
        BEFORE_PHOTOS => photos::unit_wanted(now),
        _ => step.photos_wanted,
    };
    StepView {
        key: step.key.clone(),
        title: step.title.clone(),
        text: step.text.clone(),
        cautions: step.cautions.clone(),
        cautions_read: cautions_read(now, step),
        stop_and_check: step.stop_and_check,
        done: done.is_some(),
        done_by: done.map(|kept| now.name(kept.by)),
        done_at: done.map(|kept| kept.at),
        seconds: record.map_or(0, |state| state.seconds),
        on_since: mine,
        figured_hours: figured_hours(now, step),
        lacks,
        lacks_where,
        values,
        photos_wanted,
        photos,
        basis: step.basis.iter().cloned().chain(said.1).collect(),
        remark: said.0,
    }
}

/// The cautions of a step that the signed-in person had before: at another step that this person did today, by the clock
/// on which it is read. Who did not do one has all of them in full.
fn cautions_read(now: &Now, step: &Step) -> Vec<String> {
    let today = Local::now().date_naive();
    let mine = |other: &&Step| {
        let done = state(now, &other.key).and_then(|state| state.done.as_ref());
        done.is_some_and(|kept| {
            let day = kept.at.with_timezone(&Local).date_naive();
            kept.value && Some(kept.by) == now.person && day == today
        })
    };
    let others = now.steps().iter().filter(|other| other.key != step.key);
    let had: Vec<&String> = others.filter(mine).flat_map(|other| &other.cautions).collect();
    step.cautions
        .iter()
        .filter(|caution| had.contains(caution))
        .cloned()
        .collect()
}

/// What is said to a step from the figures and from its own values: the sheet's weight where it goes up, growth
/// where it is stretched, the end of the cure where it is waited for.
fn remark(now: &Now, step: &Step) -> (Option<String>, Vec<Basis>) {
    if step.key == CURE {
        return (proof::cure_words(now), Vec::new());
    }
    if step.key.starts_with("side_rivet:") {
        return side_rivets(now);
    }
    let Some(roof) = &now.work().roof else {
        return (None, Vec::new());
    };
    let (key, behind) = match step.key.strip_suffix(BEHIND) {
        Some(key) => (key, true),
        None => (step.key.as_str(), false),
    };
    let roof = match &roof.behind {
        Some(second) if behind => second,
        _ => roof,
    };
    match key {
        OLD_SHEET => (open_words(now), Vec::new()),
        "sheet_on" => (sheet_weight(now, behind), Vec::new()),
        "rail_rivets" => rail_rivets(now),
        "bows" | "front_bow" => bow_rivets(now),
        "stretch" => match growth(now, step, opened(roof)) {
            Some(growth) => (Some(growth.words), growth.basis),
            None => (None, Vec::new()),
        },
        _ => (None, Vec::new()),
    }
}

/// What leaves stock when the step is done.
fn from_stock(now: &Now, step: &Step) -> Option<String> {
    let own = now.pieces().iter().filter(|piece| piece.step == step.key);
    let mut items: Vec<&str> = own
        .map(|piece| piece.need.item.as_str())
        .filter(|item| {
            // Not the shelf itself: all jobs' takings would be read at each look.
            let listed = now.stock.iter().any(|stock| stock.item == *item);
            listed || now.job.reserved.values().any(|kept| kept.value.item == *item)
        })
        .collect();
    items.dedup();
    let items = words::list(&items);
    (!items.is_empty()).then(|| {
        format!(
            "Done takes it out of stock: {items}. What is reserved for it goes first, then what nobody reserved."
        )
    })
}

/// For how long the roof is open from this step on.
fn open_words(now: &Now) -> Option<String> {
    let open = roof::open_words(now)?;
    Some(format!(
        "From here to the rolled edge the roof is open for {open}: covered at every stop."
    ))
}

/// A solid rivet of the work through these sheets into what carries them.
pub fn rivet(now: &Now, diameter: Length, sheets: &[Length], into: Carrier) -> RailRivet {
    RailRivet::of(&now.plan, &now.book, diameter, sheets, (into, 1), now.unit)
}

/// The length of the rivets along the rails, where two sheets lap on them, and into the rear header.
fn rail_rivets(now: &Now) -> (Option<String>, Vec<Basis>) {
    let (sheet, diameter) = (now.plan.roof_sheet, now.book.roof.rivet_diameter.value);
    let one = rivet(now, diameter, &[sheet], Carrier::Rail);
    let two = rivet(now, diameter, &[sheet, sheet], Carrier::Rail);
    let header = rivet(now, diameter, &[sheet], Carrier::Header);
    let [said, lap, header] = [&one, &two, &header].map(|rivet| rivet.said(now.unit));
    (
        Some(format!(
            "Rivets into the rails {said}; where two sheets lap on them {lap}; into the rear header {header}."
        )),
        one.basis,
    )
}

/// The length of the rivets of a bow's ends.
fn bow_rivets(now: &Now) -> (Option<String>, Vec<Basis>) {
    let mut rivets = Fitting::BowEnd.rivets(&now.plan, &now.book, now.unit);
    let Some(rivet) = rivets.next() else {
        return (None, Vec::new());
    };
    let said = rivet.said(now.unit);
    (Some(format!("Rivets of the bow ends {said}.")), rivet.basis)
}

/// The length of the rivets of a side sheet on what carries it.
fn side_rivets(now: &Now) -> (Option<String>, Vec<Basis>) {
    let (sheet, diameter) = (now.plan.side_sheet, now.book.side.diameter.value);
    let [post, rail] = [Carrier::Post, Carrier::Rail].map(|into| rivet(now, diameter, &[sheet], into));
    let said = format!(
        "Rivets into the posts {}; into the rails {}.",
        post.said(now.unit),
        rail.said(now.unit)
    );
    (Some(said), [post.basis, rail.basis].concat())
}

fn sheet_weight(now: &Now, behind: bool) -> Option<String> {
    let estimate = now.main().ok()?.estimate.as_ref()?;
    let mut roofs = estimate.groups.iter().flat_map(|group| group.roofs());
    let roof = roofs.nth(behind.into())?;
    Some(format!(
        "The sheet weighs {} lb by its size and thickness. A long thin sheet is judged by size, wind and height, not by weight.",
        roof.weight_rough_lb
    ))
}

fn growth(now: &Now, step: &Step, length: Length) -> Option<Growth> {
    let values = &state(now, &step.key)?.values;
    let degrees = |key: &str| {
        let mut values = values
            .iter()
            .filter(|(known, _)| known.strip_suffix(BEHIND).unwrap_or(known) == key);
        typed::fahrenheit(&values.next()?.1.value.text, "value").ok()
    };
    Some(at_stretching(
        length,
        degrees("sheet_temperature")?,
        degrees("rail_temperature")?,
        now.unit,
    ))
}

/// The hours that the figures hold for the step's task; shown at its first step, since a task may have several.
fn figured_hours(now: &Now, step: &Step) -> Option<String> {
    let task = step.task.as_ref()?;
    let first = now
        .steps()
        .iter()
        .find(|other| other.task.as_ref() == Some(task))?;
    if first.key != step.key {
        return None;
    }
    let estimate = now.agreed().ok()??;
    // Hours by hand are those of one mark's group; every other task has one name in the whole job.
    let (task, mark) = task
        .split_once(':')
        .map_or((task.as_str(), None), |(task, mark)| (task, Some(mark)));
    let groups = estimate
        .groups
        .iter()
        .filter(|group| mark.is_none_or(|id| group.marks.iter().any(|mark| mark.id == id)));
    let mut hours = Decimal::ZERO;
    for line in groups
        .flat_map(|group| &group.hours)
        .chain(&estimate.once)
        .filter(|line| line.task == task)
    {
        hours = hours.saturating_add(line.hours.parse().unwrap_or_default());
    }
    (!hours.is_zero()).then(|| hours.normalize().to_string())
}

/// What lacks before a step can be done, in words, each with the screen that mends it where that is another one.
fn lacks(now: &Now, step: &Step, values: &[ValueView], photos: usize) -> Vec<Lack> {
    let here = |words: String| Lack::new(words, "");
    let mut lacks = Vec::new();
    for value in values {
        // Written down when it starts; the wait is done when it is over, or with its reason.
        if value.key == CURE_STARTED && value.fits == Some(false) {
            let waits = proof::not_cured(now, Utc::now()).unwrap_or_default();
            let reason = value
                .measured
                .as_ref()
                .is_some_and(|kept| !kept.reason.is_empty());
            lacks.extend((!reason).then(|| {
                here(format!(
                    "{waits}. Wait for it, or say the reason beside “{}” and go on with what needs no cure: the leak test waits all the same",
                    value.what
                ))
            }));
            continue;
        }
        let said = value
            .measured
            .as_ref()
            .zip(step.values.iter().find(|wanted| wanted.key == value.key));
        if let Some(lack) = said.and_then(|(measured, wanted)| looked_at::lacks(wanted, measured)) {
            lacks.push(here(lack));
            continue;
        }
        match (&value.measured, value.fits) {
            (None, _) => lacks.push(here(format!("{} is not entered", value.what))),
            (Some(measured), Some(false)) if measured.reason.is_empty() && value.form == "length" => {
                lacks.push(here(format!(
                    "{} is out of tolerance without a reason",
                    value.what
                )));
            }
            _ => {}
        }
    }
    let wanted = usize::try_from(step.photos_wanted).unwrap_or(usize::MAX);
    if step.key == BEFORE_PHOTOS {
        lacks.extend(photos::wanted_where(now));
    } else if let Some(more) = wanted.checked_sub(photos).filter(|more| *more > 0) {
        lacks.push(here(format!("{} more", words::count(more, "photo", "photos"))));
    }
    if step.key == LEAK_TEST {
        lacks.extend(proof::not_cured(now, Utc::now()).map(here));
    }
    // Leads there: a find that was answered since may have brought it.
    lacks.extend(
        earlier_stop(now, &step.key)
            .map(|stop| Lack::new(stop_first(stop), format!("steps?step={}", stop.key))),
    );
    lacks
}

/// The length recorded under a key at any step.
fn recorded(now: &Now, key: &str) -> Option<Length> {
    now.job
        .steps
        .values()
        .find_map(|state| state.values.get(key)?.value.length)
}

/// Whether the value is a length.
pub fn is_length(wanted: &Wanted) -> bool {
    Form::of(wanted) == Form::Length
}

/// How far a measured value is out of tolerance, in words; nothing where it fits or is only recorded.
pub fn out_of_tolerance(now: &Now, wanted: &Wanted, measured: &Measured) -> Option<String> {
    match check_value(wanted, measured.length?, |key| recorded(now, key)) {
        Fits::No { off, beyond } => Some(say_off(off, beyond, now.unit)),
        Fits::Yes { .. } | Fits::Recorded | Fits::EarlierMissing => None,
    }
}

fn say_off(off: Length, beyond: Length, unit: Unit) -> String {
    let side = if off < Length::ZERO {
        "too short"
    } else {
        "too long"
    };
    format!(
        "{} {side}, {} outside the tolerance",
        off.apart(Length::ZERO).say(unit),
        beyond.say(unit)
    )
}

fn value(now: &Now, step: &Step, wanted: &Wanted) -> ValueView {
    let (unit, form) = (now.unit, Form::of(wanted));
    let kept = state(now, &step.key).and_then(|state| state.values.get(&wanted.key));
    let measured = kept.map(|kept| kept.value.clone());
    let mut fits = measured.as_ref().and_then(|measured| fit(now, wanted, measured));
    let cures = (wanted.key == CURE_STARTED && measured.is_some() && !is_done(now, &step.key))
        .then(|| proof::cures_for(now, Utc::now()))
        .flatten();
    if cures.is_some() {
        fits = Some(false);
    }
    ValueView {
        key: wanted.key.clone(),
        what: wanted.what.clone(),
        wanted: said_wanted(now, wanted),
        tolerance: tolerance(now, wanted),
        standing: wanted.standing.clone(),
        said: measured
            .as_ref()
            .map(|m| m.length.map_or_else(|| m.text.clone(), |length| length.say(unit))),
        how_far: measured
            .as_ref()
            .and_then(|measured| out_of_tolerance(now, wanted, measured))
            .or(cures.map(|hours| {
                format!("the cure is not over for {hours} h yet; done before that it needs its reason")
            })),
        fits,
        measured,
        by: kept.map(|kept| now.name(kept.by)),
        form: form.word().to_owned(),
        otherwise: matches!(form, Form::Choice(_))
            .then(|| looked_at::otherwise(&said_wanted(now, wanted)).to_owned()),
        words_wanted: form == Form::Choice(true),
    }
}

/// What a value should be, in words.
fn said_wanted(now: &Now, wanted: &Wanted) -> String {
    match &wanted.wanted {
        Target::Length(length) => length.say(now.unit),
        Target::SameAs(key) => match recorded(now, key) {
            Some(length) => format!("{}, as measured before", length.say(now.unit)),
            None => "as measured before".to_owned(),
        },
        Target::Recorded => "recorded".to_owned(),
        Target::Words(said) | Target::Written(said) => said.clone(),
    }
}

fn tolerance(now: &Now, wanted: &Wanted) -> String {
    let room = wanted.tolerance.map(|room| format!("± {}", room.say(now.unit)));
    room.unwrap_or_default()
}

/// What is accepted for a value without a reason, in words.
pub fn accepted(now: &Now, wanted: &Wanted) -> String {
    format!("{} {}", said_wanted(now, wanted), tolerance(now, wanted))
        .trim_end()
        .to_owned()
}

/// Whether a value fits; nothing where it is only recorded.
pub fn fit(now: &Now, wanted: &Wanted, measured: &Measured) -> Option<bool> {
    if let Some(so) = looked_at::fits(wanted, measured) {
        return Some(so);
    }
    match check_value(wanted, measured.length?, |key| recorded(now, key)) {
        Fits::Yes { .. } => Some(true),
        Fits::No { .. } => Some(false),
        Fits::Recorded | Fits::EarlierMissing => None,
    }
}
