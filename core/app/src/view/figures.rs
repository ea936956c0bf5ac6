//! Figures: takeoff, hours, price and range of the chosen ways, and where they stand with the office.

use crate::{
    answer::{Figures, Refusal},
    now::Now,
    view::{found, head},
};

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn figures(now: &Now) -> Result<Figures, Refusal> {
    let main = now.main()?;
    Ok(Figures {
        head: head::head(now)?,
        estimate: main.estimate.clone(),
        hash: main.hash.clone(),
        go_ahead: main.go_ahead.clone(),
        supplements: found::rows(now)?,
        agreed_total: now.agreed_total()?,
        lacks: main.lacks.clone(),
    })
}
