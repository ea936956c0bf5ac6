//! The practice values, prices and hours of work on the parts of the body, as they stand in the shop book. Where
//! the trade has no number the value is this program's start, from memory, and the shop replaces it.

use crate::basis::{Amount, Given, Standing};
use crate::measure::{Length, Unit};
use crate::rules::values;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

fn sheeting(value: Length) -> Given<Length> {
    Given {
        value,
        standing: Standing::Published("49 CFR 571.108 S8.2".to_owned()),
    }
}

const fn inches(count: i64) -> Given<Length> {
    Given::memory(Length::inches(count))
}

const fn limit(count: i64) -> Given<Length> {
    Given::shop(Length::inches(count))
}

values! {
    /// Rules of work on rails, bows, posts, lining, floor, doors and fittings.
    PartRules {
        /// Cut back to sound metal, each side.
        cut_margin: Length = Given::shop(Length::inches(1));
        /// Distance between the posts of the nose wall.
        nose_post_spacing: Length = inches(16);
        /// Splice of a rail past the cut-out, each side.
        rail_reach: Length = inches(12);
        /// Fasteners of a rail splice, each side, at least.
        rail_fasteners: u32 = Given::memory(8);
        /// Longest damage of a rail that is spliced.
        rail_longest: Length = limit(36);
        /// Distance of a rail splice from the ends and corner plates of the rail.
        rail_end_clear: Length = limit(12);
        /// Roof edge that is loosened on each top rail to change the nose rail.
        edge_loosened: Length = inches(24);
        /// Bolts that hold a new nose rail before it is riveted.
        holding_bolts: u32 = Given::memory(4);
        /// Inner and outer corner plates of a nose rail.
        corner_plates: u32 = Given::memory(4);
        /// Fasteners of a corner cap.
        cap_fasteners: u32 = Given::memory(12);
        /// Thickness of a corner cap, where it was not measured on the unit.
        corner_cap: Length = Given::memory(Length::thousandths(80));
        /// Bead of sealant round a corner cap.
        cap_bead: Length = inches(36);
        /// Deepest bend of a bow that is straightened.
        bow_bend: Length = Given::shop(Length::sixty_fourths(32));
        /// Fasteners of a bow, each end.
        bow_end_fasteners: u32 = Given::memory(2);
        /// Thickness of the end clip of a bow, where it was not measured on the unit.
        bow_end: Length = Given::memory(Length::thousandths(90));
        /// Most bows that are changed from inside under a sheet that stays.
        bows_from_inside: u32 = Given::shop(3);
        /// Deepest bend of a side post that is straightened.
        post_bend: Length = Given::shop(Length::sixty_fourths(32));
        /// Splice of a post past the cut-out, each side.
        post_reach: Length = inches(8);
        /// Fasteners of a post splice, each side, at least.
        post_fasteners: u32 = Given::memory(4);
        /// Longest damage of a post that is spliced.
        post_longest: Length = limit(24);
        /// Distance of a post splice from the rails.
        post_end_clear: Length = limit(12);
        /// Screws of the scuff band in each post.
        scuff_screws: u32 = Given::memory(2);
        /// Lining sheet, width and height.
        lining_sheet: [Length; 2] = Given::memory([Length::inches(48), Length::inches(96)]);
        /// Pitch of the screws of lining.
        lining_pitch: Length = inches(8);
        /// Width of a floor board.
        board_width: Length = inches(12);
        /// Distance between the crossmembers.
        crossmember_spacing: Length = inches(12);
        /// Screws of a board in each crossmember.
        board_screws: u32 = Given::memory(2);
        /// Fewest spaces between crossmembers that a new piece of board covers.
        board_spans: u32 = Given::shop(3);
        /// Deepest gouge of a board that is filled.
        board_gouge: Length = Given::shop(Length::sixty_fourths(16));
        /// Deepest gouge or pit of metal that is dressed and coated.
        gouge: Length = Given::memory(Length::thousandths(30));
        /// Fasteners of a hinge.
        hinge_fasteners: u32 = Given::memory(4);
        /// Fasteners of a mud flap.
        flap_fasteners: u32 = Given::memory(4);
        /// Pitch of fasteners where no factory row is known.
        fastener_pitch: Length = inches(4);
        /// Seam that is sealed anew past a leak, each side.
        reseal_reach: Length = limit(6);
        /// Deepest dent of a door skin that is straightened or filled.
        door_dent: Length = Given::memory(Length::sixty_fourths(24));
        /// Rows of rivets round a patch of a door skin.
        door_rows: u32 = Given::memory(1);
        /// Pitch of the rivets round a patch of a door skin.
        door_pitch: Length = Given::memory(Length::sixty_fourths(96));
        /// Wires of the main harness.
        harness_wires: u32 = Given::memory(7);
        /// New wire past the damage, each side.
        harness_reach: Length = limit(12);
        /// Longest damage of a harness that is spliced.
        harness_longest: Length = limit(12);
        /// A piece of reflective sheeting.
        sheeting_piece: Length = sheeting(Length::mm(300));
        /// Width of reflective sheeting.
        sheeting_width: Length = sheeting(Length::mm(50));
        /// People on a rail, a post, a wall sheet or a door.
        people_large: u32 = Given::shop(2);
    }
}

const fn shop(digits: i64, behind: u32) -> (i64, u32) {
    (digits, behind)
}

fn start((digits, behind): (i64, u32)) -> Given<Amount> {
    Given::shop(Amount::new(digits, behind))
}

values! {
    /// Prices of rails, posts, lining, floor, doors and fittings.
    PartPrices {
        /// Nose sheet, a square foot.
        nose_sheet_sq_ft: Amount = start(shop(460, 2));
        /// Top rail, a foot.
        top_rail_ft: Amount = start(shop(2_640, 2));
        /// Corner plate, each.
        corner_plate: Amount = start(shop(1_850, 2));
        /// Corner post, each.
        corner_post: Amount = start(shop(31_000, 2));
        /// Side post, a foot.
        side_post_ft: Amount = start(shop(640, 2));
        /// Scuff band, a foot.
        scuff_band_ft: Amount = start(shop(980, 2));
        /// Backing strip, a foot.
        backing_ft: Amount = start(shop(190, 2));
        /// Floor board, a foot.
        floor_board_ft: Amount = start(shop(720, 2));
        /// Screw, each.
        screw: Amount = start(shop(18, 2));
        /// Bolt with its nut, each.
        bolt: Amount = start(shop(110, 2));
        /// Coating, a place.
        coating: Amount = start(shop(1_200, 2));
        /// Door skin, a square foot.
        door_skin_sq_ft: Amount = start(shop(610, 2));
        /// Door panel, each.
        door_panel: Amount = start(shop(64_000, 2));
        /// Door gasket, a foot.
        gasket_ft: Amount = start(shop(420, 2));
        /// Hinge, each.
        hinge: Amount = start(shop(3_600, 2));
        /// Hinge pin, each.
        hinge_pin: Amount = start(shop(900, 2));
        /// Rear guard with its label, each.
        rear_guard: Amount = start(shop(52_000, 2));
        /// Lamp, each.
        lamp: Amount = start(shop(1_400, 2));
        /// Harness, a foot.
        harness_ft: Amount = start(shop(320, 2));
        /// Sealed connector, each.
        connector: Amount = start(shop(210, 2));
        /// Mud flap, each.
        mud_flap: Amount = start(shop(2_200, 2));
        /// Reflective sheeting, a foot.
        sheeting_ft: Amount = start(shop(190, 2));
        /// Decal or unit number, each.
        decal: Amount = start(shop(3_500, 2));
    }
}

values! {
    /// Hours of one person on rails, posts, lining, floor, doors and fittings.
    PartHours {
        /// Loose fasteners set anew, each.
        refasten: Amount = start(shop(4, 2));
        /// Leak found, old sealant out, sealed anew, a foot.
        reseal: Amount = start(shop(20, 2));
        /// Gouge or rust dressed and coated, a place.
        dress: Amount = start(shop(6, 1));
        /// Dried and looked at, a place.
        dry_out: Amount = start(shop(10, 1));
        /// Patch of the nose wall or of a door, each.
        wall_patch: Amount = start(shop(20, 1));
        /// Whole nose sheet off and on, each.
        nose_sheet: Amount = start(shop(120, 1));
        /// Rivets of nose and doors, a hundred.
        wall_rivets: Amount = start(shop(18, 1));
        /// Roof edge loosened and closed again, a foot.
        edge_loosened: Amount = start(shop(20, 2));
        /// Rail splice, each.
        rail_splice: Amount = start(shop(45, 1));
        /// Bow straightened from inside, each.
        bow_straighten: Amount = start(shop(8, 1));
        /// Bow changed from inside, each.
        bow_inside: Amount = start(shop(20, 1));
        /// Corner cap, each.
        corner_cap: Amount = start(shop(12, 1));
        /// Corner post, each.
        corner_post: Amount = start(shop(100, 1));
        /// Side post straightened, each.
        post_straighten: Amount = start(shop(8, 1));
        /// Side post sistered, each.
        post_sister: Amount = start(shop(20, 1));
        /// Side post spliced, each.
        post_splice: Amount = start(shop(22, 1));
        /// Side post replaced, each.
        post_replace: Amount = start(shop(35, 1));
        /// Scuff band, a foot.
        scuff_band: Amount = start(shop(18, 2));
        /// Lining insert, each.
        lining_insert: Amount = start(shop(12, 1));
        /// Lining sheet, each.
        lining_sheet: Amount = start(shop(10, 1));
        /// Floor boards, a foot of board.
        floor_board: Amount = start(shop(25, 2));
        /// Dent of a door skin straightened or filled, each.
        door_dent: Amount = start(shop(15, 1));
        /// Door panel, each.
        door_panel: Amount = start(shop(50, 1));
        /// Door gasket, a foot.
        gasket: Amount = start(shop(8, 2));
        /// Hinge, each.
        hinge: Amount = start(shop(12, 1));
        /// Hinge pin, each.
        hinge_pin: Amount = start(shop(8, 1));
        /// Rear guard, each.
        rear_guard: Amount = start(shop(40, 1));
        /// Lamp, each.
        lamp: Amount = start(shop(4, 1));
        /// Wire joined and sealed, each.
        wire_joint: Amount = start(shop(10, 2));
        /// Harness drawn in, a foot.
        harness: Amount = start(shop(8, 2));
        /// Mud flap, each.
        mud_flap: Amount = start(shop(6, 1));
        /// Piece of reflective sheeting, each.
        sheeting_piece: Amount = start(shop(8, 2));
        /// Decal or unit number, each.
        decal: Amount = start(shop(5, 1));
        /// Walls tied and braced, a place.
        brace: Amount = start(shop(10, 1));
    }
}
