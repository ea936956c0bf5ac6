//! The work that is agreed: what is given of the main figures, all of it or a part, with each *found more* that has its
//! go-ahead; and how long it is in the bay. What is bought, reserved, checked, done and promised is of this work alone.

use super::{Now, figured::of_groups};
use crate::answer::Refusal;
use bowseam_figures::{
    canonical,
    crew_plan::{InBay, in_bay},
    estimate::{self, Estimate},
};

impl Now<'_> {
    /// The figures of some groups of the main figures alone: what a go-ahead for a part comes to.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn part(&self, groups: &[String]) -> Result<Estimate, Refusal> {
        Ok(estimate::without_range(
            &self.plan,
            &of_groups(self.main_marks(), groups),
            &self.chosen(),
            &self.book,
            &self.not_measured,
            self.unit,
        )?)
    }

    /// What the main figures come to as far as they are given: all of them, or the part that has the go-ahead. Nothing that
    /// was left out is bought, reserved, checked or counted in days.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn given(&self) -> Result<Option<&Estimate>, Refusal> {
        let main = self.main()?;
        let part = &main.go_ahead.groups;
        if part.is_empty() {
            return Ok(main.estimate.as_ref());
        }
        let given = self
            .worked
            .given
            .get_or_init(|| Ok(Some(self.part(part)?).filter(|given| !given.groups.is_empty())));
        given.as_ref().map(Option::as_ref).map_err(Clone::clone)
    }

    /// What is given with each *found more* that has its go-ahead: all the work that is done.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn agreed(&self) -> Result<Option<&Estimate>, Refusal> {
        let Some(given) = self.given()? else {
            return Ok(None);
        };
        let added: Vec<&Estimate> = self
            .supplements()?
            .iter()
            .filter(|part| part.go_ahead.state == "go_ahead")
            .filter_map(|part| part.estimate.as_ref())
            .collect();
        if added.is_empty() {
            return Ok(Some(given));
        }
        let agreed = self
            .worked
            .agreed
            .get_or_init(|| Ok(Some(estimate::together(given, &added)?)));
        agreed.as_ref().map(Option::as_ref).map_err(Clone::clone)
    }

    /// How long that work is in the bay, and the roof open, by the crew plan: the one number that Figures, Roof-off check,
    /// Steps and the promised day show.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn in_bay(&self) -> Result<Option<&InBay>, Refusal> {
        let in_bay = self.in_bay.get_or_init(|| {
            let Some(work) = self.agreed()? else {
                return Ok(None);
            };
            let key = self.plan_key()?;
            if let Some(known) = self.app.bays().known_plan(&key) {
                return Ok(Some(known));
            }
            let plan = in_bay(work, &self.book)?;
            self.app.bays().keep_plan(key, plan.clone());
            Ok(Some(plan))
        });
        in_bay.as_ref().map(Option::as_ref).map_err(Clone::clone)
    }

    /// What a crew plan rests on: the figures by their hashes, and the shop's people and hours. A part has no hash that was
    /// asked: it is figured by today's book, and its own says when that is another.
    fn plan_key(&self) -> Result<String, Refusal> {
        let main = self.main()?;
        let given = if main.go_ahead.groups.is_empty() {
            main.hash.clone()
        } else {
            self.given()?.map(canonical::sha256).transpose()?
        };
        let agreed = self.supplements()?.iter();
        let agreed = agreed.filter(|part| part.go_ahead.state == "go_ahead");
        let hashes: Vec<&Option<String>> = std::iter::once(&given).chain(agreed.map(|of| &of.hash)).collect();
        Ok(canonical::sha256(&(hashes, &self.book.planning))?)
    }
}
