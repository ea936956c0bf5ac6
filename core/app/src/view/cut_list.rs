//! Cut list: what to cut from which stock or drop, with the marks of the tape from one hook.

use crate::{
    answer::{Answer, CutListView, Refusal},
    now::Now,
    roof,
    view::head,
};
use bowseam_figures::{
    cut::{CutList, Cutting, cut_list as cut, roof_needs},
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
    let list = list(now)?;
    let why_not = list.is_none().then(|| {
        "No way is chosen that cuts sheet, rail or board: there is nothing to cut from stock that the program figures."
            .to_owned()
    });
    Ok(Answer::CutList(CutListView { head, list, why_not }))
}

/// The list itself; none while no way is chosen that cuts something. The Roof-off check offers its shelf places.
///
/// # Errors
/// The figures cannot be worked out.
pub fn list(now: &Now) -> Result<Option<CutList>, Refusal> {
    let roof = roof::facts(now);
    let mut needs = roof.as_ref().map(roof_needs).unwrap_or_default();
    needs.extend(roof::patch_and_side_needs(now));
    if needs.is_empty() {
        return Ok(None);
    }
    // Sheet is sheared; a saw's width would be a shop value.
    let cutting = Cutting {
        unit: now.unit,
        kerf: Length::ZERO,
        keep_from: KEEP_FROM,
    };
    Ok(Some(cut(&needs, &now.stock, &cutting)?))
}
