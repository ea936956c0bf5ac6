//! Rivet layout: the holes of each line of the roof and side work, from one hook of the tape. Holes that are there
//! are reused; one that was measured larger than the rivet's hole takes the next size; a rail gets no extra ones.

use crate::{
    answer::{HoleView, Refusal, RivetLineView},
    now::Now,
    roof, typed,
    view::steps,
    words,
};
use bowseam_figures::{
    basis::{Basis, Standing},
    fasten::{Hole, RivetKind, RivetLine, Rivets, rivets},
    fasten_holes::{PlaceIs, next_size},
    measure::{Length, Unit},
    rail_rivets::Carrier,
    side_patch::{SideTakeoff, SideWay},
};
use bowseam_jobs::stock::HoleAt;

/// One line before its holes are laid out.
struct Wanted {
    key: String,
    title: String,
    hook: &'static str,
    length: Length,
    diameter: Length,
    /// Between the heads: sheets and rail, and the film between them.
    layers: Vec<Length>,
    film: Vec<Length>,
    /// The working of grip and length, where a rail is among the layers.
    of_rail: Vec<Basis>,
    edge: Length,
    pitch: Length,
    /// Holes of a rail: no other is made.
    rail: Option<Vec<Length>>,
}

/// All lines of the work that the program figures.
pub fn lines(now: &Now) -> Vec<RivetLineView> {
    let mut wanted = of_roof(now);
    for other in &now.work().others {
        let side = other.side.as_ref().filter(|side| side.way == SideWay::Patch);
        wanted.extend(side.into_iter().flat_map(|side| of_patch(now, &other.mark, side)));
    }
    wanted.iter().filter_map(|line| layout(now, line)).collect()
}

fn of_roof(now: &Now) -> Vec<Wanted> {
    let (marks, patches) = roof::roof_holes(now);
    let (diameter, sheet) = (now.book.roof.rivet_diameter.value, now.plan.roof_sheet);
    let rail = steps::rivet(now, diameter, &[sheet], Carrier::Rail);
    let mut lines = Vec::new();
    for line in marks {
        let nose = line.item == "nose rail rivets";
        let length = if nose {
            now.plan.rail_width_outside
        } else {
            line.running.last().copied().unwrap_or_default()
        };
        lines.push(Wanted {
            key: line.item.clone(),
            title: if nose {
                "Nose rail"
            } else {
                "Top rails, both alike"
            }
            .to_owned(),
            hook: if nose {
                "at the roadside end of the nose rail"
            } else {
                "at the nose"
            },
            length,
            diameter,
            layers: rail.layers.clone(),
            film: rail.film.clone(),
            of_rail: rail.basis.clone(),
            edge: diameter.times(2),
            pitch: now.plan.rail_hole_pitch,
            rail: (!nose).then_some(line.running),
        });
    }
    let rules = &now.book.patch;
    for (number, patch) in patches.iter().enumerate() {
        let number = number.saturating_add(1);
        let [along, across] = patch.patch;
        let edge = |key: &str, title: &str, hook, length| Wanted {
            key: format!("patch/{}/{key}", patch.mark),
            title: format!("Roof patch {number}, {title}"),
            hook,
            length,
            diameter,
            layers: vec![sheet; 2],
            film: vec![now.book.side.film.value],
            of_rail: Vec::new(),
            edge: rules.edge.value,
            pitch: rules.pitch.value,
            rail: None,
        };
        lines.push(edge(
            "along",
            "roadside and curbside edge",
            "at the patch's front edge",
            along,
        ));
        lines.push(edge(
            "across",
            "front and rear edge",
            "at the patch's roadside edge",
            across,
        ));
    }
    lines
}

/// Rows of a side patch: each ring lies 4 D inside the one before.
fn of_patch(now: &Now, mark: &str, side: &SideTakeoff) -> Vec<Wanted> {
    let mut lines = Vec::new();
    for row in 0..side.rows {
        let number = row.saturating_add(1);
        let inset = side.edge.plus(side.diameter.times(4).times(row.into()));
        let edge = |key: &str, title: &str, hook, length| Wanted {
            key: format!("side/{mark}/{key}/{number}"),
            title: format!("Side patch, {title}, row {number} from the edge"),
            hook,
            length,
            diameter: side.diameter,
            layers: vec![now.plan.side_sheet; 2],
            film: vec![now.book.side.film.value],
            of_rail: Vec::new(),
            edge: inset,
            pitch: side.pitch,
            rail: None,
        };
        lines.push(edge(
            "along",
            "lower and upper edge",
            "at the patch's front edge",
            side.patch.along(),
        ));
        lines.push(edge(
            "up",
            "front and rear edge",
            "at the patch's lower edge",
            side.patch.up(),
        ));
    }
    lines
}

fn layout(now: &Now, line: &Wanted) -> Option<RivetLineView> {
    let measured = now.job.holes.get(&line.key).map(|kept| kept.value.clone());
    let there = measured.clone().unwrap_or_default();
    let hole = |hole: &HoleAt| Hole {
        at: hole.at,
        diameter: hole.diameter,
    };
    let asked = RivetLine {
        layers: line.layers.clone(),
        film: line.film.clone(),
        diameter: line.diameter,
        kind: RivetKind::Solid,
        line_length: line.length,
        existing_holes: there.iter().map(hole).collect(),
        edge: Some(line.edge),
        pitch: Some(line.pitch),
    };
    let found = rivets(&asked, &now.book.rivets, now.unit).ok()?;
    let limit = found.hole.unwrap_or(line.diameter);
    let worn = |at: Length| {
        there
            .iter()
            .any(|hole| hole.at == at && hole.diameter.is_some_and(|size| size > limit))
    };
    let view = |at: Length, state: &str| HoleView {
        at,
        state: state.to_owned(),
    };
    let mut holes: Vec<HoleView> = match &line.rail {
        // A rail keeps its own holes: as measured, else at its pitch.
        Some(own) => {
            let own = if there.is_empty() {
                own.clone()
            } else {
                there.iter().map(|hole| hole.at).collect()
            };
            own.into_iter()
                .map(|at| view(at, if worn(at) { "next_size" } else { "reused" }))
                .collect()
        }
        None => {
            let state = |is: PlaceIs| match is {
                PlaceIs::Worn => "next_size",
                PlaceIs::Reused => "reused",
                PlaceIs::New => "new",
            };
            let laid = found.holes.iter();
            let mut all: Vec<HoleView> = laid.map(|hole| view(hole.at, state(hole.is))).collect();
            let unused = there.iter().filter(|hole| !found.places.contains(&hole.at));
            all.extend(unused.map(|hole| view(hole.at, "closed")));
            all
        }
    };
    holes.sort_by_key(|hole| hole.at);
    let basis = basis(now, line, &found);
    Some(RivetLineView {
        key: line.key.clone(),
        title: match found.length {
            Some(length) => format!(
                "{}: rivets {} x {}",
                line.title,
                line.diameter.say_decimal(now.unit),
                length.say(Unit::In)
            ),
            None => line.title.clone(),
        },
        hook: line.hook.to_owned(),
        length: line.length,
        words: counts(now, line, &holes),
        holes,
        measured: measured
            .map(|holes| typed_again(&holes, now.unit))
            .unwrap_or_default(),
        warnings: if line.rail.is_some() {
            Vec::new()
        } else {
            found.warnings
        },
        basis,
    })
}

fn basis(now: &Now, line: &Wanted, found: &Rivets) -> Vec<Basis> {
    let say = |length: Length| length.say_decimal(now.unit);
    let mut basis = vec![Basis::new(say(line.diameter), "rivet diameter", Standing::Shop)];
    let hole = found.hole;
    basis.extend(hole.map(|hole| Basis::new(say(hole), "its hole, by table", Standing::Memory)));
    if line.of_rail.is_empty() {
        let length = found
            .length
            .map(|length| length.say(Unit::In))
            .unwrap_or_default();
        basis.extend([
            Basis::new(
                say(found.grip),
                "grip, both sheets and the film",
                Standing::Worked,
            ),
            Basis::new(length, "rivet, the next length sold", Standing::Worked),
        ]);
    } else {
        basis.extend(line.of_rail.iter().cloned());
    }
    if line.rail.is_some() {
        basis.push(Basis::new(
            "no extra ones",
            "existing holes of the rail are reused",
            Standing::CommonPractice,
        ));
    } else {
        basis.push(Basis::new(
            say(line.edge),
            "first and last from the ends",
            Standing::Worked,
        ));
        basis.push(Basis::new(
            say(line.pitch),
            "no wider apart than this",
            Standing::Shop,
        ));
    }
    basis
}

fn counts(now: &Now, line: &Wanted, holes: &[HoleView]) -> String {
    let count = |state: &str| holes.iter().filter(|hole| hole.state == state).count();
    let mut said = Vec::new();
    for (state, words) in [
        ("new", "new"),
        ("reused", "reused"),
        ("closed", "not used: close or cover"),
    ] {
        let n = count(state);
        if n > 0 {
            said.push(format!("{n} {words}"));
        }
    }
    let worn = count("next_size");
    if worn > 0 {
        said.push(match next_size(RivetKind::Solid, line.diameter) {
            Some((rivet, hole)) => format!(
                "{worn} worn: next rivet size {}, hole {}",
                rivet.say(Unit::In),
                hole.say_decimal(now.unit)
            ),
            None => format!("{worn} worn: no larger rivet is in the table, ask the maker"),
        });
    }
    let pitch = pitch(holes, now.unit).map_or_else(String::new, |pitch| format!("; {pitch}"));
    format!(
        "{}: {}{pitch}",
        words::count(holes.len(), "hole", "holes"),
        said.join(", ")
    )
}

/// How far the holes that are riveted stand apart, in words; a tape tells no less than a sixteenth.
fn pitch(holes: &[HoleView], unit: Unit) -> Option<String> {
    let used = || holes.iter().filter(|hole| hole.state != "closed");
    let gaps = used().zip(used().skip(1)).map(|(one, two)| two.at.minus(one.at));
    let (least, most) = (gaps.clone().min()?, gaps.max()?);
    Some(if most.minus(least) < Length::sixty_fourths(4) {
        format!("{} apart", most.say(unit))
    } else {
        format!("{} to {} apart", least.say(unit), most.say(unit))
    })
}

/// Holes as typed: places from the hook, each with its size behind an `@` where it was measured.
///
/// # Errors
/// A place or a size that is no length.
pub fn read(typed: &str, unit: Unit) -> Result<Vec<HoleAt>, Refusal> {
    let parts = typed
        .split([',', ';', '\n'])
        .map(str::trim)
        .filter(|part| !part.is_empty());
    let mut holes = Vec::new();
    for part in parts {
        let (at, size) = part
            .split_once('@')
            .map_or((part, None), |(at, size)| (at, Some(size)));
        let diameter = size
            .map(|size| typed::length(size.trim(), unit, "holes"))
            .transpose()?;
        holes.push(HoleAt {
            at: typed::length(at.trim(), unit, "holes")?,
            diameter,
        });
    }
    holes.sort_by_key(|hole| hole.at);
    holes.dedup_by_key(|hole| hole.at);
    Ok(holes)
}

fn typed_again(holes: &[HoleAt], unit: Unit) -> String {
    let one = |hole: &HoleAt| match hole.diameter {
        Some(size) => format!("{} @ {}", hole.at.say(unit), size.say_decimal(unit)),
        None => hole.at.say(unit),
    };
    holes.iter().map(one).collect::<Vec<_>>().join(", ")
}
