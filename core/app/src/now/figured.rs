//! What is figured from a job: the ways, the main figures, what each *found more* adds to them, and where all of them
//! stand with the office.

use super::{Now, figures_mark, no_found};
use crate::{
    answer::{GoAhead, Refusal},
    from_photo, words,
};
use bowseam_figures::{
    canonical,
    estimate::{self, Estimate, Group},
    group::{WayKey, groups},
    mark::Mark,
    ways::{self, Choice},
    whole,
};
use bowseam_jobs::{
    entry::{Decision, PlanField},
    job::{Asked, JobFound, Kept},
};
use rust_decimal::Decimal;
use std::{collections::BTreeSet, str::FromStr};
use uuid::Uuid;

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

impl Now<'_> {
    /// Marks of the main figures: those that a *found more* brought are figured by themselves.
    pub(super) fn main_marks(&self) -> Vec<Mark> {
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

    /// Marks that are worked on: those of the main figures that have a go-ahead, where only a part has it, and of each
    /// *found more* with its go-ahead.
    pub fn work_marks(&self) -> Vec<Mark> {
        let mut marks = match self.main() {
            Ok(main) => of_groups(self.main_marks(), &main.go_ahead.groups),
            Err(_) => self.main_marks(),
        };
        for found in self.job.found.iter().filter(|found| self.is_agreed_found(found)) {
            marks.extend(self.found_marks(found.id));
        }
        marks
    }

    /// Marks that a go-ahead for a part leaves out.
    pub fn left_out(&self) -> BTreeSet<Uuid> {
        let part = self
            .main()
            .map(|main| main.go_ahead.groups.clone())
            .unwrap_or_default();
        if part.is_empty() {
            return BTreeSet::new();
        }
        let marks = self.main_marks();
        let others = groups(&marks)
            .into_iter()
            .filter(|group| !part.contains(&group.key));
        others
            .flat_map(|group| group.marks.into_iter().filter_map(|mark| mark.id.parse().ok()))
            .collect()
    }

    /// The ways that fit, group by group, for all marks.
    ///
    /// # Errors
    /// The body's measures or the shop's prices cannot be worked with.
    pub fn choices(&self) -> Result<&[Choice], Refusal> {
        let choices = self.worked.choices.get_or_init(|| {
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

    pub(super) fn chosen(&self) -> Vec<estimate::Chosen> {
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
            .worked
            .main
            .get_or_init(|| self.figured(self.figure(&self.main_marks())?, None));
        main.as_ref().map_err(Clone::clone)
    }

    /// The main figures as the shop book and the rules have them now, whatever was asked.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn by_todays_book(&self) -> Result<Estimate, Refusal> {
        self.figure(&self.main_marks())
    }

    /// What each *found more* adds to what was agreed before it, in the job's order.
    ///
    /// # Errors
    /// As [`Self::main`].
    pub fn supplements(&self) -> Result<&[Figured], Refusal> {
        let all = self.worked.supplements.get_or_init(|| {
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
        // Added to what is done: what a go-ahead for a part left out is not there to be added to.
        let mut marks = of_groups(self.main_marks(), &self.main()?.go_ahead.groups);
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
        let mut hash = Some(&estimate)
            .filter(|estimate| !estimate.groups.is_empty())
            .map(canonical::sha256)
            .transpose()?;
        let asked = self.as_asked(&estimate, hash.as_deref(), found);
        let stands = asked.is_some();
        let estimate = match asked {
            Some((asked, its_hash)) => {
                hash = Some(its_hash.to_owned());
                asked
            }
            None => estimate,
        };
        let lacks = estimate
            .lacks
            .iter()
            .map(|lack| lack.trim_end_matches('.').to_owned())
            .collect();
        let estimate = Some(estimate).filter(|estimate| !estimate.groups.is_empty());
        let mut go_ahead = self.go_ahead(found, estimate.as_ref(), hash.as_deref());
        if stands {
            go_ahead.words.push_str(
                " The shop book or the rules of this program changed since: what was asked stands as it was.",
            );
        }
        Ok(Figured {
            estimate,
            hash,
            go_ahead,
            lacks,
        })
    }

    /// The figures as they were asked with their hash, where those of now have another one although nothing of the job
    /// itself changed, and they were not sent back: new prices, hours or rules of the shop are for jobs to come, and
    /// take no go-ahead away.
    fn as_asked(&self, now: &Estimate, hash: Option<&str>, found: Option<Uuid>) -> Option<(Estimate, &str)> {
        let newest = self.newest_asked(found)?;
        let asked = newest.value.hash.as_str();
        if hash == Some(asked) {
            return None;
        }
        let back = self
            .job
            .answer_to(newest)
            .is_some_and(|kept| matches!(kept.value, Decision::SentBack { .. }));
        let then: Estimate = serde_json::from_value(newest.value.figures.clone())
            .ok()
            .filter(|_| !back)?;
        // Only what is still read as it was written goes by its hash.
        let same = same_job(&then, now) && canonical::sha256(&then).ok()? == asked;
        same.then_some((then, asked))
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
            groups: Vec::new(),
            ceiling: None,
            over: None,
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
        let asked = self.job.asked.iter();
        let asked = asked.filter(|kept| kept.value.found == found && kept.value.hash == answered);
        let last = asked.max_by_key(|kept| kept.at).unwrap_or(newest);
        let decision = self.job.answer_to(last);
        let (by, at) = decision.map_or((last.by, last.at), |kept| (kept.by, kept.at));
        seen.by = Some(self.name(by));
        seen.at = Some(at);
        let beside = (!asked_these)
            .then(|| decision.and_then(|kept| self.beside_ceiling(&kept.value, &newest.value, estimate)))
            .flatten();
        let under = beside.filter(|(sum, ceiling)| sum <= ceiling);
        let (state, said) = match (decision.map(|kept| &kept.value), asked_these) {
            (
                Some(Decision::GoAhead {
                    amount,
                    note,
                    groups,
                    ceiling,
                }),
                these,
            ) if these || under.is_some() => {
                // Of all of them what is figured is agreed; of a part that is not the total of the figures.
                seen.amount = match under {
                    Some((sum, _)) => (!groups.is_empty()).then(|| format!("{sum:.2}")),
                    None => amount.clone(),
                };
                seen.note = some_text(note);
                seen.groups.clone_from(groups);
                seen.ceiling.clone_from(ceiling);
                let given = given_words(&self.name(by), groups, ceiling.is_some(), estimate);
                let since = if these {
                    ""
                } else {
                    " The figures changed since and stay under it."
                };
                ("go_ahead", format!("{given}{since}"))
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
            (None, true) => {
                seen.note = some_text(&last.value.note);
                let again = if self.job.decided.contains_key(answered) {
                    " again"
                } else {
                    ""
                };
                let said = format!("{} asked the office{again}; no answer yet.", self.name(by));
                ("asked", said)
            }
            (Some(Decision::GoAhead { groups, ceiling, .. }), _) => {
                seen.over = beside.map(|(sum, ceiling)| format!("{:.2}", sum.saturating_sub(ceiling)));
                seen.ceiling = ceiling.clone().filter(|_| beside.is_some());
                let said = match (beside, groups.is_empty()) {
                    (Some(_), true) => "The go-ahead was up to a ceiling, and the figures come to more now.",
                    (Some(_), false) => {
                        "The go-ahead was for a part up to a ceiling, and that part comes to more now."
                    }
                    (None, _) => "The go-ahead was given for other figures than these.",
                };
                ("stale", format!("{said} It does not count for them: ask again."))
            }
            (None, false) => (
                "stale",
                "The office was asked about other figures than these: ask again.".to_owned(),
            ),
        };
        seen.state = state.to_owned();
        seen.words = said;
        seen
    }

    /// What was given up to a ceiling comes to in changed figures of the same groups and ways, beside that ceiling.
    fn beside_ceiling(
        &self,
        decision: &Decision,
        asked: &Asked,
        now: Option<&Estimate>,
    ) -> Option<(Decimal, Decimal)> {
        let Decision::GoAhead {
            ceiling: Some(ceiling),
            groups,
            ..
        } = decision
        else {
            return None;
        };
        let ways = |estimate: &Estimate| -> Vec<(String, WayKey)> {
            let groups = estimate.groups.iter();
            groups.map(|group| (group.group.clone(), group.way)).collect()
        };
        let (then, now): (Estimate, _) = (serde_json::from_value(asked.figures.clone()).ok()?, now?);
        if ways(&then) != ways(now) {
            return None;
        }
        let read = |text: &str| Decimal::from_str(text).ok();
        let sum = if groups.is_empty() {
            read(&now.total)?
        } else {
            read(&self.part(groups).ok()?.total)?
        };
        Some((sum, read(ceiling)?))
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
}

/// Whether two figures are of the same body, marks and ways, with the same entered by hand: what is left to differ are the
/// shop's values and the program's rules.
fn same_job(then: &Estimate, now: &Estimate) -> bool {
    let by_hand = |group: &Group| {
        let goods = group.goods.iter().filter(|line| line.by_hand);
        let goods = goods.map(|line| [line.item.clone(), line.quantity.clone(), line.unit_price.clone()]);
        let hours = group
            .hours
            .iter()
            .filter(|line| line.by_hand)
            .map(|line| line.hours.clone());
        let people = (group.way == WayKey::ByHand).then_some(group.people);
        (goods.collect::<Vec<_>>(), hours.collect::<Vec<_>>(), people)
    };
    let same = |(a, b): (&Group, &Group)| {
        (&a.group, a.way, &a.marks, &a.note) == (&b.group, b.way, &b.marks, &b.note)
            && by_hand(a) == by_hand(b)
    };
    // Posts of composite sides were once named as not measured; there are none.
    let posts = words::plan(PlanField::Posts);
    let not_measured = |of: &Estimate| {
        let names = of.not_measured.iter();
        let there = names.filter(|name| !(of.plan.composite_sides && *name == posts));
        there.cloned().collect::<Vec<_>>()
    };
    (&then.plan, then.unit, not_measured(then), &then.lacks)
        == (&now.plan, now.unit, not_measured(now), &now.lacks)
        && then.groups.len() == now.groups.len()
        && then.groups.iter().zip(&now.groups).all(same)
}

/// The marks of these groups; all where none are named.
pub(super) fn of_groups(marks: Vec<Mark>, wanted: &[String]) -> Vec<Mark> {
    if wanted.is_empty() {
        return marks;
    }
    let of_them = groups(&marks)
        .into_iter()
        .filter(|group| wanted.contains(&group.key));
    let ids: BTreeSet<String> = of_them
        .flat_map(|group| group.marks.into_iter().map(|mark| mark.id.clone()))
        .collect();
    marks.into_iter().filter(|mark| ids.contains(&mark.id)).collect()
}

/// A go-ahead in words: by whom, for what.
fn given_words(by: &str, groups: &[String], ceiling: bool, estimate: Option<&Estimate>) -> String {
    let titles = |given: bool| {
        let all = estimate.iter().flat_map(|estimate| &estimate.groups);
        let of_them = all.filter(|group| groups.contains(&group.group) == given);
        words::list(&of_them.map(|group| group.title.clone()).collect::<Vec<_>>())
    };
    // Which one stands beside the words: a packet without prices has these too.
    let up_to = if ceiling { " up to a ceiling" } else { "" };
    if groups.is_empty() {
        return format!("{by} gave the go-ahead{up_to}.");
    }
    let rest = titles(false);
    let rest = if rest.is_empty() {
        String::new()
    } else {
        format!(" Not for: {rest}.")
    };
    format!(
        "{by} gave the go-ahead for a part{up_to}: {}.{rest}",
        titles(true)
    )
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
