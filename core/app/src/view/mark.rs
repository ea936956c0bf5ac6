//! Mark: one damage with its place, photos, and the parts that it hits.

use crate::{
    answer::{Answer, MarkView, Refusal},
    now::Now,
    typed,
    view::{fold_out, head, photos},
};
use bowseam_figures::body::fold_out as unfold;
use bowseam_jobs::entry::PhotoOf;
use uuid::Uuid;

/// The screen.
///
/// # Errors
/// `no_mark`, or the store cannot be read.
pub fn mark(now: &Now, id: Uuid) -> Result<Answer, Refusal> {
    let mark = now.job_mark(id)?;
    let sheet = unfold(&now.plan, mark.place.surface.is_inside());
    Ok(Answer::Mark(MarkView {
        head: head::head(now)?,
        mark: fold_out::row(now, mark, [&sheet, &sheet]),
        typed: typed::written(&mark.place, now.unit),
        depth: mark
            .depth
            .map(|depth| typed::exactly(depth, now.unit))
            .unwrap_or_default(),
        photos: photos::of(now, &PhotoOf::Mark(id)),
        parts: mark.place.surface.parts().to_vec(),
        by: now.name(mark.by),
        at: mark.at,
    }))
}
