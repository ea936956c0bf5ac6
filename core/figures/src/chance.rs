//! The chance behind a price: the same bill drawn many times with hours, waste and hidden damage as they may
//! turn out, and where those totals lie.
//!
//! Everything is whole numbers (millionths and cents) and one small generator whose seed is an input, so the
//! same figures give the same range on every machine. Each item draws from its own stream, named by a key: an
//! item that is the same in two estimates draws the same, so their ranges can be held against each other.
//!
//! The generator is `SplitMix64` (Steele, Lea and Flood, OOPSLA 2014; constants from memory, held against its
//! usual test vector). Triangular draws are by the inverse of the distribution, with a whole square root.

/// One whole, in millionths.
pub const ONE: i64 = 1_000_000;

/// A stream of random numbers.
#[derive(Debug, Clone, Copy)]
pub struct Stream(u64);

impl Stream {
    /// The stream of an item.
    #[must_use]
    pub const fn of(seed: u64, key: u64) -> Self {
        Self(seed ^ key)
    }

    /// The next number.
    pub const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = self.0;
        let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
}

/// The key of an item by its words (FNV-1a, 64 bits).
#[must_use]
pub fn key(words: &[&str]) -> u64 {
    let bytes = words.iter().flat_map(|word| word.bytes().chain([0]));
    bytes.fold(0xCBF2_9CE4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01B3)
    })
}

/// A factor as it may turn out: least, most likely and most, in millionths, rising.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Triangle {
    /// Least.
    pub low: i64,
    /// Most likely.
    pub mode: i64,
    /// Most.
    pub high: i64,
}

impl Triangle {
    /// Around one whole: so much below and above at most, in millionths.
    #[must_use]
    pub fn around(below: i64, above: i64) -> Self {
        Self {
            low: ONE.saturating_sub(below.clamp(0, ONE)),
            mode: ONE,
            high: ONE.saturating_add(above.clamp(0, ONE.saturating_mul(10))),
        }
    }

    /// The value below which the share `u` of 2^32 lies.
    #[must_use]
    pub fn at(self, u: u32) -> i64 {
        let (wide, left) = (
            self.high.saturating_sub(self.low),
            self.mode.saturating_sub(self.low),
        );
        // A number of 32 bits by one of 64 fits into 128, so nothing wraps: the plain product is the fast one, and this is
        // where most of the time of a job's figures went.
        let below = i128::from(u).wrapping_mul(wide.into()) < i128::from(left) << 32;
        let (part, side) = if below {
            (u64::from(u), left)
        } else {
            ((1_u64 << 32).saturating_sub(u.into()), wide.saturating_sub(left))
        };
        let area = wide.unsigned_abs().saturating_mul(side.unsigned_abs());
        let root = root(u128::from(part).wrapping_mul(area.into()) >> 32);
        if below {
            self.low.saturating_add(root)
        } else {
            self.high.saturating_sub(root)
        }
    }

    fn draw(self, stream: &mut Stream) -> i64 {
        self.at(u32::try_from(stream.next() >> 32).unwrap_or(u32::MAX))
    }
}

/// An amount of the bill.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Item {
    /// Its stream.
    pub key: u64,
    /// Cents.
    pub cents: i64,
    /// Tax falls on it.
    pub taxed: bool,
}

/// Something that may be found damaged when the unit is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hidden {
    /// Its stream.
    pub key: u64,
    /// How likely, in millionths.
    pub chance: i64,
    /// Labour, cents.
    pub labour: i64,
    /// Material, cents.
    pub material: i64,
}

/// A bill with how it may turn out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Inputs {
    /// Seed of all streams.
    pub seed: u64,
    /// How often it is drawn.
    pub runs: u32,
    /// Labour by task.
    pub hours: Vec<Item>,
    /// Material.
    pub goods: Vec<Item>,
    /// Hidden damage.
    pub hidden: Vec<Hidden>,
    /// Each task's hours against the figured ones.
    pub task: Triangle,
    /// All hours of the job together: the crew's day.
    pub pace: Triangle,
    /// Material used against the figured one.
    pub used: Triangle,
    /// Tax falls on labour, and on material, of hidden damage.
    pub hidden_taxed: [bool; 2],
    /// Supplies, as a share of labour in millionths, up to so many cents, taxed or not.
    pub supplies: (i64, i64, bool),
    /// Tax rate in millionths.
    pub tax: i64,
    /// The total as figured, cents: what all factors of one give.
    pub total: i64,
}

/// Totals in cents, the least first.
#[must_use]
pub fn simulate(inputs: &Inputs) -> Vec<i64> {
    let stream = |key: u64| Stream::of(inputs.seed, key);
    let mut hours: Vec<Stream> = inputs.hours.iter().map(|item| stream(item.key)).collect();
    let mut goods: Vec<Stream> = inputs.goods.iter().map(|item| stream(item.key)).collect();
    let mut hidden: Vec<Stream> = inputs.hidden.iter().map(|item| stream(item.key)).collect();
    let mut day = stream(key(&["pace of the job"]));
    let plain = inputs.bill(
        |_, cents| cents.saturating_mul(ONE),
        |_, cents| cents.saturating_mul(ONE),
        |_| false,
    );
    // The bill rounds by line; the difference of a cent or so is the same in every run.
    let off = inputs.total.saturating_sub(plain);
    let mut totals: Vec<i64> = (0..inputs.runs)
        .map(|_| {
            let pace = inputs.pace.draw(&mut day);
            let total = inputs.bill(
                |place, cents| {
                    let task = hours
                        .get_mut(place)
                        .map_or(ONE, |stream| inputs.task.draw(stream));
                    cents.saturating_mul(part(task, pace))
                },
                |place, cents| {
                    let used = goods
                        .get_mut(place)
                        .map_or(ONE, |stream| inputs.used.draw(stream));
                    cents.saturating_mul(used)
                },
                |place| {
                    let drawn = hidden.get_mut(place).map_or(u64::MAX, Stream::next) >> 32;
                    let drawn = i64::try_from(drawn.saturating_mul(ONE.unsigned_abs()) >> 32);
                    drawn.is_ok_and(|drawn| {
                        inputs
                            .hidden
                            .get(place)
                            .is_some_and(|hidden| drawn < hidden.chance)
                    })
                },
            );
            total.saturating_add(off)
        })
        .collect();
    totals.sort_unstable();
    totals
}

impl Inputs {
    /// The total in cents; the first two give an item's amount in millionths of a cent, the last says what is
    /// found.
    fn bill(
        &self,
        mut hours: impl FnMut(usize, i64) -> i64,
        mut goods: impl FnMut(usize, i64) -> i64,
        mut found: impl FnMut(usize) -> bool,
    ) -> i64 {
        let (mut labour, mut material, mut taxed) = (0_i64, 0_i64, 0_i64);
        for (place, item) in self.hours.iter().enumerate() {
            let amount = hours(place, item.cents);
            labour = labour.saturating_add(amount);
            taxed = taxed.saturating_add(if item.taxed { amount } else { 0 });
        }
        for (place, item) in self.goods.iter().enumerate() {
            let amount = goods(place, item.cents);
            material = material.saturating_add(amount);
            taxed = taxed.saturating_add(if item.taxed { amount } else { 0 });
        }
        for (place, item) in self.hidden.iter().enumerate() {
            if !found(place) {
                continue;
            }
            let amounts = [item.labour, item.material].map(|cents| cents.saturating_mul(ONE));
            labour = labour.saturating_add(amounts[0]);
            material = material.saturating_add(amounts[1]);
            for (amount, is) in amounts.into_iter().zip(self.hidden_taxed) {
                taxed = taxed.saturating_add(if is { amount } else { 0 });
            }
        }
        let (share, cap, supplies_taxed) = self.supplies;
        let supplies = part(labour, share).min(cap.saturating_mul(ONE));
        taxed = taxed.saturating_add(if supplies_taxed { supplies } else { 0 });
        let all = [material, supplies, part(taxed, self.tax)]
            .into_iter()
            .fold(labour, i64::saturating_add);
        all.saturating_add(ONE / 2).div_euclid(ONE)
    }
}

/// The whole square root. Up to 52 bits the machine's own root, which every machine rounds alike (IEEE 754), is never past
/// the next whole number.
fn root(square: u128) -> i64 {
    match u64::try_from(square) {
        Ok(square) if square < 1 << 52 => (square as f64).sqrt() as i64,
        square => i64::try_from(square.unwrap_or(u64::MAX).isqrt()).unwrap_or(i64::MAX),
    }
}

/// `share` millionths of an amount.
fn part(amount: i64, share: i64) -> i64 {
    if let Some(product) = amount.checked_mul(share) {
        return product.checked_div(ONE).unwrap_or_default();
    }
    let product = i128::from(amount).saturating_mul(share.into());
    i64::try_from(product.checked_div(ONE.into()).unwrap_or_default()).unwrap_or(i64::MAX)
}

/// The total below which so many tenths of the runs ended: the nearest rank.
#[must_use]
pub fn tenth(totals: &[i64], tenths: usize) -> i64 {
    let rank = totals.len().saturating_mul(tenths).div_ceil(10).max(1);
    totals.get(rank.saturating_sub(1)).copied().unwrap_or_default()
}

#[cfg(test)]
#[path = "chance_tests.rs"]
mod tests;
