//! A side sheet: the patch between the posts, a section from post to post, and whole sheets. Patches are drilled
//! and riveted while the roof is off; a section or a whole sheet waits until the roof holds the wall again (common
//! practice).

use super::{Hazard, OtherMethod, OtherWork, Step, Target, Work};
use crate::basis::{Standing, many};
use crate::measure::{Length, Unit};
use crate::side_patch::{SideTakeoff, SideWay};

/// Steps of one mark that is mended by a side way.
pub(super) fn of(work: &Work, other: &OtherWork) -> Vec<Step> {
    let Some(taken) = &other.side else {
        return vec![no_figures(other)];
    };
    let side = Side {
        other,
        taken,
        unit: work.unit,
        whole: other.way != OtherMethod::SidePatch,
    };
    if side.whole { side.sheet() } else { side.patch() }
}

/// A way that fitted when it was chosen and does not any more.
pub(super) fn no_figures(other: &OtherWork) -> Step {
    Step::new(
        format!("side_figures:{}", other.mark),
        format!("Figure it anew: {}", other.title),
        "The chosen way does not fit the marks and measures any more. Nothing is cut here before another way is \
         chosen and agreed.",
    )
    .hazards(&[Hazard::Road])
    .stop(0)
}

struct Side<'a> {
    other: &'a OtherWork,
    taken: &'a SideTakeoff,
    unit: Unit,
    /// The wall is opened from rail to rail.
    whole: bool,
}

impl Side<'_> {
    fn patch(&self) -> Vec<Step> {
        vec![
            self.look(),
            self.cut_out(),
            self.lay(),
            self.clean(),
            self.rivet(),
            self.seal(),
        ]
    }

    fn sheet(&self) -> Vec<Step> {
        vec![
            self.look(),
            self.hold(),
            self.off(),
            self.on(),
            self.clean(),
            self.rivet(),
            self.seal(),
        ]
    }

    fn step(&self, key: &str, title: &str, text: String) -> Step {
        let key = format!("{key}:{}", self.other.mark);
        let task = if self.whole { "side_sheet" } else { "side_patch" };
        Step::new(key, format!("{title}: {}", self.other.title), text).task(task)
    }

    fn say(&self, length: Length) -> String {
        length.say(self.unit)
    }

    fn look(&self) -> Step {
        let posts: Vec<String> = self.taken.posts.iter().map(u32::to_string).collect();
        let posts = if posts.is_empty() {
            "no post by the plan".to_owned()
        } else {
            format!("post {} by the plan", posts.join(", "))
        };
        let text = format!(
            "Lining out of the way. Behind the sheet lies {posts}: look at posts, rails and wiring. A post or \
             rail that is bent, cracked or loose: stop, enter it as found more; a patch does not mend it."
        );
        self.step("side_look", "Look behind the sheet", text)
            .hazards(&[Hazard::Residue, Hazard::Wiring, Hazard::Cut])
            .stop(1)
    }

    fn cut_out(&self) -> Step {
        let cut = self.taken.cut_out;
        let text = format!(
            "A rectangle from station {} to {}, {} to {} above the bottom rail, corners rounded to {}; past the \
             last crease, else stop and enter it as found more. Saw depth set to the sheet: no post, rail or \
             wire is cut. Edges broken, swarf off.",
            self.say(cut.from),
            self.say(cut.to),
            self.say(cut.low),
            self.say(cut.high),
            self.say(self.taken.corner_radius)
        );
        self.step("side_cut_out", "Cut back to sound metal", text)
            .hazards(&[Hazard::Fall, Hazard::Cut, Hazard::Noise, Hazard::Wiring])
            .photos(1)
    }

    fn lay(&self) -> Step {
        let taken = self.taken;
        let text = format!(
            "Like material and thickness, {} x {}, corners rounded to {} and no more, so that the corner rivet \
             keeps its edge. Lay it over, dry and square; transfer the \
             holes from the panel, existing holes are reused. Then {} all round, {} apart, pitch up to \
             {}, {} from every edge. Drill through both, edges of holes broken, steel and \
             aluminium kept apart. No weaker than the factory seam beside it (size, rows, pitch), and as the \
             maker says.",
            self.say(taken.patch.along()),
            self.say(taken.patch.up()),
            // With its hole no farther in than the radius, every point of a rounded corner is as far off as the edges.
            self.say(taken.corner_radius.min(taken.edge)),
            many(taken.rows, "row", "rows"),
            taken.diameter.times(4).say_decimal(self.unit),
            taken.pitch.say_decimal(self.unit),
            taken.edge.say_decimal(self.unit)
        );
        let ends = [
            ("nose", taken.cut_out.from.minus(taken.patch.from)),
            ("rear", taken.patch.to.minus(taken.cut_out.to)),
            ("low", taken.cut_out.low.minus(taken.patch.low)),
            ("high", taken.patch.high.minus(taken.cut_out.high)),
        ];
        let step = self
            .step("side_lay", "Cut and lay the patch dry", text)
            .hazards(&[Hazard::Fall, Hazard::Cut, Hazard::Noise])
            .stop(1);
        let step = step
            .basis("4 D", "between the rows", published("TM 9-2320-303-24-2"))
            .basis("2 D", "edge distance", published("AC 43.13-1B 4-57"));
        ends.into_iter().fold(step, |step, (end, lap)| {
            step.value(
                &format!("side_lap_{end}:{}", self.other.mark),
                format!("Lap past the cut, {end} edge"),
                Target::Length(lap),
                Some(Length::sixty_fourths(4)),
                Standing::Memory,
            )
        })
    }

    fn hold(&self) -> Step {
        let text = "Before a rivet comes out: tie and brace the wall at the posts beside the opening, measure \
             both diagonals of the opening and write them down. One sheet at a time. With the roof open, this \
             does not begin."
            .to_owned();
        self.step("side_hold", "Hold the wall", text)
            .hazards(&[Hazard::Spread, Hazard::Tip])
            .stop(1)
            .value(
                &self.diagonal(),
                "Diagonals of the opening, difference",
                Target::Recorded,
                None,
                Standing::CommonPractice,
            )
    }

    fn diagonal(&self) -> String {
        format!("side_diagonal:{}", self.other.mark)
    }

    fn off(&self) -> Step {
        let sheet = self.taken.sheet;
        let (from, to) = (self.say(sheet.from), self.say(sheet.to));
        let cuts = &self.taken.cuts;
        let what = if cuts.is_empty() {
            format!("Sheet from the joint at station {from} to {to}")
        } else {
            let at: Vec<String> = cuts.iter().map(|at| self.say(*at)).collect();
            format!(
                "Section from station {from} to {to}. Cut straight down at {} from the nose, half a lap past the middle of \
                 the post, so that the old sheet still ends over it; saw depth set to the sheet, the post is not cut. \
                 A post that is bent, cracked or loose: stop, enter it as found more, it carries no joint. \
                 Then the sheet",
                at.join(" and ")
            )
        };
        let text = format!(
            "{what}: rivets drilled out with the holes of posts and rails kept; the sheet is \
             held before the last ones go. Holes that are worn take the next rivet size."
        );
        let step = self.step("side_off", "Old sheet off", text).hazards(&[
            Hazard::Fall,
            Hazard::Drop,
            Hazard::Cut,
            Hazard::Noise,
            Hazard::Wind,
        ]);
        let step = if cuts.is_empty() {
            step
        } else {
            step.hazards(&[Hazard::Wiring]).stop(1)
        };
        cuts.iter()
            .zip(["first", "second"])
            .fold(step.photos(1), |step, (at, name)| {
                step.value(
                    &format!("side_cut_{name}:{}", self.other.mark),
                    format!("{name} cut from the nose"),
                    Target::Length(*at),
                    Some(Length::sixty_fourths(4)),
                    Standing::Memory,
                )
            })
    }

    fn on(&self) -> Step {
        let taken = self.taken;
        let what = match taken.way {
            SideWay::Section => format!(
                "One piece of like material and thickness, under the sheet ahead and on top of the one behind, its ends \
                 over the posts at stations {} and {}",
                self.say(taken.sheet.from),
                self.say(taken.sheet.to)
            ),
            _ => format!(
                "{} of like material and thickness, the sheet nearer the nose on top at each joint",
                many(taken.pieces(), "sheet", "sheets")
            ),
        };
        let text = format!(
            "{what}. Squared, clamped. Existing holes of joints, posts and rails are located and transferred; none \
             is added to a rail. Size, rows and pitch as the factory joint beside it."
        );
        self.step("side_on", "New sheet on, squared, clamped", text)
            .hazards(&[
                Hazard::Fall,
                Hazard::Wind,
                Hazard::Drop,
                Hazard::Cut,
                Hazard::Noise,
            ])
            .stop(1)
            .value(
                &format!("side_diagonal_after:{}", self.other.mark),
                "Diagonals of the opening, difference",
                Target::SameAs(self.diagonal()),
                Some(Length::sixty_fourths(8)),
                Standing::Memory,
            )
    }

    fn clean(&self) -> Step {
        let text =
            "Both faces clean, scuffed, dry and within the label's temperatures; sealant under the whole \
             lap."
                .to_owned();
        self.step("side_clean", "Clean, scuff, bed in sealant", text)
            .hazards(&[Hazard::Chemical])
            .value(
                &format!("side_temperature:{}", self.other.mark),
                "Temperature of the sheet",
                Target::Words("within the label's limits".to_owned()),
                None,
                Standing::Shop,
            )
    }

    fn rivet(&self) -> Step {
        let taken = self.taken;
        let length = taken.rivet_length.map_or(String::new(), |length| {
            format!(", {} long where two sheets meet", length.say(Unit::In))
        });
        let text = format!(
            "{} rivets of {}{length}; on posts and rails by their grip. From the middle of each side to the \
             corners. A bad rivet comes out and is set again one size up.",
            taken.rivets,
            taken.diameter.say_decimal(self.unit)
        );
        let mut step = self
            .step("side_rivet", "Rivet", text)
            .hazards(&[Hazard::Fall, Hazard::Noise, Hazard::Cut, Hazard::Road])
            .stop(1)
            .basis(
                "at least 1.3 D wide, .3 D high",
                "formed head",
                published("MIL-HDBK-5H 8.1.2"),
            );
        step.task = Some("side_rivets".to_owned());
        step
    }

    fn seal(&self) -> Step {
        let text =
            "A closed bead along every edge and on every rivet, tooled so that water runs off; open at no \
             upper edge."
                .to_owned();
        self.step("side_seal", "Seal", text)
            .hazards(&[Hazard::Chemical])
            .photos(1)
    }
}

fn published(source: &str) -> Standing {
    Standing::Published(source.to_owned())
}
