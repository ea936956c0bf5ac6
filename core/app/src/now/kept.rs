//! What was figured of the jobs last looked at. It follows from the job as it stands and the shop's values alone, so while
//! both are the same, whole and by comparison, another look, screen or reader takes it over; else it is figured anew.

use super::{Figured, Shop};
use crate::{
    answer::Refusal,
    roof::{Piece, Roof},
};
use bowseam_figures::{
    estimate::Estimate,
    steps::{Step, Work},
    ways::Choice,
};
use bowseam_jobs::job::Job;
use std::{
    collections::VecDeque,
    sync::{Arc, Mutex, OnceLock, PoisonError},
};

/// So many jobs are kept: a person goes between a few.
const MOST: usize = 8;

/// What is figured of one job, each part once it is asked for.
#[derive(Default)]
pub struct Worked {
    pub choices: OnceLock<Result<Vec<Choice>, Refusal>>,
    pub main: OnceLock<Result<Figured, Refusal>>,
    pub supplements: OnceLock<Result<Vec<Figured>, Refusal>>,
    pub given: OnceLock<Result<Option<Estimate>, Refusal>>,
    pub agreed: OnceLock<Result<Option<Estimate>, Refusal>>,
    pub roof: OnceLock<Option<Roof>>,
    pub work: OnceLock<Work>,
    pub pieces: OnceLock<Vec<Piece>>,
    pub steps: OnceLock<Vec<Step>>,
}

struct Looked {
    job: Job,
    shop: Shop,
    worked: Arc<Worked>,
}

/// The jobs last looked at, the newest first.
#[derive(Default)]
pub struct LastLooked(Mutex<VecDeque<Looked>>);

impl LastLooked {
    /// What was figured of this job in this shop, or room for it.
    pub fn of(&self, job: &Job, shop: &Shop) -> Arc<Worked> {
        let mut last = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let at = last.iter().position(|one| one.job.id == job.id);
        let known = at
            .and_then(|at| last.remove(at))
            .filter(|one| one.job == *job && one.shop == *shop);
        let looked = known.unwrap_or_else(|| Looked {
            job: job.clone(),
            shop: shop.clone(),
            worked: Arc::default(),
        });
        let worked = Arc::clone(&looked.worked);
        last.push_front(looked);
        last.truncate(MOST);
        worked
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use crate::{
        App, Kind,
        now::{BOOK, Now},
    };
    use bowseam_figures::{
        mark::{DamageKind, Part},
        shop::Book,
    };
    use bowseam_jobs::entry::{MarkChange, What};
    use std::ptr;
    use uuid::Uuid;

    #[test]
    fn what_is_figured_is_kept_while_job_and_shop_stay_and_is_another_after_either_changed() {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path(), Kind::Office).unwrap();
        let (job, mark) = (Uuid::now_v7(), Uuid::now_v7());
        let write = |what| {
            let act = Uuid::now_v7();
            app.store().append(job, Uuid::nil(), act, vec![what]).unwrap();
        };
        write(What::Opened { unit: "4417".into() });
        write(What::Mark {
            mark,
            change: MarkChange::Kind(DamageKind::Broken),
        });
        let look = || Now::for_person(&app, None, job).unwrap();
        let (first, again) = (look(), look());
        assert!(
            ptr::eq(first.main().unwrap(), again.main().unwrap()),
            "figured once"
        );
        write(What::Mark {
            mark,
            change: MarkChange::Part(Part::Lamp),
        });
        let changed = look();
        assert!(!ptr::eq(first.main().unwrap(), changed.main().unwrap()));
        let mut book = Book::default();
        book.planning.people.value += 1;
        app.store().set_setting(BOOK, &book).unwrap();
        let dearer = look();
        assert!(!ptr::eq(changed.main().unwrap(), dearer.main().unwrap()));
        assert!(ptr::eq(dearer.main().unwrap(), look().main().unwrap()));
    }
}
