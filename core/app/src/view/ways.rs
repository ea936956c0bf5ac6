//! Ways to fix: the ways that fit the rules, group by group, and what was chosen.

use crate::{
    answer::{Answer, Chosen, Refusal, Ways},
    now::Now,
    view::head,
};

/// The screen.
///
/// # Errors
/// The store cannot be read, or the figures cannot be worked out.
pub fn ways(now: &Now) -> Result<Answer, Refusal> {
    let choices = now.choices()?;
    let chosen = now
        .job
        .ways
        .iter()
        .filter(|(group, _)| choices.iter().any(|choice| &choice.group == *group));
    Ok(Answer::Ways(Ways {
        head: head::head(now)?,
        whole: now.whole_job()?,
        choices: choices.to_vec(),
        chosen: chosen
            .map(|(group, kept)| Chosen {
                group: group.clone(),
                way: kept.value.clone(),
                by: now.name(kept.by),
            })
            .collect(),
        lacks: now.main()?.lacks.clone(),
        doubts: now.ways_doubts()?,
    }))
}
