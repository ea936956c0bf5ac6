//! Cut list: what to cut from which stock or drop, with the marks of the tape from one hook.

use crate::{
    answer::{Answer, CutListView, Refusal},
    now::Now,
    roof,
    view::head,
};
use bowseam_figures::{
    cut::{Cutting, cut_list as cut, roof_needs},
    measure::Length,
};

/// A left-over from this length on is kept as a drop (common practice, until the shop sets its own).
const KEEP_FROM: Length = Length::inches(24);

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn cut_list(now: &Now) -> Result<Answer, Refusal> {
    let head = head::head(now)?;
    let roof = roof::facts(now);
    let mut needs = roof.as_ref().map(roof_needs).unwrap_or_default();
    needs.extend(roof::side_needs(now));
    if needs.is_empty() {
        let why = "No roof section, whole roof or side way is chosen: there is nothing to cut from stock that the program figures.";
        return Ok(Answer::CutList(CutListView {
            head,
            list: None,
            why_not: Some(why.to_owned()),
        }));
    }
    // Sheet is sheared; a saw's width would be a shop value.
    let cutting = Cutting {
        unit: now.unit,
        kerf: Length::ZERO,
        keep_from: KEEP_FROM,
    };
    let list = cut(&needs, &now.stock, &cutting)?;
    Ok(Answer::CutList(CutListView {
        head,
        list: Some(list),
        why_not: None,
    }))
}
