//! What every job begins and ends with, and the marks outside the roof group.

use super::{CURE_STARTED, Hazard, OtherMethod, OtherWork, Step, Target, Work};
use crate::basis::Standing;
use crate::mark::Part;

/// Make safe, and open what was not seen.
pub(super) fn begin(work: &Work) -> Vec<Step> {
    let mut steps = vec![
        Step::new(
            "make_safe",
            "Make it safe",
            "Brakes set, wheels chocked. Locked out and tagged out in the six steps: prepare, shut down, \
             isolate, lock and tag, release what is stored, verify. Uncoupled: a stand under the kingpin \
             area; level and support looked at before anyone is on it.",
        )
        .hazards(&[Hazard::Tip, Hazard::Residue])
        .stop(1)
        .task("make_safe")
        .basis(
            "six steps",
            "lock-out",
            Standing::Published("29 CFR 1910.147(d)".to_owned()),
        ),
        Step::new(
            "before_photos",
            "Before photos",
            "Look whether the job has them: four corners, all sides, roof, inside, close-ups of each \
             mark. Take what is missing now; afterwards it cannot be made good.",
        )
        .photos(4),
    ];
    if work.sealed {
        steps.push(
            Step::new(
                "open_inside",
                "Open and look inside",
                "The unit was sealed when it was marked, so the inside is not seen. Break the seal only \
                 with a go-ahead of whoever owns the load; write down its number. Put what you find on \
                 the fold-out as found more.",
            )
            .hazards(&[Hazard::Residue, Hazard::Drop])
            .stop(2)
            .value(
                "seal_number",
                "Number of the seal",
                Target::Recorded,
                None,
                Standing::Unit,
            ),
        );
    }
    let wiring = if work.wiring_seen {
        "Wiring, antennas, panels and trackers are on the job as located; look again at the places to be \
         cut. Power off and locked."
    } else {
        "Wiring was not located yet: find harness, lamps, antennas, solar panels and trackers before \
         anything is cut. Power off and locked."
    };
    steps.push(
        Step::new("power_off", "Wiring found, power off", wiring)
            .hazards(&[Hazard::Wiring])
            .stop(0),
    );
    steps
}

/// Parts on which nothing is done before the maker has answered.
pub(super) fn ask_the_maker(work: &Work) -> Vec<Step> {
    let asked = work
        .others
        .iter()
        .filter(|other| other.maker || other.way == OtherMethod::AskTheMaker);
    asked
        .map(|other| {
            let text = format!(
                "{}. No heating, straightening, welding or drilling here before the maker's instruction \
                 is in hand. Structural welding only by qualified people, as the maker says. A bent rear \
                 guard is replaced and its label kept. Write down who answered, and when.",
                other.title
            );
            Step::new(
                format!("ask_the_maker:{}", other.mark),
                format!("Ask the maker: {}", name(other.part)),
                text,
            )
            .hazards(&[Hazard::HotWork, Hazard::Road])
            .stop(1)
            .value(
                &format!("maker:{}", other.mark),
                "Maker's instruction: number, date, who",
                Target::Written("instruction in hand".to_owned()),
                None,
                Standing::Unit,
            )
            .basis(
                "as the maker says",
                "frame and rails",
                Standing::Published("49 CFR 393.201".to_owned()),
            )
        })
        .collect()
}

/// A mark that the technician does by own entry.
pub(super) fn by_hand(other: &OtherWork) -> Step {
    Step::new(
        format!("by_hand:{}", other.mark),
        other.title.clone(),
        format!(
            "{}: {}. Entered by hand, so the program has no rule for it: no weaker than the factory seam beside it \
             (size, rows, pitch), and the maker's repair instruction before everything.",
            name(other.part),
            other.title
        ),
    )
    .hazards(hazards(other.part))
    .stop(2)
    .task(&format!("by_hand:{}", other.mark))
}

/// Corner work and side work is done while the roof is off.
pub(crate) fn while_roof_is_off(part: Part) -> bool {
    use Part::{BottomRail, CornerCap, CornerPost, NoseWall, RearHeader, SidePost, SideSheet, TopRail};
    matches!(
        part,
        NoseWall | CornerPost | CornerCap | TopRail | BottomRail | RearHeader | SideSheet | SidePost
    )
}

fn hazards(part: Part) -> &'static [Hazard] {
    match part {
        Part::Lamp | Part::Harness => &[Hazard::Wiring],
        Part::Door | Part::Hinge | Part::MudFlap | Part::LandingGear | Part::RearGuard => {
            &[Hazard::Drop, Hazard::Cut]
        }
        Part::TopRail
        | Part::CornerPost
        | Part::CornerCap
        | Part::NoseRail
        | Part::RearHeader
        | Part::RoofSheet
        | Part::RoofBow
        | Part::FrontRoofBow => &[
            Hazard::Fall,
            Hazard::Spread,
            Hazard::Cut,
            Hazard::Noise,
            Hazard::Road,
        ],
        Part::Floor | Part::Lining | Part::ScuffBand => &[Hazard::Residue, Hazard::Cut],
        Part::ReflectiveSheeting | Part::Decal => &[Hazard::Chemical],
        Part::Crossmember | Part::Kingpin | Part::RearFrame => &[Hazard::Tip, Hazard::HotWork, Hazard::Road],
        Part::NoseWall | Part::SideSheet | Part::SidePost | Part::BottomRail => {
            &[Hazard::Cut, Hazard::Noise, Hazard::Road]
        }
    }
}

/// Whether the work opens what keeps water out: a cure and a leak test follow it.
pub(super) fn weather(work: &Work) -> bool {
    work.roof.is_some() || work.others.iter().any(keeps_water_out)
}

/// Close up, prove, hand over; the new lining and scuff band go in where the old ones go back.
pub(super) fn finish(work: &Work, new_lining: Vec<Step>, new_band: Vec<Step>) -> Vec<Step> {
    let weather = weather(work);
    let lining = weather
        || work
            .others
            .iter()
            .any(|other| other.taken.as_ref().is_some_and(|taken| taken.lining));
    let mut steps = vec![
        Step::new(
            "swarf",
            "Swarf and tools out",
            "Sweep and vacuum roof, rails, floor and lamps; count tools. Swarf left in a seam cuts tape \
             and starts rust.",
        )
        .hazards(&[Hazard::Cut])
        .task("clean_up"),
    ];
    if weather {
        steps.push(Step::new("cure", "Let it cure", cure(work)).stop(0).value(
            CURE_STARTED,
            "Cure started: time and temperature, as in 14:30, 72 F",
            Target::Recorded,
            None,
            Standing::Unit,
        ));
    }
    steps.push(
        Step::new(
            "lights",
            "Lights and ABS",
            "Connect and test every lamp and the ABS lamp; look at the harness where it was moved.",
        )
        .hazards(&[Hazard::Wiring])
        .stop(1)
        .task("lights")
        .basis(
            "table 1",
            "lamps and where they sit",
            Standing::Published("49 CFR 393.11".to_owned()),
        ),
    );
    if weather {
        steps.push(
            Step::new(
                "leak_test",
                "Leak test",
                "After the cure and before the lining goes back: water from below to above, somebody \
                 inside with a lamp. A drop anywhere: stop, mark it, seal, cure, test again.",
            )
            .stop(2)
            .task("leak_test")
            .value(
                "leak",
                "Inside, under every seam, rail and patch",
                Target::Words("dry".to_owned()),
                None,
                Standing::CommonPractice,
            ),
        );
    }
    steps.extend(new_lining);
    if lining {
        steps.push(
            Step::new(
                "lining",
                "Lining back",
                "Lining and scuff band back as they were, screws short enough for the post.",
            )
            .hazards(&[Hazard::Cut, Hazard::Drop])
            .photos(1)
            .task("lining"),
        );
    }
    steps.extend(new_band);
    steps.push(
        Step::new(
            "sheeting",
            "Sheeting, decals, unit number",
            "Make good reflective sheeting, decals and the unit number wherever the work reached them. \
             The identification plate stays on the unit.",
        )
        .hazards(&[Hazard::Chemical])
        .photos(2)
        .task("sheeting")
        .basis(
            "S8.2; 393.13 if built before 1 December 1993",
            "reflective sheeting",
            Standing::Published("49 CFR 571.108".to_owned()),
        ),
    );
    steps.push(
        Step::new(
            "after_photos",
            "After photos",
            "From the same places as the before photos, paired with them.",
        )
        .photos(4),
    );
    steps.push(
        Step::new(
            "take_down",
            "Take down and unlock",
            "Platforms away. Each lock and tag is taken off by the person who put it on. Chocks and \
             stand only when the unit is coupled or on its landing gear.",
        )
        .hazards(&[Hazard::Tip, Hazard::Fall]),
    );
    steps
}

/// Whether the work opens what keeps water out, so that cure and leak test follow it.
pub(crate) fn keeps_water_out(other: &OtherWork) -> bool {
    match (&other.taken, other.way) {
        (Some(taken), _) => taken.wet,
        (None, OtherMethod::AskTheMaker) => false,
        (None, _) => keeps_it_out(other.part),
    }
}

fn keeps_it_out(part: Part) -> bool {
    while_roof_is_off(part)
        || matches!(
            part,
            Part::NoseRail | Part::RoofSheet | Part::Door | Part::Floor | Part::RearFrame
        )
}

fn cure(work: &Work) -> String {
    match &work.cure {
        Some(label) => format!(
            "By the product label: {label}. Before that: no leak test, no washing, no loading, no release."
        ),
        None => "The shop book holds no cure time of this product's label. Read the label for the \
         temperature of the day and enter it; it is never guessed. Before that: no leak test, no \
         washing, no loading, no release."
            .to_owned(),
    }
}

/// The part's trade word.
pub(super) fn name(part: Part) -> String {
    let code = serde_json::to_value(part).ok();
    code.as_ref()
        .and_then(serde_json::Value::as_str)
        .unwrap_or("part")
        .replace('_', " ")
}
