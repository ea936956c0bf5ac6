//! A job as it stands now, with everything that is figured from it: the body with its starting values, the
//! marks, the ways chosen, the figures and where they stand with the office. Every screen looks through this
//! one window, so that two screens never disagree.

use crate::{
    answer::{Promise, Refusal},
    app::{App, Asker},
    roof::{Piece, Roof},
    shelf::Shelf,
    view::{cut_list, promise},
    words,
};
use bowseam_figures::{
    body::{BodyType, Plan},
    crew_plan::InBay,
    cut::Stock,
    cut_plan::CutList,
    mark::Mark,
    measure::Unit,
    shop::Book,
    steps::{Step, Wanted, Work},
};
use bowseam_jobs::{
    entry::{ArrivalField, PhotoOf, PlanField, PlanValue},
    job::{Job, JobFound, JobMark, JobPhoto},
    people::{Person, Role},
};
use serde::Serialize;
use std::{cell::OnceCell, sync::Arc};
use uuid::Uuid;

mod agreed;
mod figured;
mod kept;
pub use figured::Figured;
pub(crate) use kept::LastLooked;
use kept::Worked;

/// Setting of the store: the shop book, as its JSON.
pub const BOOK: &str = "shop_book";
/// Setting of the store: stock and drops.
pub const STOCK: &str = "stock";
/// Setting of the store: the shop's unit of length.
pub const UNIT: &str = "unit";

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
        let (mut book, stock) = (book(app)?, stock(app)?);
        book.take_rolls(&stock);
        Ok(Self {
            book,
            stock,
            unit: unit(app)?,
            people: app.store().people()?,
        })
    }

    /// The shop book.
    pub fn book(&self) -> &Book {
        &self.book
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
    worked: Arc<Worked>,
    shelf: OnceCell<Result<Shelf, Refusal>>,
    cut_list: OnceCell<Result<Option<CutList>, Refusal>>,
    in_bay: OnceCell<Result<Option<InBay>, Refusal>>,
    promise: OnceCell<Result<Promise, Refusal>>,
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
        (PlanField::RailFlange, PlanValue::Length(l)) => plan.rail_flange = Some(*l),
        (PlanField::PostFlange, PlanValue::Length(l)) => plan.post_flange = Some(*l),
        (PlanField::HeaderFlange, PlanValue::Length(l)) => plan.header_flange = Some(*l),
        (PlanField::BowEnd, PlanValue::Length(l)) => plan.bow_end = Some(*l),
        (PlanField::CornerCap, PlanValue::Length(l)) => plan.corner_cap = Some(*l),
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
pub const PLAN_FIELDS: [PlanField; 18] = [
    PlanField::Length,
    PlanField::Width,
    PlanField::SideHeight,
    PlanField::RailWidthOutside,
    PlanField::Bows,
    PlanField::RailHolePitch,
    PlanField::RailFlange,
    PlanField::PostFlange,
    PlanField::HeaderFlange,
    PlanField::BowEnd,
    PlanField::CornerCap,
    PlanField::RoofSheet,
    PlanField::RoofSeams,
    PlanField::Posts,
    PlanField::SideJoints,
    PlanField::SideSheet,
    PlanField::CompositeSides,
    PlanField::EarlierPatches,
];

/// Whether a body of this plan has the measure: sides of composite plate have no posts.
pub fn applies(plan: &Plan, field: PlanField) -> bool {
    !(plan.composite_sides && matches!(field, PlanField::Posts | PlanField::PostFlange))
}

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
pub(crate) fn figures_mark(mark: &JobMark) -> Mark {
    Mark {
        id: mark.id.to_string(),
        place: mark.place,
        kind: mark.kind,
        part: mark.part,
        age: mark.age,
        depth: mark.depth,
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
        let (job, shop) = (app.store().job(job)?.ok_or_else(no_job)?, Shop::of(app)?);
        let worked = app.last_looked().of(&job, &shop);
        Ok(Self::over(app, person.map(|person| person.id), job, shop, worked))
    }

    /// The same with the shop's values read already: for many jobs in one answer, which are not kept.
    ///
    /// # Errors
    /// `no_job`, or the store cannot be read.
    pub fn in_shop(app: &'a App, person: Option<Uuid>, job: Uuid, shop: Shop) -> Result<Self, Refusal> {
        let job = app.store().job(job)?.ok_or_else(no_job)?;
        Ok(Self::over(app, person, job, shop, Arc::default()))
    }

    fn over(app: &'a App, person: Option<Uuid>, job: Job, shop: Shop, worked: Arc<Worked>) -> Self {
        let (plan, not_measured) = plan_of(&job);
        Self {
            app,
            person,
            book: shop.book,
            stock: shop.stock,
            unit: shop.unit,
            people: shop.people,
            plan,
            not_measured,
            job,
            worked,
            shelf: OnceCell::new(),
            cut_list: OnceCell::new(),
            in_bay: OnceCell::new(),
            promise: OnceCell::new(),
        }
    }

    /// The shop's values, as they were read for this look.
    pub fn shop(&self) -> Shop {
        Shop {
            book: self.book.clone(),
            stock: self.stock.clone(),
            unit: self.unit,
            people: self.people.clone(),
        }
    }

    /// The day that the unit is promised for: asked by each part of an answer, worked out once.
    ///
    /// # Errors
    /// The figures cannot be worked out, or the store cannot be read.
    pub fn promise(&self) -> Result<&Promise, Refusal> {
        let promise = self.promise.get_or_init(|| promise::promise(self));
        promise.as_ref().map_err(Clone::clone)
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

    /// It came in under a seal and is no longer, and nobody says who opened it.
    pub fn seal_opened_by_nobody(&self) -> bool {
        self.arrival(ArrivalField::Seal).is_some()
            && self
                .arrival(ArrivalField::Load)
                .is_some_and(|load| load != "sealed")
            && self.arrival(ArrivalField::SealOpened).is_none()
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

    /// What one photo shows, of the unit with its view where somebody said it.
    pub fn shown(&self, photo: &JobPhoto) -> String {
        let shows = self.shows(&photo.of);
        match photo.view {
            Some(view) => format!("{shows}, {}", words::view(view)),
            None => shows,
        }
    }

    /// What is known of the roof and the way chosen for it.
    pub fn roof(&self) -> Option<&Roof> {
        self.worked.roof.get_or_init(|| crate::roof::roof(self)).as_ref()
    }

    /// The shelf as it is for all jobs.
    ///
    /// # Errors
    /// The store cannot be read.
    pub fn shelf(&self) -> Result<&Shelf, Refusal> {
        let shelf = self
            .shelf
            .get_or_init(|| Shelf::of(self.app, &self.stock, self.unit));
        shelf.as_ref().map_err(Clone::clone)
    }

    /// What is cut from which stock: searched for once, however many parts of an answer ask. None while no way is
    /// chosen that cuts something, and if all of it is cut.
    ///
    /// # Errors
    /// The figures cannot be worked out.
    pub fn cut_list(&self) -> Result<Option<&CutList>, Refusal> {
        let list = self.cut_list.get_or_init(|| cut_list::search(self));
        list.as_ref().map(Option::as_ref).map_err(Clone::clone)
    }

    /// The work of the ways chosen.
    pub fn work(&self) -> &Work {
        self.worked.work.get_or_init(|| crate::roof::all_work(self))
    }

    /// What the work needs cut from stock, with the steps that fit it.
    pub fn pieces(&self) -> &[Piece] {
        self.worked.pieces.get_or_init(|| crate::roof::pieces(self))
    }

    /// The work in order, for the ways chosen.
    pub fn steps(&self) -> &[Step] {
        self.worked
            .steps
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

/// Thickness of what carries the sheet, or is riveted to it.
pub const fn is_flange(field: PlanField) -> bool {
    matches!(
        field,
        PlanField::RailFlange
            | PlanField::PostFlange
            | PlanField::HeaderFlange
            | PlanField::BowEnd
            | PlanField::CornerCap
    )
}

/// A job that is not in this store.
pub fn no_job() -> Refusal {
    Refusal::at("no_job", "job", "This job is not here. Choose one from Yard.")
}

fn no_found() -> Refusal {
    Refusal::at("no_found", "found", "This found more is not on the job any more.")
}

/// The body: the type's starting values with the unit's own measures over them, and which are not its own.
fn plan_of(job: &Job) -> (Plan, Vec<String>) {
    let kind = job
        .arrival
        .get(&ArrivalField::BodyType)
        .and_then(|kept| BodyType::by_key(&kept.value));
    let kind = kind.unwrap_or(BodyType::DryVan53);
    let mut plan = kind.plan();
    let mut missing = Vec::new();
    for field in PLAN_FIELDS {
        match job.plan.get(&field) {
            Some(kept) => put_measure(&mut plan, field, &kept.value),
            None => missing.push(field),
        }
    }
    // The starting values of flanges stand in the shop book and are said there. They came with later programs: named among
    // these they would make all figures that were asked before look like those of another body.
    missing.retain(|field| applies(&plan, *field) && !is_flange(*field));
    let not_measured = missing.into_iter().map(|field| words::plan(field).to_owned());
    let not_measured = not_measured.collect();
    (plan, not_measured)
}
