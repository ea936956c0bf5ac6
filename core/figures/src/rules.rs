//! The practice values of the rules: what a shop may change, what each starts with, and where each starting
//! value comes from. They are plain fields, never expressions.

use crate::basis::{Amount, Given, Standing};
use crate::error::Error;
use crate::measure::{Length, Unit};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// One value as it is read in the shop book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
pub struct Row {
    /// The group of values it stands in.
    pub group: String,
    /// Its field, stable.
    pub key: String,
    /// What it is.
    pub name: String,
    /// The value as it is read.
    pub value: String,
    /// Where it comes from.
    pub standing: Standing,
}

/// A value as it is read, and as it is typed.
pub(crate) trait Show: Sized {
    fn show(&self, unit: Unit) -> String;

    /// What was typed; the error says what is accepted.
    fn read(typed: &str, unit: Unit) -> Result<Self, Error>;
}

pub(crate) fn unread(typed: &str, accepted: &str) -> Error {
    Error::new(
        "value_unread",
        format!("“{}” is not understood. Accepted is {accepted}.", typed.trim()),
    )
}

impl Show for Length {
    fn show(&self, unit: Unit) -> String {
        // Sheet and tolerances are named in decimals, what is read from a tape in fractions.
        if *self < Length::sixty_fourths(16) {
            self.say_decimal(unit)
        } else {
            // One that was set in the other unit is shown as it was set: a rounded one could not be typed back.
            let other = match unit {
                Unit::In => Unit::Mm,
                Unit::Mm => Unit::In,
            };
            let exact = [unit, other]
                .map(|unit| self.say(unit))
                .into_iter()
                .find(|said| !said.starts_with('~'));
            exact.unwrap_or_else(|| self.say_decimal(unit))
        }
    }

    fn read(typed: &str, unit: Unit) -> Result<Self, Error> {
        let length = Self::parse(typed, unit)?;
        match length.is_sound() {
            true => Ok(length),
            false => Err(unread(typed, "a length from 0 to 100 m")),
        }
    }
}

impl Show for [Length; 2] {
    fn show(&self, unit: Unit) -> String {
        self.map(|length| length.show(unit)).join(" x ")
    }

    fn read(typed: &str, unit: Unit) -> Result<Self, Error> {
        let sides = typed.split(['x', '×']).map(|side| Length::read(side, unit));
        let sides = sides.collect::<Result<Vec<_>, Error>>()?;
        <[Length; 2]>::try_from(sides).map_err(|_| unread(typed, "two lengths, 48 x 96"))
    }
}

impl Show for Vec<Length> {
    fn show(&self, unit: Unit) -> String {
        let all: Vec<String> = self.iter().map(|length| length.show(unit)).collect();
        if all.is_empty() {
            "any".to_owned()
        } else {
            all.join(", ")
        }
    }

    fn read(typed: &str, unit: Unit) -> Result<Self, Error> {
        if typed.trim() == "any" {
            return Ok(Self::new());
        }
        let mut all = typed
            .split(',')
            .map(|length| Length::read(length, unit))
            .collect::<Result<Self, Error>>()?;
        all.sort_unstable();
        Ok(all)
    }
}

impl Show for bool {
    fn show(&self, _: Unit) -> String {
        if *self { "yes" } else { "no" }.to_owned()
    }

    fn read(typed: &str, _: Unit) -> Result<Self, Error> {
        match typed.trim().to_lowercase().as_str() {
            "yes" => Ok(true),
            "no" => Ok(false),
            _ => Err(unread(typed, "yes or no")),
        }
    }
}

impl Show for u32 {
    fn show(&self, _: Unit) -> String {
        self.to_string()
    }

    fn read(typed: &str, _: Unit) -> Result<Self, Error> {
        let number = typed.trim().parse::<Self>().ok();
        number
            .filter(|n| *n <= 10_000)
            .ok_or_else(|| unread(typed, "a whole number from 0 to 10000"))
    }
}

impl Show for Amount {
    fn show(&self, _: Unit) -> String {
        self.0.normalize().to_string()
    }

    fn read(typed: &str, _: Unit) -> Result<Self, Error> {
        let most = Decimal::from(1_000_000);
        let number = crate::basis::written(typed);
        let number = number.filter(|n| !n.is_sign_negative() && *n <= most && n.scale() <= 6);
        number.map(Self).ok_or_else(|| {
            unread(
                typed,
                "a number from 0 to 1000000 with a point, as in 112.50; a share of 8.25 % is .0825",
            )
        })
    }
}

/// A group of values: its struct, its starting values, and its rows for the shop book, from one list.
macro_rules! values {
    ($(#[doc = $about:literal])* $name:ident { $(#[doc = $what:literal] $field:ident: $kind:ty = $start:expr;)* }) => {
        $(#[doc = $about])*
        #[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
        #[serde(default, deny_unknown_fields)]
        pub struct $name {
            $(#[doc = $what] pub $field: Given<$kind>,)*
        }

        impl Default for $name {
            fn default() -> Self {
                Self { $($field: $start,)* }
            }
        }

        impl $name {
            /// The values as they are read.
            #[must_use]
            pub fn rows(&self, group: &str, unit: Unit) -> Vec<$crate::rules::Row> {
                vec![$($crate::rules::Row {
                    group: group.to_owned(),
                    key: stringify!($field).to_owned(),
                    name: $what.trim().trim_end_matches('.').to_owned(),
                    value: $crate::rules::Show::show(&self.$field.value, unit),
                    standing: self.$field.standing.clone(),
                },)*]
            }

            /// Sets a value as it was typed; nothing typed brings the starting value back. None: there is no such value.
            pub(crate) fn set_typed(
                &mut self,
                key: &str,
                typed: &str,
                unit: Unit,
            ) -> Option<Result<(), $crate::error::Error>> {
                $(if key == stringify!($field) {
                    if typed.trim().is_empty() {
                        self.$field = Self::default().$field;
                        return Some(Ok(()));
                    }
                    let read = <$kind as $crate::rules::Show>::read(typed, unit);
                    return Some(read.map(|value| self.$field.set(Some(value))));
                })*
                None
            }
        }
    };
}
pub(crate) use values;

values! {
    /// Rules of a roof section.
    RoofRules {
        /// Sound sheet wanted between the last damage and the seam.
        seam_margin: Length = Given::memory(Length::inches(2));
        /// How far the new sheet laps over the old one.
        seam_lap: Length = Given::memory(Length::inches(2));
        /// Distance of a new seam from the seams and patches of earlier repairs.
        seam_clear: Length = Given::shop(Length::inches(6));
        /// Old sheet that has to stay between a new seam and an old one.
        seam_strip: Length = Given::shop(Length::inches(48));
        /// Old sheet ahead of a seam that is freed along the rails, so that the new sheet goes under it.
        seam_freed: Length = Given::memory(Length::inches(12));
        /// Sheet at the end that is stretched, for the plates, trimmed off afterwards.
        stretch_extra: Length = Given::practice(Length::inches(5));
        /// Sheet rolled down over each top rail.
        edge: Length = Given::practice(Length::sixty_fourths(24));
        /// Sheet that stays in front of the nose rail.
        front_edge: Length = Given::practice(Length::sixty_fourths(24));
        /// Rows of structural tape in the seam.
        tape_rows: u32 = Given::practice(2);
        /// Rivets of the seam into each top rail.
        seam_rivets_a_side: u32 = Given::practice(3);
        /// Sealant beside the seam on each top rail.
        seam_sealant_on_rail: Length = Given::practice(Length::inches(3));
        /// A bow is shorter than the top rails outside to outside: its ends lie on their inner flanges.
        bow_shorter: Length = Given::memory(Length::inches(1));
        /// Rivets of rails and nose rail, diameter.
        rivet_diameter: Length = Given::memory(Length::sixty_fourths(12));
        /// Thickness of the flange of the rails, where it was not measured on the unit.
        rail_flange: Length = Given::memory(Length::thousandths(125));
        /// Thickness of the flange of the rear header, where it was not measured on the unit.
        header_flange: Length = Given::memory(Length::thousandths(125));
        /// Seam station from which a section is large: it is lifted and its bows are caulked.
        large_section_from: Length = Given::memory(Length::inches(96));
        /// Rolled edges are sealed.
        seal_edges: bool = Given::shop(false);
        /// Bead of sealant, width and height.
        bead: [Length; 2] = Given::shop([Length::sixty_fourths(16), Length::sixty_fourths(16)]);
        /// Sealant lost, as a share of what is laid.
        waste: Amount = Given::shop(Amount::new(10, 2));
        /// What a cartridge holds, US fluid ounces.
        cartridge_fl_oz: Amount = Given::practice(Amount::new(101, 1));
        /// Widths of roof sheet that can be bought.
        sheet_widths: Vec<Length> = Given::shop(Vec::new());
    }
}

values! {
    /// Rules of a roof patch.
    PatchRules {
        /// Longest damage, along the roof, that is patched.
        longest: Length = Given::shop(Length::inches(18));
        /// Widest damage, across the roof, that is patched.
        widest: Length = Given::shop(Length::inches(18));
        /// Distance of a patch from rails, nose and rear header.
        rail_clear: Length = Given::shop(Length::inches(6));
        /// Distance of a patch from seams and patches of earlier repairs.
        seam_clear: Length = Given::shop(Length::inches(6));
        /// Bows that a damage may reach and still be patched.
        bows: u32 = Given::shop(0);
        /// Cut back to sound sheet all round.
        clean_margin: Length = Given::shop(Length::inches(1));
        /// Overlap of the patch all round.
        overlap: Length = Given::shop(Length::sixty_fourths(96));
        /// Pitch of the rivets round a patch.
        pitch: Length = Given::shop(Length::inches(1));
        /// Edge distance of those rivets.
        edge: Length = Given {
            value: Length::sixty_fourths(24),
            standing: Standing::Published("TM 9-2320-303-24-2".to_owned()),
        };
    }
}

/// A grip range of blind rivets as the shop buys them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, TS)]
#[serde(deny_unknown_fields)]
pub struct GripRange {
    /// What the shop calls it.
    pub name: String,
    /// Rivet diameter.
    pub diameter: Length,
    /// Thinnest grip.
    pub from: Length,
    /// Thickest grip.
    pub to: Length,
}

/// Rules of riveting.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, TS)]
#[serde(default, deny_unknown_fields)]
pub struct RivetRules {
    /// Pitch wanted; none: 4 diameters.
    pub pitch: Option<Length>,
    /// Blind rivets in the shop, by grip.
    pub grip_ranges: Vec<GripRange>,
}
