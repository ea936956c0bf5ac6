//! The practice values of side sheet work, as they stand in the shop book.

use crate::basis::{Amount, Given, Standing};
use crate::error::Error;
use crate::joint::JointTable;
use crate::measure::{Length, Unit};
use crate::rules::{Show, values};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

impl<T: Show> Show for Option<T> {
    fn show(&self, unit: Unit) -> String {
        self.as_ref()
            .map_or("by rule".to_owned(), |value| value.show(unit))
    }

    fn read(typed: &str, unit: Unit) -> Result<Self, Error> {
        match typed.trim() {
            "by rule" => Ok(None),
            typed => T::read(typed, unit).map(Some),
        }
    }
}

values! {
    /// Rules of side sheet patches, sections and whole side sheets.
    SideRules {
        /// Cut back to sound sheet all round.
        clean_margin: Length = Given::shop(Length::inches(1));
        /// Rows of rivets round a patch; by rule as many as the joint needs.
        rows: Option<u32> = Given::shop(None);
        /// Pitch of the rivets; by rule 4 D.
        pitch: Option<Length> = Given::shop(None);
        /// Edge distance, in rivet diameters.
        edge_d: Amount = Given {
            value: Amount::new(2, 0),
            standing: Standing::Published("AC 43.13-1B 4-57".to_owned()),
        };
        /// Radius of the corners of cut-out and patch.
        corner_radius: Length = Given::shop(Length::sixty_fourths(32));
        /// Distance of a patch from rails, corner post and rear frame.
        rail_gap: Length = Given::shop(Length::inches(2));
        /// Distance of a patch from an earlier patch.
        patch_gap: Length = Given::shop(Length::inches(6));
        /// Old sheet that has to stay between a section's end and the sheet's end.
        section_strip: Length = Given::shop(Length::inches(12));
        /// Rivet diameter.
        diameter: Length = Given::memory(Length::sixty_fourths(12));
        /// Table of the handbook check; read its heading for the sheet's alloy.
        table: JointTable = Given::memory(JointTable::T4x11);
        /// Tape or sealant between the sheets, pressed.
        film: Length = Given::memory(Length::thousandths(20));
        /// Thickness of the flange of the posts, where it was not measured on the unit.
        post_flange: Length = Given::memory(Length::thousandths(90));
        /// Lap of a side section or a whole side sheet on the next one.
        sheet_lap: Length = Given::memory(Length::inches(1));
        /// Pitch of the rivets where side sheets lap, and along the rails.
        joint_pitch: Length = Given::shop(Length::sixty_fourths(96));
        /// Pitch of the rivets on the posts between.
        post_pitch: Length = Given::shop(Length::inches(4));
    }
}
