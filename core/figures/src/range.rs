//! Where the total of an estimate is expected to end, and the allowance for what only shows when the unit is
//! open: the shop's spreads put on the figured bill ([`crate::chance`]), each input named in the working.

use crate::basis::{Amount, Basis, Given, Standing};
use crate::bill::TaskHours;
use crate::body::Plan;
use crate::chance::{Hidden, Inputs, Item, ONE, Triangle, key, simulate, tenth};
use crate::error::Error;
use crate::estimate::{Allowance, Group, Range};
use crate::mark::{Part, Surface, parts_hit};
use crate::price::{TaxRounding, money};
use crate::shop::Book;
use crate::takeoff_lines::too_much;
use rust_decimal::prelude::{FromStr, ToPrimitive};
use rust_decimal::{Decimal, RoundingStrategy};

/// How often the bill is drawn.
const RUNS: u32 = 1_000;
/// Seed of the draws: fixed, so that the same figures keep their range and their hash.
const SEED: u64 = 5_026;

/// A bill whose chance is asked.
pub(crate) struct Bill<'a> {
    pub plan: &'a Plan,
    pub book: &'a Book,
    pub groups: &'a [Group],
    pub once: &'a [TaskHours],
    /// Cents.
    pub total: i128,
}

/// A part that may be found damaged, not in the figures.
struct Behind<'a> {
    words: String,
    chance: &'a Given<Amount>,
    hours: &'a Given<Amount>,
    material: &'a Given<Amount>,
}

/// The allowance for hidden damage: the shop's share of the total, in cents.
pub(crate) fn allowance(book: &Book, total: i128) -> Result<Allowance, Error> {
    let share = &book.planning.hidden_damage_share;
    let hidden = Decimal::try_from_i128_with_scale(total, 0)
        .ok()
        .and_then(|cents| cents.checked_mul(share.value.0))
        .map(|part| part.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero))
        .and_then(|part| part.to_i128())
        .ok_or_else(too_much)?;
    Ok(Allowance {
        amount: money(hidden),
        basis: vec![
            Basis::new(money(total), "total", Standing::Worked),
            Basis::new(
                format!("x {}", share.value),
                "allowance for what shows when it is open",
                share.standing.clone(),
            ),
        ],
    })
}

/// The working of the supplies on so many cents of labour.
pub(crate) fn supplies_basis(book: &Book, labour: i128) -> Vec<Basis> {
    let (share, cap) = (&book.money.supplies_share, &book.money.supplies_cap);
    vec![
        Basis::new(money(labour), "labour", Standing::Worked),
        Basis::new(
            format!("x {}", share.value),
            "supplies, share of labour",
            share.standing.clone(),
        ),
        Basis::new(cap.value.to_string(), "supplies, at most", cap.standing.clone()),
    ]
}

/// The working of the tax.
pub(crate) fn tax_basis(book: &Book) -> Vec<Basis> {
    let rules = &book.money;
    let taxed = [
        ("material", &rules.material_taxed),
        ("labour", &rules.labour_taxed),
        ("supplies", &rules.supplies_taxed),
    ];
    let mut basis = vec![Basis::new(
        format!("x {}", rules.tax_rate.value),
        "tax rate",
        rules.tax_rate.standing.clone(),
    )];
    for (what, is) in taxed {
        let word = if is.value { "taxed" } else { "not taxed" };
        basis.push(Basis::new(word, what, is.standing.clone()));
    }
    let rounding = match rules.tax_rounding.value {
        TaxRounding::Line => "half up on each amount",
        TaxRounding::Invoice => "half up once, on the sum",
    };
    basis.push(Basis::new(
        rounding,
        "rounding to the cent",
        rules.tax_rounding.standing.clone(),
    ));
    basis
}

impl Bill<'_> {
    /// Of ten drawn totals one lies below the range and one above it.
    pub(crate) fn range(&self) -> Result<Range, Error> {
        let hidden = self.hidden();
        let totals = simulate(&self.inputs(&hidden)?);
        let (low, high) = (tenth(&totals, 1), tenth(&totals, 9));
        Ok(Range {
            low: money(low.max(0).into()),
            high: money(high.max(0).into()),
            basis: self.basis(&hidden, [low, high])?,
        })
    }

    fn inputs(&self, hidden: &[Behind<'_>]) -> Result<Inputs, Error> {
        let (planning, rules) = (&self.book.planning, &self.book.money);
        let of = |group: &str, what: &str, name: &str, amount: &str, taxed: bool| {
            Ok(Item {
                key: key(&[group, what, name]),
                cents: cents(amount)?,
                taxed,
            })
        };
        let mut hours = Vec::new();
        let mut goods = Vec::new();
        for group in self.groups {
            let name = name(group);
            for line in &group.hours {
                hours.push(of(&name, &line.task, "hours", &line.amount, line.taxed)?);
            }
            for line in &group.goods {
                goods.push(of(&name, &line.item, "goods", &line.amount, line.taxed)?);
            }
        }
        for line in self.once {
            hours.push(of("once", &line.task, "hours", &line.amount, line.taxed)?);
        }
        Ok(Inputs {
            seed: SEED,
            runs: RUNS,
            hours,
            goods,
            hidden: hidden
                .iter()
                .map(|part| self.drawn(part))
                .collect::<Result<_, Error>>()?,
            task: Triangle::around(
                millionths(planning.task_less_share.value),
                millionths(planning.task_more_share.value),
            ),
            pace: Triangle::around(
                millionths(planning.pace_less_share.value),
                millionths(planning.pace_more_share.value),
            ),
            used: Triangle::around(0, millionths(planning.spoiled_share.value)),
            hidden_taxed: [rules.labour_taxed.value, rules.material_taxed.value],
            supplies: (
                millionths(rules.supplies_share.value),
                to_cents(rules.supplies_cap.value.0)?,
                rules.supplies_taxed.value,
            ),
            tax: millionths(rules.tax_rate.value),
            total: i64::try_from(self.total).map_err(|_| too_much())?,
        })
    }

    fn drawn(&self, part: &Behind<'_>) -> Result<Hidden, Error> {
        let rate = self.book.money.labour_rate.value.0;
        let labour = part.hours.value.0.checked_mul(rate).ok_or_else(too_much)?;
        Ok(Hidden {
            key: key(&["hidden", &part.words]),
            chance: millionths(part.chance.value),
            labour: to_cents(labour)?,
            material: to_cents(part.material.value.0)?,
        })
    }

    /// Hidden parts behind the marks that no way replaces anyway, and bows that lie open beside the damage.
    fn hidden(&self) -> Vec<Behind<'_>> {
        let (planning, mut found) = (&self.book.planning, Vec::<Behind<'_>>::new());
        let mut put = |words: String, part: Part, chance| {
            if found.iter().all(|known| known.words != words) {
                let (hours, material) = self.cost(part);
                found.push(Behind {
                    words,
                    chance,
                    hours,
                    material,
                });
            }
        };
        for group in self.groups.iter().filter(|group| group.is_worked_on()) {
            let side = |surface: crate::mark::Surface| surface.word();
            for mark in &group.marks {
                for hit in parts_hit(self.plan, mark).into_iter().filter(|hit| hit.hidden) {
                    let replaced = |number: u32| match (group.roof.is_some(), hit.part) {
                        (true, Part::RoofBow) => group.roofs().any(|roof| roof.bows_hit.contains(&number)),
                        (true, Part::FrontRoofBow) => group.front_bow,
                        (_, part) => self.is_marked(part, number, mark.place.surface),
                    };
                    let numbers = if hit.numbers.is_empty() {
                        vec![0]
                    } else {
                        hit.numbers.clone()
                    };
                    for number in numbers.into_iter().filter(|number| !replaced(*number)) {
                        let word = hit.part.word();
                        // One harness runs through the whole body.
                        let words = match number {
                            _ if hit.part == Part::Harness => word.to_owned(),
                            0 => format!("{word} ({})", side(mark.place.surface)),
                            _ => format!("{word} {number} ({})", side(mark.place.surface)),
                        };
                        put(words, hit.part, &planning.hidden_chance);
                    }
                }
            }
            for roof in group.roofs() {
                let beside = roof.bows_opened.iter().filter(|bow| !roof.bows_hit.contains(bow));
                for bow in beside {
                    put(
                        format!("roof bow {bow}, beside"),
                        Part::RoofBow,
                        &planning.beside_chance,
                    );
                }
            }
        }
        found
    }

    /// Whether a part that a mark may have reached has a mark of its own: it is figured there, and no surprise.
    fn is_marked(&self, part: Part, number: u32, surface: Surface) -> bool {
        let marks = self.groups.iter().flat_map(|group| &group.marks);
        marks.filter(|mark| mark.part == part).any(|mark| {
            let own = parts_hit(self.plan, mark)
                .into_iter()
                .find(|hit| hit.part == part);
            let numbers = own.map(|hit| hit.numbers).unwrap_or_default();
            let there = number == 0 || numbers.is_empty() || numbers.contains(&number);
            there && (part == Part::Harness || mark.place.surface.same_wall(surface))
        })
    }

    fn cost(&self, part: Part) -> (&Given<Amount>, &Given<Amount>) {
        let Book {
            hours,
            prices,
            planning,
            part_hours,
            ..
        } = self.book;
        match part {
            Part::RoofBow => (&hours.bow, &prices.bow),
            Part::FrontRoofBow => (&hours.bow, &prices.front_bow),
            Part::Lining => (&part_hours.lining_sheet, &prices.lining_sheet),
            Part::SidePost => (&part_hours.post_replace, &planning.hidden_material),
            _ => (&planning.hidden_hours, &planning.hidden_material),
        }
    }

    fn basis(&self, hidden: &[Behind<'_>], [low, high]: [i64; 2]) -> Result<Vec<Basis>, Error> {
        let planning = &self.book.planning;
        let spread = |less: Option<&Given<Amount>>, more: &Given<Amount>, what: &str| {
            let least = Decimal::ONE.saturating_sub(less.map_or(Decimal::ZERO, |less| less.value.0));
            let most = Decimal::ONE.saturating_add(more.value.0);
            let from = Standing::weakest(
                less.map(|less| &less.standing)
                    .into_iter()
                    .chain([&more.standing]),
            );
            Basis::new(format!("x {least} to {most}"), what, from)
        };
        let mut basis = vec![
            Basis::new(money(self.total), "total", Standing::Worked),
            spread(
                Some(&planning.task_less_share),
                &planning.task_more_share,
                "hours of each task, triangular, most likely as figured",
            ),
            spread(
                Some(&planning.pace_less_share),
                &planning.pace_more_share,
                "all hours of the job together, triangular",
            ),
            spread(
                None,
                &planning.spoiled_share,
                "material, with what is spoiled, triangular",
            ),
        ];
        for part in hidden {
            let drawn = self.drawn(part)?;
            let from = [
                &part.chance.standing,
                &part.hours.standing,
                &part.material.standing,
            ];
            basis.push(Basis::new(
                format!("+ {}", money(drawn.labour.saturating_add(drawn.material).into())),
                format!("{}: damaged with a chance of {}", part.words, part.chance.value),
                Standing::weakest(from),
            ));
        }
        basis.push(Basis::new(
            format!("{RUNS} runs"),
            format!("drawn with SplitMix64, seed {SEED}: the same on every machine"),
            Standing::Worked,
        ));
        for (amount, what) in [
            (low, "one run of ten ended below"),
            (high, "one run of ten ended above"),
        ] {
            basis.push(Basis::new(money(amount.max(0).into()), what, Standing::Worked));
        }
        Ok(basis)
    }
}

/// A name of a group for its draws: by what it is and where it begins, not by its mark's id, so that two jobs with
/// the same damage have the same range.
fn name(group: &Group) -> String {
    let place = group.marks.first().map(|mark| mark.place);
    let at = place
        .map(|place| (place.from.nm(), place.low.nm()))
        .unwrap_or_default();
    format!("{} {} {}", group.title, at.0, at.1)
}

/// A share in millionths.
fn millionths(share: Amount) -> i64 {
    let scaled = share.0.checked_mul(Decimal::from(ONE));
    scaled
        .and_then(|scaled| scaled.round().to_i64())
        .unwrap_or(i64::MAX)
}

fn cents(amount: &str) -> Result<i64, Error> {
    to_cents(Decimal::from_str(amount).map_err(|_| too_much())?)
}

fn to_cents(amount: Decimal) -> Result<i64, Error> {
    let cents = amount.checked_mul(Decimal::ONE_HUNDRED);
    let cents = cents.map(|cents| cents.round_dp_with_strategy(0, RoundingStrategy::MidpointAwayFromZero));
    cents.and_then(|cents| cents.to_i64()).ok_or_else(too_much)
}
