//! Cut plans, and who makes them: what the search over plans asks of bars and of sheets alike.

use crate::search::Stop;

/// Pieces that are cut from one bar or sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Group of plans that it belongs to (its stock, and in what way its price counts).
    pub group: usize,
    /// Kind of piece and how many, each kind once.
    pub counts: Vec<(usize, u32)>,
    /// Net cost.
    pub cost: f64,
    /// The pricer's own number for it.
    pub tag: usize,
}

/// The best plan of a group for given worths.
pub struct Offer {
    /// The plan.
    pub plan: Plan,
    /// No plan of the group gains more than this: worth of its pieces less its cost.
    pub most: f64,
}

/// What a plan gains with at least `count` of a kind, from a branch on such plans; may be negative.
pub struct Bonus {
    pub kind: usize,
    pub count: u32,
    pub worth: f64,
}

/// Makes plans.
pub trait Pricer {
    /// A plan of the group that gains most, with at most `limit` of each kind; none if no piece fits. A pricer
    /// that cannot weigh bonuses adds the positive ones to its bound. `rest` is what any plan of the group gains
    /// beside: a plan that gains with it is enough while the bound is sound; minus infinity: any good plan will do.
    fn best(
        &mut self,
        group: usize,
        worth: &[f64],
        bonus: &[Bonus],
        rest: f64,
        limit: &[u32],
        stop: Stop<'_>,
    ) -> Option<Offer>;
    /// The plan with at most `limit` of each kind; none if nothing is left of it.
    fn cut_down(&mut self, plan: &Plan, limit: &[u32]) -> Option<Plan>;
}
