//! Asks that change something: each is checked, becomes the entries of one act, and is saved before the answer
//! goes out. What does not fit is refused with a sentence beside its field; nothing is half saved.

mod arrival;
mod close;
pub(crate) mod figures;
mod fitted;
mod marks;
mod office;
mod photos;
mod stock;
mod work;

pub use arrival::LOADS;

use crate::{
    answer::{Answer, Refusal},
    app::App,
    ask::Ask,
    now::Now,
    undo,
};
use bowseam_jobs::{entry::What, people::Person};
use chrono::Utc;
use uuid::Uuid;

/// A change in the making: who makes it, to which job as it stands.
pub struct Change<'a> {
    /// The job with what is figured from it.
    pub now: Now<'a>,
    /// Who makes it.
    pub person: Person,
    act: Uuid,
}

/// The answer to a change that made no entry.
pub fn nothing_made(id: Option<Uuid>) -> Answer {
    Answer::Saved {
        act: None,
        id,
        at: Utc::now(),
        words: None,
    }
}

impl<'a> Change<'a> {
    fn of(app: &'a App, person: Person, job: Uuid) -> Result<Self, Refusal> {
        let change = Self::at_any_time(app, person, job)?;
        if change.now.job.handed_over.as_ref().is_some_and(|kept| kept.value) {
            return Err(Refusal::new(
                "handed_over",
                "This job is handed over: its record stays as it is. A comeback is a new job for the same unit.",
            ));
        }
        Ok(change)
    }

    /// Also once the job is handed over: for what the office writes on it then.
    fn at_any_time(app: &'a App, person: Person, job: Uuid) -> Result<Self, Refusal> {
        Ok(Self {
            now: Now::for_person(app, Some(&person), job)?,
            person,
            act: Uuid::now_v7(),
        })
    }

    /// Saves the entries as one act, and the marker that Proof is complete where that changed with them.
    fn save(&self, id: Option<Uuid>, what: Vec<What>) -> Result<Answer, Refusal> {
        let (app, job) = (self.now.app, self.now.job.id);
        let words = what.first().map(undo::say);
        app.store().append(job, self.person.id, self.act, what)?;
        let after = Now::for_person(app, Some(&self.person), job)?;
        if let Some(marker) = crate::view::proof::marker(&after)? {
            app.store().append(job, self.person.id, self.act, vec![marker])?;
        }
        app.send_now();
        Ok(Answer::Saved {
            act: Some(self.act),
            id,
            at: Utc::now(),
            words,
        })
    }

    fn one(&self, what: What) -> Result<Answer, Refusal> {
        self.save(None, vec![what])
    }
}

/// Answers an ask that changes something.
///
/// # Errors
/// A refusal beside the field that does not fit.
pub fn change(app: &App, person: Person, ask: Ask, bytes: Option<&[u8]>) -> Result<Answer, Refusal> {
    let to = |job| Change::of(app, person.clone(), job);
    let any_time = |job| Change::at_any_time(app, person.clone(), job);
    match ask {
        Ask::OpenJob { unit } => arrival::open_job(app, &person, &unit),
        Ask::SetArrival { job, field, value } => arrival::set_arrival(&to(job)?, field, &value),
        Ask::SetRoll { job, answer } => arrival::set_roll(&to(job)?, answer),
        Ask::SetPlan { job, field, value } => arrival::set_plan(&to(job)?, field, &value),
        Ask::SetLooked {
            job,
            surface,
            seen,
            also,
        } => arrival::set_looked(&to(job)?, surface, &also, seen),
        Ask::AddPhoto { job, of, when, name } => photos::add_photo(&to(job)?, of, when, &name, bytes),
        Ask::MovePhoto {
            job,
            sha256,
            of,
            when,
        } => photos::move_photo(&to(job)?, sha256, of, when),
        Ask::SetPhotoView { job, sha256, view } => photos::set_view(&to(job)?, sha256, view),
        Ask::RemovePhoto { job, sha256 } => photos::remove_photo(&to(job)?, sha256),
        Ask::SetPhotoScale { job, sha256, scale } => photos::set_scale(&to(job)?, sha256, scale),
        Ask::FindTarget { job, sha256 } => photos::find_target(&to(job)?, sha256),
        Ask::AlignPair {
            job,
            before,
            after,
            taps,
        } => photos::align(&to(job)?, before, after, taps),
        Ask::SizeFromPhoto {
            job,
            sha256,
            mark,
            side,
            line,
        } => photos::size_from(&to(job)?, sha256, mark, side, line),
        Ask::DrawOnPhoto {
            job,
            sha256,
            id,
            shape,
        } => photos::draw(&to(job)?, sha256, id, shape),
        Ask::AddMark {
            job,
            place,
            damage,
            part,
            age,
            note,
            found,
        } => marks::add_mark(
            &to(job)?,
            &place,
            marks::Said {
                damage,
                part,
                age,
                note,
            },
            found,
        ),
        Ask::SetMark {
            job,
            mark,
            place,
            damage,
            part,
            age,
            note,
            depth,
        } => marks::set_mark(
            &to(job)?,
            mark,
            place.as_ref(),
            (damage, part, age),
            (note, depth),
        ),
        Ask::RemoveMark { job, mark } => marks::remove_mark(&to(job)?, mark),
        Ask::ChooseWay {
            job,
            group,
            way,
            by_hand,
        } => figures::choose_way(&to(job)?, group, way, by_hand),
        Ask::ChooseWays { job, ways } => figures::choose_ways(&to(job)?, ways),
        Ask::AskGoAhead { job, found, note } => figures::ask_go_ahead(&to(job)?, found, &note),
        Ask::GoAhead {
            job,
            hash,
            amount,
            note,
            groups,
            ceiling,
        } => figures::go_ahead(&to(job)?, hash, (amount, groups, ceiling), &note),
        Ask::SetOffice { job, field, value } => office::set(&any_time(job)?, field, &value),
        Ask::SetSublet {
            job,
            sublet,
            work,
            who,
            out_on,
            back_on,
            back,
        } => {
            let typed = office::Typed {
                work: &work,
                who: &who,
                out_on: &out_on,
                back_on: &back_on,
                back,
            };
            office::set_sublet(&to(job)?, sublet, &typed)
        }
        Ask::SetNote { job, note, text } => office::set_note(&to(job)?, note, &text),
        Ask::SetOnJob { job, person, on } => office::set_on_job(&to(job)?, person, on),
        Ask::Reopen { job, reason } => office::reopen(&any_time(job)?, &reason),
        Ask::Settle {
            job,
            keep,
            instead_of,
        } => office::settle(&to(job)?, keep, instead_of),
        Ask::SendBack { job, hash, note } => figures::send_back(&to(job)?, hash, &note),
        Ask::SetOnHand {
            job,
            item,
            have,
            place,
        } => work::set_on_hand(&to(job)?, item, have, &place),
        Ask::SetShelf { job, items, place } => stock::set_shelf(&to(job)?, &items, &place),
        Ask::SetReserved { job, reserved } => stock::set_reserved(&to(job)?, reserved),
        Ask::SetCut { job, cut, done } => stock::set_cut(&to(job)?, &cut, done),
        Ask::KeepDrop {
            job,
            cut,
            left,
            place,
        } => stock::keep_drop(&to(job)?, cut, left, &place),
        Ask::SetHoles { job, line, holes } => stock::set_holes(&to(job)?, &line, &holes),
        Ask::SetBuying {
            job,
            line,
            field,
            value,
        } => stock::set_buying(&to(job)?, line, field, &value),
        Ask::AddBuying {
            job,
            item,
            size,
            quantity,
        } => stock::add_buying(&to(job)?, &item, &size, &quantity),
        Ask::RemoveBuying { job, line } => stock::remove_buying(&to(job)?, line),
        Ask::SetRoofOff { job, field, value } => work::set_roof_off(&to(job)?, field, &value),
        Ask::Overrule { job, reason } => work::overrule(&to(job)?, &reason),
        Ask::OpenRoof { job } => work::open_roof(&to(job)?),
        Ask::StepTime { job, step, on } => work::step_time(&to(job)?, step, on),
        Ask::StepDone { job, step, done } => work::step_done(&to(job)?, step, done),
        Ask::Measure {
            job,
            step,
            value,
            measured,
            reason,
            zone,
        } => work::measure(&to(job)?, step, value, (&measured, zone), &reason),
        Ask::FindMore {
            job,
            line,
            step,
            found,
        } => work::find_more(&to(job)?, &line, step, found),
        Ask::RemoveFound { job, found } => work::remove_found(&to(job)?, found),
        Ask::SetHold { job, hold } => close::set_hold(&to(job)?, hold),
        Ask::SetProof { job, row, answer } => close::set_proof(&to(job)?, row, answer),
        Ask::Release { job, note } => close::release(&to(job)?, &note),
        Ask::SetHandedOver { job } => close::hand_over(&to(job)?),
        // Everything else is a question, and the door has answered it before it came here.
        _ => Err(Refusal::new("not_a_change", "This is a question, not a change.")),
    }
}

/// Refuses who is no supervisor.
pub(crate) fn supervisor_only(person: &Person, what: &str) -> Result<(), Refusal> {
    if crate::now::is_supervisor(person) {
        return Ok(());
    }
    Err(Refusal::new(
        "supervisor_only",
        format!("Only a supervisor {what}. Sign in as one, or ask one."),
    ))
}
