//! Where the work can hurt someone, in words: they stand before the step, and the packet repeats them.

/// A hazard that a step carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hazard {
    /// Falls from the roof.
    Fall,
    /// Side walls that spread when bows come out.
    Spread,
    /// The trailer tipping on its nose, or rolling.
    Tip,
    /// Pullers and sheet under tension.
    Tension,
    /// A big sheet in wind.
    Wind,
    /// Cut hands, hurt eyes.
    Cut,
    /// Noise of saws and rivet tools.
    Noise,
    /// Sealant, adhesive and solvent.
    Chemical,
    /// Torch, grinder, welding.
    HotWork,
    /// Live wiring.
    Wiring,
    /// Residue of the cargo.
    Residue,
    /// A joint that opens on the road.
    Road,
    /// Heavy parts that drop or swing.
    Drop,
}

impl Hazard {
    /// What is said before the step.
    pub const fn words(self) -> &'static str {
        match self {
            Hazard::Fall => {
                "Falls: work from side platforms. Never stand on roof sheet or bows. Bows and rails are \
                 no anchor. Fall protection by the shop's rule and the hazard assessment."
            }
            Hazard::Spread => {
                "Walls spread when bows come out: nothing comes out before ties and braces are in and \
                 the diagonals are written down."
            }
            Hazard::Tip => {
                "An uncoupled trailer can tip on its nose or roll: brakes set, wheels chocked, stand \
                 under the kingpin area, level and support looked at before anyone is on it."
            }
            Hazard::Tension => {
                "Sheet and pullers are under tension: nobody in line with the pullers, nobody leans over \
                 the sheet, hands off the clamps."
            }
            Hazard::Wind => {
                "A big thin sheet is a sail: not above the shop's wind limit, with a hoist or enough \
                 people, and with a clear way to set it down."
            }
            Hazard::Cut => {
                "Sheet edges, strips and swarf cut: cut-proof gloves, eye protection, nobody below where \
                 strips come down."
            }
            Hazard::Noise => "Saws and rivet tools are loud: hearing protection for everyone in the bay.",
            Hazard::Chemical => {
                "Sealant, adhesive and solvent harm skin and lungs (isocyanates): read the safety data \
                 sheet, gloves, air, no flame near."
            }
            Hazard::HotWork => {
                "Hot work: permit by the shop's rule, nothing that burns within 35 ft or covered, fire \
                 watch for half an hour after (29 CFR 1910.252(a))."
            }
            Hazard::Wiring => {
                "Wiring runs behind lining and rails: power off and locked before cutting; saw depth set \
                 to the sheet."
            }
            Hazard::Residue => {
                "The cargo may have left something behind: look, read placards and papers, air the \
                 inside, and stop if it is not known."
            }
            Hazard::Road => {
                "This joint has to hold on the road: nobody closes it up before it was looked at. When \
                 in doubt, stop and ask."
            }
            Hazard::Drop => {
                "Loose parts drop or swing: hold them before the last fastener comes out, nobody below."
            }
        }
    }
}
