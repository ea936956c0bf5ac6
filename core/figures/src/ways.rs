//! Ways to fix, side by side: which fit the shop's rules and why, what each takes, and which is cheapest.

use crate::basis::many;
use crate::body::Plan;
use crate::crew_plan::{InBay, in_bay};
use crate::error::Error;
use crate::estimate::{Chosen, Estimate, Group, without_range};
use crate::group::{Together, WayKey, asks_the_maker, composite_side, groups, may_stay};
use crate::mark::{Mark, Part, PartHit, parts_hit};
use crate::measure::Unit;
use crate::parts::{group_way, keys, maker_instead, none_because, title};
use crate::patch::why_none;
use crate::roof_repair::{RoofRepair, apart};
use crate::shop::Book;
use crate::side_patch::{Rect, SideTakeoff, SideWay, is_side_sheet, side_way};
use crate::takeoff::RoofWay;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// One way of fixing a group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Way {
    /// Its key, as stored with the choice.
    pub key: WayKey,
    /// As it is read.
    pub title: String,
    /// Whether it fits the rules; if not, `why` says why not.
    pub fits: bool,
    /// Reasons, in sentences.
    pub why: Vec<String>,
    /// Hours of one person, as if this were the job's only work; none where nothing is figured.
    pub hours: Option<String>,
    /// How many people.
    pub people: u32,
    /// Total with supplies and tax, as if this were the job's only work; none where nothing is figured.
    pub price: Option<String>,
    /// Time in the bay, and for how long of it the roof is open, by the crew plan as if this were the job's only work;
    /// none where nothing is figured.
    pub in_bay: Option<InBay>,
    /// The cheapest that fits, of those that need nothing measured first if there is one.
    pub best: bool,
    /// It fits only up to a depth that was not measured yet.
    pub measure_first: bool,
}

/// What is fixed together, with its ways.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Choice {
    /// `roof`, or a mark's id.
    pub group: String,
    /// As it is read.
    pub title: String,
    /// Ids of the marks.
    pub marks: Vec<String>,
    /// The ways, those that fit first as they stand in the trade: small to large.
    pub ways: Vec<Way>,
    /// Hidden parts to be looked at when it is open, in words.
    pub look_at: Vec<String>,
}

/// Said where only the maker may decide.
const MAKER_FIRST: &str =
    "Only with the maker's instruction in hand: what it asks for is entered here, by the person who read it.";

/// The ways of every group of marks.
///
/// # Errors
/// A plan that cannot be worked with, or prices that are none.
pub fn ways(plan: &Plan, marks: &[Mark], book: &Book, unit: Unit) -> Result<Vec<Choice>, Error> {
    plan.check()?;
    let comparer = Comparer {
        plan,
        marks,
        book,
        unit,
    };
    groups(marks)
        .iter()
        .map(|together| comparer.choice(together))
        .collect()
}

/// Which of these ways are reckoned with: those that fit; of what has to be measured first nothing, while another way
/// with a price is sure.
pub(crate) fn reckoned_with(ways: &[Way]) -> impl Fn(&Way) -> bool + use<> {
    let sure = ways
        .iter()
        .any(|way| way.fits && !way.measure_first && way.price.is_some());
    move |way| way.fits && !(sure && way.measure_first)
}

struct Comparer<'a> {
    plan: &'a Plan,
    marks: &'a [Mark],
    book: &'a Book,
    unit: Unit,
}

impl Comparer<'_> {
    fn choice(&self, together: &Together<'_>) -> Result<Choice, Error> {
        let mut ways = if together.is_roof() {
            self.roof(together)?
        } else {
            self.other(together)?
        };
        let price = |way: &Way| way.price.as_deref().and_then(|text| Decimal::from_str(text).ok());
        let may = reckoned_with(&ways);
        let least = ways.iter().filter(|way| may(way)).filter_map(price).min();
        for way in &mut ways {
            way.best = may(way) && least.is_some() && price(way) == least;
        }
        Ok(Choice {
            group: together.key.clone(),
            title: together.title.clone(),
            marks: together.marks.iter().map(|mark| mark.id.clone()).collect(),
            ways,
            look_at: self.look_at(together),
        })
    }

    fn roof(&self, together: &Together<'_>) -> Result<Vec<Way>, Error> {
        let mut ways = self.parts(together)?;
        ways.extend([
            self.patch(together)?,
            self.section(together, WayKey::FrontSection, "Front section")?,
            self.section(together, WayKey::MiddleSection, "Middle section")?,
            self.section(together, WayKey::RearSection, "Rear section")?,
        ]);
        // Told of only where there is something to leave between them.
        if apart(&together.marks, self.book.roof.seam_strip.value).is_some() {
            ways.push(self.section(together, WayKey::TwoSections, "Two sections")?);
        }
        ways.extend([
            self.section(together, WayKey::WholeRoof, "Whole roof")?,
            by_hand(""),
        ]);
        Ok(ways)
    }

    /// The ways of [`crate::parts`] that the marks have.
    fn parts(&self, together: &Together<'_>) -> Result<Vec<Way>, Error> {
        let marks = &together.marks;
        let one = |key: WayKey| match group_way(self.plan, marks, self.book, key, self.unit) {
            Err(why) => Ok(shut(key, &title(self.plan, marks, key), why)),
            Ok(found) => {
                let mut why: Vec<String> = found.into_iter().flat_map(|(taken, _)| taken.why).collect();
                why.dedup();
                self.priced(together, key, why)
            }
        };
        keys(self.plan, marks).into_iter().map(one).collect()
    }

    fn patch(&self, together: &Together<'_>) -> Result<Way, Error> {
        let rules = &self.book.patch;
        let why = why_none(self.plan, &together.marks, rules, self.unit);
        if !why.is_empty() {
            return Ok(shut(WayKey::Patch, "Patch", why));
        }
        let why = vec![
            "Small, clear of rails, seams and bows (shop rule): lapped, sealed and riveted over sound sheet."
                .to_owned(),
        ];
        self.priced(together, WayKey::Patch, why)
    }

    /// A way that opens the roof: a section, or the whole of it.
    fn section(&self, together: &Together<'_>, key: WayKey, title: &str) -> Result<Way, Error> {
        let found = RoofRepair::of(self.plan, &together.marks, key, self.book, self.unit)?;
        let repair = match found {
            Ok(found) => found,
            Err(why) => return Ok(shut(key, title, why)),
        };
        let mut why: Vec<String> = repair.sections().flat_map(|taken| taken.why.clone()).collect();
        let sheets = repair.sections().map(|taken| taken.rough_length.say(self.unit));
        let sheet = sheets.collect::<Vec<_>>().join(" and ");
        let (hit, opened) = repair.bows();
        why.push(match key {
            WayKey::WholeRoof => {
                format!("No seam; {sheet} of sheet, all {opened} bows opened, {hit} replaced.")
            }
            _ => format!("{sheet} of sheet, {hit} of {opened} opened bows replaced."),
        });
        if hit > 0 && together.marks.iter().all(|mark| mark.part != Part::RoofBow) {
            why.push("No bow has a mark of its own, so all under the damage are taken as bent: mark those that are, and only they are replaced.".to_owned());
        }
        if repair.job.nose_rail && repair.taken.way == RoofWay::Section {
            why.push("Nose rail, front bow and corner caps under the same open roof.".to_owned());
        }
        self.priced(together, key, why)
    }

    /// A way that fits, with the figures that it would have as the job's only work.
    fn priced(&self, together: &Together<'_>, key: WayKey, why: Vec<String>) -> Result<Way, Error> {
        let marks: Vec<Mark> = together.marks.iter().map(|mark| (*mark).clone()).collect();
        let chosen = Chosen {
            group: together.key.clone(),
            way: key.key().to_owned(),
            by_hand: None,
        };
        let alone: Estimate = without_range(self.plan, &marks, &[chosen], self.book, &[], self.unit)?;
        let group: Option<&Group> = alone.groups.first();
        let open = |group: &Group| group.parts.iter().any(|part| part.depth_open);
        Ok(Way {
            key,
            title: group.map(|group| group.way_title.clone()).unwrap_or_default(),
            fits: group.is_some(),
            people: group.map_or(1, |group| group.people),
            in_bay: group.map(|_| in_bay(&alone, self.book)).transpose()?,
            why: if group.is_some() { why } else { alone.lacks },
            hours: Some(alone.total_hours),
            best: false,
            measure_first: group.is_some_and(open),
            price: Some(alone.total),
        })
    }

    fn other(&self, together: &Together<'_>) -> Result<Vec<Way>, Error> {
        let ask = |reason: &str| Way {
            why: vec![reason.to_owned()],
            ..open(WayKey::AskTheMaker, "Ask the maker")
        };
        if let Some(reason) = together.marks.iter().find_map(|mark| asks_the_maker(mark)) {
            return Ok(vec![ask(reason), by_hand(MAKER_FIRST)]);
        }
        let composite = |mark: &&Mark| composite_side(self.plan, mark);
        if let Some(reason) = together.marks.iter().find_map(composite) {
            let stays = stays(together);
            return Ok([ask(reason)]
                .into_iter()
                .chain(stays)
                .chain([by_hand(reason)])
                .collect());
        }
        let mut ways = self.parts(together)?;
        let side = |mark: &&&Mark| is_side_sheet(self.plan, mark);
        if let Some(mark) = together.marks.first().filter(side) {
            ways.extend([
                self.side(together, mark, WayKey::SidePatch, "Side patch")?,
                self.side(together, mark, WayKey::SideSection, "Side section, post to post")?,
                self.side(together, mark, WayKey::WholeSideSheet, "Whole side sheet")?,
            ]);
        }
        let reason = match together.marks.first() {
            Some(mark) if ways.is_empty() => none_because(self.plan, mark),
            _ => String::new(),
        };
        let instead = together.marks.iter().find_map(|mark| maker_instead(mark));
        ways.extend(instead.map(ask));
        ways.extend(stays(together));
        ways.push(by_hand(&reason));
        Ok(ways)
    }

    fn side(&self, together: &Together<'_>, mark: &Mark, key: WayKey, title: &str) -> Result<Way, Error> {
        let way = key.side_way().unwrap_or(SideWay::Patch);
        let taken = match side_way(self.plan, mark, &self.book.side, way, self.unit) {
            Ok(taken) => taken,
            Err(why) => return Ok(shut(key, title, why)),
        };
        let mut why = taken.why.clone();
        why.push(self.size(&taken));
        why.extend(self.beside(mark, &taken));
        self.priced(together, key, why)
    }

    fn size(&self, taken: &SideTakeoff) -> String {
        let [along, up] = taken.piece(&self.book.side).map(|side| side.say(self.unit));
        match taken.way {
            SideWay::Patch => format!(
                "{along} x {up} of sheet, {} lap all round, {} rivets.",
                taken.overlap.say(self.unit),
                taken.rivets
            ),
            SideWay::Section => format!(
                "{along} x {up} of sheet, bottom rail to top rail, {} rivets.",
                taken.rivets
            ),
            SideWay::WholeSheet => {
                let count = many(taken.pieces(), "sheet", "sheets");
                format!("{count} of {along} x {up}, {} rivets.", taken.rivets)
            }
        }
    }

    /// Another damage so near that its patch would not keep the shop's distance from this one.
    fn beside(&self, mark: &Mark, taken: &SideTakeoff) -> Option<String> {
        let gap = self.book.side.patch_gap.value;
        let reach = match taken.way {
            SideWay::Patch => taken.patch.grown(gap),
            SideWay::Section | SideWay::WholeSheet => return None,
        };
        let near = |other: &&Mark| {
            let place = other.place;
            let damage = Rect::of(&place);
            let same = place.surface == mark.place.surface && other.part == mark.part;
            other.id != mark.id && same && reach.touches(damage.grown(taken.patch_margin()))
        };
        self.marks.iter().find(near).map(|_| {
            format!(
                "Another damage lies so near that its patch would not keep {} from this one (shop rule): one mark over both, or a whole sheet, may be the way.",
                gap.say(self.unit)
            )
        })
    }

    fn look_at(&self, together: &Together<'_>) -> Vec<String> {
        let mut found: Vec<PartHit> = Vec::new();
        for hit in together
            .marks
            .iter()
            .flat_map(|mark| parts_hit(self.plan, mark))
            .filter(|hit| hit.hidden)
        {
            match found.iter_mut().find(|known| known.part == hit.part) {
                None => found.push(hit),
                Some(known) => {
                    known.numbers.extend(hit.numbers);
                    known.numbers.sort_unstable();
                    known.numbers.dedup();
                }
            }
        }
        let words = |hit: &PartHit| {
            let numbers: Vec<String> = hit.numbers.iter().map(u32::to_string).collect();
            format!("{} {}", hit.part.word(), numbers.join(", "))
                .trim_end()
                .to_owned()
        };
        found.iter().map(words).collect()
    }
}

fn open(key: WayKey, title: &str) -> Way {
    Way {
        key,
        title: title.to_owned(),
        fits: true,
        why: Vec::new(),
        hours: None,
        people: 1,
        price: None,
        in_bay: None,
        best: false,
        measure_first: false,
    }
}

fn shut(key: WayKey, title: &str, why: Vec<String>) -> Way {
    Way {
        fits: false,
        why,
        ..open(key, title)
    }
}

/// Leaving it, where nothing but its looks is hurt.
fn stays(together: &Together<'_>) -> Option<Way> {
    together.marks.iter().all(|mark| may_stay(mark)).then(|| Way {
        why: vec!["Nothing is done. Only where no hole, no open crack and no loose edge is found, water stays out, and the \
                   office agrees by its go-ahead; it stays in the packet as seen and left."
            .to_owned()],
        ..open(WayKey::LeaveIt, "Leave it as it is")
    })
}

fn by_hand(reason: &str) -> Way {
    let mut why =
        vec!["Not figured: you enter hours and material, and they are marked as entered by hand.".to_owned()];
    if !reason.is_empty() {
        why.insert(0, reason.to_owned());
    }
    Way {
        why,
        ..open(WayKey::ByHand, "By hand")
    }
}
