//! A job as it stands now, with everything that is figured from it: the body with its starting values, the
//! marks, the ways chosen, the figures and where they stand with the office. Every screen looks through this
//! one window, so that two screens never disagree.

use crate::{
    answer::{GoAhead, Refusal},
    app::{App, Asker},
    from_photo, words,
};
use bowseam_figures::{
    body::{BodyType, Plan},
    canonical,
    cut::Stock,
    estimate::{self, Estimate},
    mark::Mark,
    measure::Unit,
    shop::Book,
    steps::{Step, Wanted, Work},
    ways::{self, Choice},
    whole,
};
use bowseam_jobs::{
    entry::{ArrivalField, Decision, PhotoOf, PlanField, PlanValue},
    job::{Asked, Job, JobFound, JobMark, Kept},
    people::{Person, Role},
};
use rust_decimal::Decimal;
use serde::Serialize;
use std::{cell::OnceCell, str::FromStr};
use uuid::Uuid;

/// Setting of the store: the shop book, as its JSON.
pub const BOOK: &str = "shop_book";
/// Setting of the store: stock and drops.
pub const STOCK: &str = "stock";
/// Setting of the store: the shop's unit of length.
pub const UNIT: &str = "unit";

/// Figures with their hash and where they stand.
#[derive(Debug, Clone)]
pub struct Figured {
    /// Nothing until a way is chosen for at least one group.
    pub estimate: Option<Estimate>,
    /// SHA-256 of their canonical JSON.
    pub hash: Option<String>,
    /// Where they stand with the office.
    pub go_ahead: GoAhead,
    /// Groups without a way, in words.
    pub lacks: Vec<String>,
}

/// What is the same for all jobs of a shop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shop {
    // The book has some hundred values: boxed, so that it is not copied through every frame of an ask.
    book: Box<Book>,
    stock: Vec<Stock>,
    unit: Unit,
    people: Vec<Person>,
}

impl Shop {
    /// As the store has it now.
    ///
    /// # Errors
    /// The store cannot be read, or the book is one of a newer program.
    pub fn of(app: &App) -> Result<Self, Refusal> {
        Ok(Self {
            book: book(app)?,
            stock: stock(app)?,
            unit: unit(app)?,
            people: app.store().people()?,
        })
    }
}

/// The window on one job.
pub struct Now<'a> {
    /// The app.
    pub app: &'a App,
    /// Who looks, if someone is signed in.
    pub person: Option<Uuid>,
    /// The job.
    pub job: Job,
    /// The shop's values.
    pub book: Box<Book>,
    /// Stock and drops.
    pub stock: Vec<Stock>,
    /// The shop's unit of length.
    pub unit: Unit,
    /// The body: measured, or a starting value of its type.
    pub plan: Plan,
    /// Measures that are starting values, in words.
    pub not_measured: Vec<String>,
    /// The people of the shop.
    pub people: Vec<Person>,
    choices: OnceCell<Result<Vec<Choice>, Refusal>>,
    main: OnceCell<Result<Figured, Refusal>>,
    supplements: OnceCell<Result<Vec<Figured>, Refusal>>,
    work: OnceCell<Work>,
    steps: OnceCell<Vec<Step>>,
}

/// Whether a person may decide for the office.
pub fn is_supervisor(person: &Person) -> bool {
    person.roles.contains(&Role::Supervisor)
}

/// Puts a measure into a plan.
pub fn put_measure(plan: &mut Plan, field: PlanField, value: &PlanValue) {
    match (field, value) {
        (PlanField::Length, PlanValue::Length(l)) => plan.length = *l,
        (PlanField::Width, PlanValue::Length(l)) => plan.width = *l,
        (PlanField::SideHeight, PlanValue::Length(l)) => plan.side_height = *l,
        (PlanField::RailWidthOutside, PlanValue::Length(l)) => plan.rail_width_outside = *l,
        (PlanField::RailHolePitch, PlanValue::Length(l)) => plan.rail_hole_pitch = *l,
        (PlanField::RoofSheet, PlanValue::Length(l)) => plan.roof_sheet = *l,
        (PlanField::SideSheet, PlanValue::Length(l)) => plan.side_sheet = *l,
        (PlanField::Bows, PlanValue::Stations(s)) => plan.bows.clone_from(s),
        (PlanField::Posts, PlanValue::Stations(s)) => plan.posts.clone_from(s),
        (PlanField::SideJoints, PlanValue::Stations(s)) => plan.side_joints.clone_from(s),
        (PlanField::RoofSeams, PlanValue::Stations(s)) => plan.roof_seams.clone_from(s),
        (PlanField::EarlierPatches, PlanValue::Places(places)) => plan.earlier_patches.clone_from(places),
        (PlanField::CompositeSides, PlanValue::YesNo(yes)) => plan.composite_sides = *yes,
        // A value of the wrong form (from another program) is left out: the measure then counts as not taken.
        _ => {}
    }
}

/// All measures, in the order of the form.
pub const PLAN_FIELDS: [PlanField; 13] = [
    PlanField::Length,
    PlanField::Width,
    PlanField::SideHeight,
    PlanField::RailWidthOutside,
    PlanField::Bows,
    PlanField::RailHolePitch,
    PlanField::RoofSheet,
    PlanField::RoofSeams,
    PlanField::Posts,
    PlanField::SideJoints,
    PlanField::SideSheet,
    PlanField::CompositeSides,
    PlanField::EarlierPatches,
];

/// The shop's values: as the office keeps them, else as they were put on this phone, else starting values.
///
/// # Errors
/// The store cannot be read, or the book is one of a newer program.
pub fn book(app: &App) -> Result<Box<Book>, Refusal> {
    let store = app.store();
    let from_office = bowseam_send::Office::book(&store)?;
    if from_office.is_null() {
        return Ok(store.setting(BOOK)?.unwrap_or_default());
    }
    serde_json::from_value(from_office).map_err(|e| {
        Refusal::new("shop_book", format!("The shop book of the office cannot be read by this program ({e}). Bring the program up to date."))
    })
}

/// Stock and drops.
///
/// # Errors
/// The store cannot be read.
pub fn stock(app: &App) -> Result<Vec<Stock>, Refusal> {
    Ok(app.store().setting(STOCK)?.unwrap_or_default())
}

/// The shop's unit of length.
///
/// # Errors
/// The store cannot be read.
pub fn unit(app: &App) -> Result<Unit, Refusal> {
    Ok(app.store().setting(UNIT)?.unwrap_or_default())
}

/// The mark as the figures need it.
fn figures_mark(mark: &JobMark) -> Mark {
    Mark {
        id: mark.id.to_string(),
        place: mark.place,
        kind: mark.kind,
        part: mark.part,
        age: mark.age,
    }
}

impl<'a> Now<'a> {
    /// The job as it stands, for who asks.
    ///
    /// # Errors
    /// `no_job`, or the store cannot be read.
    pub fn of(app: &'a App, asker: &Asker, job: Uuid) -> Result<Self, Refusal> {
        Self::for_person(app, app.person(asker)?.as_ref(), job)
    }

    /// The same for a person who is known already.
    ///
    /// # Errors
    /// `no_job`, or the store cannot be read.
    pub fn for_person(app: &'a App, person: Option<&Person>, job: Uuid) -> Result<Self, Refusal> {
        Self::in_shop(app, person.map(|person| person.id), job, Shop::of(app)?)
    }

    /// The same with the shop's values read already: for many jobs in one answer.
    ///
    /// # Errors
    /// `no_job`, or the store cannot be read.
    pub fn in_shop(app: &'a App, person: Option<Uuid>, job: Uuid, shop: Shop) -> Result<Self, Refusal> {
        let store = app.store();
        let job = store
            .job(job)?
            .ok_or_else(|| Refusal::at("no_job", "job", "This job is not here. Choose one from Yard."))?;
        let (plan, not_measured) = plan_of(&job);
        Ok(Self {
            app,
            person,
            book: shop.book,
            stock: shop.stock,
            unit: shop.unit,
            people: shop.people,
            plan,
            not_measured,
            job,
            choices: OnceCell::new(),
            main: OnceCell::new(),
            supplements: OnceCell::new(),
            work: OnceCell::new(),
            steps: OnceCell::new(),
        })
    }

    /// Whether these are the shop's values that the job is figured with.
    pub fn is_of(&self, shop: &Shop) -> bool {
        (&self.book, &self.stock, self.unit, &self.people)
            == (&shop.book, &shop.stock, shop.unit, &shop.people)
    }

    /// A person's name, or that the person is not known on this phone.
    pub fn name(&self, person: Uuid) -> String {
        self.people
            .iter()
            .find(|p| p.id == person)
            .map_or_else(|| "someone not known here".to_owned(), |p| p.name.clone())
    }

    /// A field of Arrival as entered.
    pub fn arrival(&self, field: ArrivalField) -> Option<&str> {
        self.job.arrival.get(&field).map(|kept| kept.value.as_str())
    }

    /// Sealed: the inside is not seen. The seal's number, or that it lacks.
    pub fn sealed(&self) -> Option<String> {
        (self.arrival(ArrivalField::Load)? == "sealed").then(|| {
            self.arrival(ArrivalField::Seal)
                .unwrap_or("seal number not written down")
                .to_owned()
        })
    }

    /// A mark of the job.
    ///
    /// # Errors
    /// `no_mark`.
    pub fn job_mark(&self, id: Uuid) -> Result<&JobMark, Refusal> {
        let found = self.job.marks.iter().find(|mark| mark.id == id);
        found.ok_or_else(|| Refusal::at("no_mark", "mark", "This mark is not on the job any more."))
    }

    /// A *found more* of the job.
    ///
    /// # Errors
    /// `no_found`.
    pub fn job_found(&self, id: Uuid) -> Result<&JobFound, Refusal> {
        let found = self.job.found.iter().find(|found| found.id == id);
        found.ok_or_else(no_found)
    }

    /// What a photo shows, in words.
    pub fn shows(&self, of: &PhotoOf) -> String {
        match of {
            PhotoOf::Unit => format!("unit {}", self.job.unit),
            PhotoOf::Mark(id) => match self.job_mark(*id) {
                Ok(mark) => format!("{}, {}", mark.kind.word(), mark.place.surface.word()),
                Err(_) => "a mark that was taken off".to_owned(),
            },
            PhotoOf::Step(key) => match self.step(key) {
                Ok(step) => format!("step: {}", step.title),
                Err(_) => "a step that is not done any more".to_owned(),
            },
            PhotoOf::Found(id) => match self.job_found(*id) {
                Ok(found) => format!("found more: {}", found.line),
                Err(_) => "a found more that was taken away".to_owned(),
            },
        }
    }

    /// Marks of the main figures: those that a *found more* brought are figured by themselves.
    fn main_marks(&self) -> Vec<Mark> {
        self.job
            .marks
            .iter()
            .filter(|mark| mark.found.is_none())
            .map(figures_mark)
            .collect()
    }

    fn found_marks(&self, found: Uuid) -> Vec<Mark> {
        self.job
            .marks
            .iter()
            .filter(|mark| mark.found == Some(found))
            .map(figures_mark)
            .collect()
    }

    /// Marks that are worked on: those of the main figures and of each *found more* with its go-ahead.
    pub fn work_marks(&self) -> Vec<Mark> {
        let mut marks = self.main_marks();
        for found in self.job.found.iter().filter(|found| self.is_agreed_found(found)) {
            marks.extend(self.found_marks(found.id));
        }
        marks
    }

    /// The ways that fit, group by group, for all marks.
    ///
    /// # Errors
    /// The body's measures or the shop's prices cannot be worked with.
    pub fn choices(&self) -> Result<&[Choice], Refusal> {
        let choices = self.choices.get_or_init(|| {
            let marks: Vec<Mark> = self.job.marks.iter().map(figures_mark).collect();
            Ok(ways::ways(&self.plan, &marks, &self.book, self.unit)?)
        });
        choices.as_deref().map_err(Clone::clone)
    }

    /// Ways that would not fit at the far end of a size that came from a photo.
    ///
    /// # Errors
    /// As [`Self::choices`].
    pub fn ways_doubts(&self) -> Result<Vec<String>, Refusal> {
        let marks: Vec<Mark> = self.job.marks.iter().map(figures_mark).collect();
        let Some(far) = from_photo::at_far_end(&self.job.marks, &marks, self.unit) else {
            return Ok(Vec::new());
        };
        let far = ways::ways(&self.plan, &far, &self.book, self.unit)?;
        Ok(from_photo::ways_doubts(self.choices()?, &far))
    }

    /// The choice for the whole job, over the same marks.
    ///
    /// # Errors
    /// As [`Self::choices`].
    pub fn whole_job(&self) -> Result<whole::WholeJob, Refusal> {
        let marks: Vec<Mark> = self.job.marks.iter().map(figures_mark).collect();
        let chosen = self.chosen();
        Ok(whole::whole_job(
            &self.plan,
            &marks,
            self.choices()?,
            &chosen,
            &self.book,
            self.unit,
        )?)
    }

    fn chosen(&self) -> Vec<estimate::Chosen> {
        let chosen = |(group, kept): (&String, &Kept<bowseam_jobs::entry::ChosenWay>)| estimate::Chosen {
            group: group.clone(),
            way: kept.value.way.clone(),
            by_hand: kept.value.by_hand.as_ref().map(hand),
        };
        self.job.ways.iter().map(chosen).collect()
    }

    fn figure(&self, marks: &[Mark]) -> Result<Estimate, Refusal> {
        let mut figured = self.figure_as(marks)?;
        if let Some(far) = from_photo::at_far_end(&self.job.marks, marks, self.unit) {
            let doubts = from_photo::figures_doubts(&figured, self.figure_as(&far), self.unit);
            figured.warnings.extend(doubts);
        }
        Ok(figured)
    }

    fn figure_as(&self, marks: &[Mark]) -> Result<Estimate, Refusal> {
        Ok(estimate::estimate(
            &self.plan,
            marks,
            &self.chosen(),
            &self.book,
            &self.not_measured,
            self.unit,
        )?)
    }

    /// The main figures.
    ///
    /// # Errors
    /// The figures cannot be worked out; the sentence says why.
    pub fn main(&self) -> Result<&Figured, Refusal> {
        let main = self
            .main
            .get_or_init(|| self.figured(self.figure(&self.main_marks())?, None));
        main.as_ref().map_err(Clone::clone)
    }

    /// What each *found more* adds to what was agreed before it, in the job's order.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn supplements(&self) -> Result<&[Figured], Refusal> {
        let all = self.supplements.get_or_init(|| {
            self.job
                .found
                .iter()
                .map(|found| self.work_out_added(found))
                .collect()
        });
        all.as_deref().map_err(Clone::clone)
    }

    /// What one *found more* adds.
    ///
    /// # Errors
    /// `no_found`, or as [`Self::main`].
    pub fn supplement(&self, found: Uuid) -> Result<&Figured, Refusal> {
        let at = self.job.found.iter().position(|other| other.id == found);
        let figured = at.and_then(|at| self.supplements().map(|all| all.get(at)).transpose());
        figured.unwrap_or_else(|| Err(no_found()))
    }

    fn work_out_added(&self, found: &JobFound) -> Result<Figured, Refusal> {
        let own = self.found_marks(found.id);
        let mut marks = self.main_marks();
        for earlier in self.job.found.iter().take_while(|other| other.id != found.id) {
            if self.is_agreed_found(earlier) {
                marks.extend(self.found_marks(earlier.id));
            }
        }
        let base = self.figure(&marks)?;
        marks.extend(own.iter().cloned());
        let added = estimate::added(&base, &self.figure(&marks)?)?;
        let mut figured = self.figured(added, Some(found.id))?;
        if own.is_empty() {
            figured.estimate = None;
            figured.lacks.push("no mark shows where it was found".to_owned());
        }
        Ok(figured)
    }

    /// Figures without any group are none; what they lack is said all the same.
    fn figured(&self, estimate: Estimate, found: Option<Uuid>) -> Result<Figured, Refusal> {
        let lacks = estimate
            .lacks
            .iter()
            .map(|lack| lack.trim_end_matches('.').to_owned())
            .collect();
        let estimate = Some(estimate).filter(|estimate| !estimate.groups.is_empty());
        let hash = estimate.as_ref().map(canonical::sha256).transpose()?;
        let go_ahead = self.go_ahead(found, estimate.as_ref(), hash.as_deref());
        Ok(Figured {
            estimate,
            hash,
            go_ahead,
            lacks,
        })
    }

    /// The newest figures that were asked about: the whole job's, or those of a *found more*.
    pub fn newest_asked(&self, found: Option<Uuid>) -> Option<&Kept<Asked>> {
        self.job
            .asked
            .iter()
            .filter(|kept| kept.value.found == found)
            .max_by_key(|kept| kept.at)
    }

    /// Whether the newest figures of a *found more* have their go-ahead.
    fn is_agreed_found(&self, found: &JobFound) -> bool {
        self.newest_asked(Some(found.id))
            .is_some_and(|asked| self.is_agreed(&asked.value.hash))
    }

    fn is_agreed(&self, hash: &str) -> bool {
        self.job
            .decided
            .get(hash)
            .is_some_and(|kept| matches!(kept.value, Decision::GoAhead { .. }))
    }

    /// Where figures stand: an answer counts for the figures with its hash alone.
    fn go_ahead(&self, found: Option<Uuid>, estimate: Option<&Estimate>, hash: Option<&str>) -> GoAhead {
        let mut seen = GoAhead {
            state: "none".to_owned(),
            words: "Not asked yet.".to_owned(),
            by: None,
            at: None,
            amount: None,
            note: None,
            changed: Vec::new(),
        };
        let Some(newest) = self.newest_asked(found) else {
            return seen;
        };
        let asked_these = self
            .job
            .asked
            .iter()
            .any(|kept| kept.value.found == found && Some(kept.value.hash.as_str()) == hash);
        let answered = if asked_these {
            hash.unwrap_or_default()
        } else {
            newest.value.hash.as_str()
        };
        if !asked_these {
            let then: Option<Estimate> = serde_json::from_value(newest.value.figures.clone()).ok();
            if let (Some(then), Some(estimate)) = (then, estimate) {
                seen.changed = estimate::compare(&then, estimate);
            }
        }
        let decision = self.job.decided.get(answered);
        let (by, at) = decision.map_or((newest.by, newest.at), |kept| (kept.by, kept.at));
        seen.by = Some(self.name(by));
        seen.at = Some(at);
        let (state, said) = match (decision.map(|kept| &kept.value), asked_these) {
            (Some(Decision::GoAhead { amount, note }), true) => {
                seen.amount.clone_from(amount);
                seen.note = some_text(note);
                ("go_ahead", format!("{} gave the go-ahead.", self.name(by)))
            }
            (Some(Decision::SentBack { note }), _) => {
                seen.note = some_text(note);
                let since = if asked_these {
                    ""
                } else {
                    " The figures have changed since; ask again when they are right."
                };
                (
                    "sent_back",
                    format!("{} sent the figures back: {note}{since}", self.name(by)),
                )
            }
            (None, true) => (
                "asked",
                format!("{} asked the office; no answer yet.", self.name(by)),
            ),
            (Some(Decision::GoAhead { .. }), false) => (
                "stale",
                "The go-ahead was given for other figures than these. It does not count for them: ask again."
                    .to_owned(),
            ),
            (None, false) => (
                "stale",
                "The office was asked about other figures than these: ask again.".to_owned(),
            ),
        };
        seen.state = state.to_owned();
        seen.words = said;
        seen
    }

    /// What was agreed together: main figures and supplements, in money.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn agreed_total(&self) -> Result<Option<String>, Refusal> {
        let mut total = None;
        let figured = std::iter::once(self.main()?).chain(self.supplements()?);
        for part in figured.filter(|part| part.go_ahead.state == "go_ahead") {
            let figured = part.estimate.as_ref().map(|estimate| estimate.total.clone());
            let amount = part
                .go_ahead
                .amount
                .clone()
                .or(figured)
                .and_then(|text| Decimal::from_str(&text).ok());
            if let Some(amount) = amount {
                total = Some(total.unwrap_or(Decimal::ZERO).saturating_add(amount));
            }
        }
        Ok(total.map(|total| format!("{total:.2}")))
    }

    /// The work of the ways chosen.
    pub fn work(&self) -> &Work {
        self.work.get_or_init(|| crate::roof::all_work(self))
    }

    /// The work in order, for the ways chosen.
    pub fn steps(&self) -> &[Step] {
        self.steps
            .get_or_init(|| bowseam_figures::steps::steps(self.work()))
    }

    /// A step by its key.
    ///
    /// # Errors
    /// `no_step`.
    pub fn step(&self, key: &str) -> Result<&Step, Refusal> {
        let found = self.steps().iter().find(|step| step.key == key);
        found.ok_or_else(|| {
            Refusal::at(
                "no_step",
                "step",
                "This step is not part of the work of this job.",
            )
        })
    }

    /// A value that a step asks for.
    ///
    /// # Errors
    /// `no_step`, `no_value`.
    pub fn wanted(&self, step: &str, value: &str) -> Result<Wanted, Refusal> {
        let found = self
            .step(step)?
            .values
            .iter()
            .find(|wanted| wanted.key == value)
            .cloned();
        found.ok_or_else(|| Refusal::at("no_value", "value", "This step asks for no such value."))
    }
}

fn no_found() -> Refusal {
    Refusal::at("no_found", "found", "This found more is not on the job any more.")
}

fn some_text(text: &str) -> Option<String> {
    (!text.is_empty()).then(|| text.to_owned())
}

fn hand(by_hand: &bowseam_jobs::entry::ByHand) -> estimate::ByHand {
    let line = |line: &bowseam_jobs::entry::HandLine| estimate::HandLine {
        item: line.item.clone(),
        quantity: line.quantity.clone(),
        unit_price: line.unit_price.clone(),
    };
    estimate::ByHand {
        hours: by_hand.hours.clone(),
        people: by_hand.people,
        lines: by_hand.lines.iter().map(line).collect(),
        note: by_hand.note.clone(),
    }
}

/// The body: the type's starting values with the unit's own measures over them, and which are not its own.
fn plan_of(job: &Job) -> (Plan, Vec<String>) {
    let kind = job
        .arrival
        .get(&ArrivalField::BodyType)
        .and_then(|kept| BodyType::by_key(&kept.value));
    let kind = kind.unwrap_or(BodyType::DryVan53);
    let mut plan = kind.plan();
    let mut not_measured = Vec::new();
    for field in PLAN_FIELDS {
        match job.plan.get(&field) {
            Some(kept) => put_measure(&mut plan, field, &kept.value),
            None => not_measured.push(words::plan(field).to_owned()),
        }
    }
    (plan, not_measured)
}
