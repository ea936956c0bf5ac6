//! The section of a side sheet between two posts: which posts carry its ends, and why it does not fit.
//!
//! It runs from the bottom rail to the top rail. Its ends lap over the posts' rivet lines, the sheet nearer the
//! nose on top (common practice), so that each end has a post behind it, as a factory joint has.

use crate::measure::{Length, Unit};
use crate::side_patch::{Rect, SideBody, SideRules};

/// A section that fits.
pub(crate) struct Section {
    pub rect: Rect,
    /// Where the old sheet is cut; an end at a sheet joint or a corner needs no cut.
    pub cuts: Vec<Length>,
    pub why: Vec<String>,
}

/// Looks for the posts on both sides of a cut-out that lies on one `sheet`.
pub(crate) struct Posts<'a> {
    pub body: &'a SideBody,
    pub rules: &'a SideRules,
    pub cut_out: Rect,
    /// From joint to joint.
    pub sheet: Rect,
    pub unit: Unit,
}

impl Posts<'_> {
    /// The section, or why none fits.
    pub fn section(&self) -> Result<Section, Vec<String>> {
        let joints = &self.body.sheet_joints;
        let crossed = |at: &&Length| **at > self.sheet.from && **at < self.sheet.to;
        if let Some(joint) = joints.iter().find(crossed) {
            let joint = self.say(*joint);
            return Err(vec![format!(
                "The damage reaches over the sheet joint at station {joint}; a section stays within one sheet."
            )]);
        }
        // Half a lap of old sheet stays on each post, and has to be sound.
        let half = self.rules.sheet_lap.value.part(2).unwrap_or_default();
        let (first, last) = (self.cut_out.from.minus(half), self.cut_out.to.plus(half));
        let posts = || (1_u32..).zip(self.body.posts.iter().copied());
        let ahead: Vec<_> = posts()
            .filter(|(_, at)| *at > self.sheet.from && *at <= first)
            .collect();
        let behind = posts().filter(|(_, at)| *at >= last && *at < self.sheet.to);
        let mut why = Vec::new();
        let from = self.nearest(ahead.into_iter().rev(), &mut why);
        let to = self.nearest(behind, &mut why);
        if from.is_none() && to.is_none() {
            why.push("No post that may carry an end lies between the damage and the sheet's joints: from post to post it is the whole sheet.".to_owned());
            return Err(why);
        }
        let (ahead, behind) = (self.end(from, self.sheet.from), self.end(to, self.sheet.to));
        why.push(format!(
            "From {ahead} to {behind}: nearest ends that keep half a lap ({}) of sound sheet on the posts.",
            self.say(half)
        ));
        Ok(Section {
            rect: Rect {
                from: from.map_or(self.sheet.from, |(_, at)| at),
                to: to.map_or(self.sheet.to, |(_, at)| at),
                ..self.sheet
            },
            cuts: from
                .map(|(_, at)| at.plus(half))
                .into_iter()
                .chain(to.map(|(_, at)| at.minus(half)))
                .collect(),
            why,
        })
    }

    fn say(&self, length: Length) -> String {
        length.say(self.unit)
    }

    fn end(&self, post: Option<(u32, Length)>, otherwise: Length) -> String {
        match post {
            Some((number, at)) => format!("post {number} at station {}", self.say(at)),
            None => format!("the sheet's end at station {}", self.say(otherwise)),
        }
    }

    /// The first post that may carry an end; none: the section runs to the sheet's end on that side.
    fn nearest(
        &self,
        posts: impl Iterator<Item = (u32, Length)>,
        why: &mut Vec<String>,
    ) -> Option<(u32, Length)> {
        for (number, at) in posts {
            let Some(reason) = self.shut(at) else {
                return Some((number, at));
            };
            why.push(format!(
                "No end over post {number} at station {}: {reason}",
                self.say(at)
            ));
        }
        None
    }

    /// Why no end may lie over a post; none if it may.
    fn shut(&self, at: Length) -> Option<String> {
        let (strip, gap) = (self.rules.section_strip.value, self.rules.patch_gap.value);
        let ends = [self.sheet.from, self.sheet.to];
        if let Some(end) = ends.into_iter().find(|end| end.apart(at) < strip) {
            let (end, apart, strip) = (self.say(end), self.say(end.apart(at)), self.say(strip));
            return Some(format!(
                "only {apart} of old sheet would stay to the sheet's end at station {end}; at least {strip} has to (shop rule)."
            ));
        }
        let near = |patch: &&Rect| at > patch.from.minus(gap) && at < patch.to.plus(gap);
        self.body.earlier_patches.iter().find(near).map(|patch| {
            let (from, to, gap) = (self.say(patch.from), self.say(patch.to), self.say(gap));
            format!("it would come nearer than {gap} to the earlier patch from station {from} to {to} (shop rule).")
        })
    }
}
