//! A linear programme whose columns are made while it is solved: the revised simplex method with a dense
//! inverse. Rows are few (one a kind of piece and a bound), columns are without number, so the caller prices
//! them and hands in one at a time (Gilmore and Gomory's column generation).

use super::master::Plan;

/// Below this a number counts as nothing.
pub const TINY: f64 = 1e-9;

/// What a basic column stands for.
#[derive(Debug, Clone)]
pub enum Column {
    /// The row's own starting column: what is missing in that row.
    Missing,
    /// Over or under a bound.
    Slack,
    /// A cut plan.
    Plan(Plan),
}

/// A column that may enter.
#[derive(Debug, Clone)]
pub struct Entry {
    /// What it is.
    pub column: Column,
    /// What one of it costs.
    pub cost: f64,
    /// Row and coefficient.
    pub coefficients: Vec<(usize, f64)>,
}

struct Basic {
    column: Column,
    cost: f64,
    amount: f64,
    inverse: Vec<f64>,
}

/// The programme with its present basis.
pub struct Simplex {
    rows: Vec<Basic>,
}

impl Simplex {
    /// Starts with each row met by its own starting column; `rows` are the row's right side and the cost of
    /// its starting column.
    pub fn new(rows: &[(f64, f64)]) -> Self {
        let many = rows.len();
        let basic = |(place, (amount, cost)): (usize, &(f64, f64))| {
            let mut inverse = vec![0.0; many];
            if let Some(own) = inverse.get_mut(place) {
                *own = 1.0;
            }
            let column = if *cost > 0.0 {
                Column::Missing
            } else {
                Column::Slack
            };
            Basic {
                column,
                cost: *cost,
                amount: *amount,
                inverse,
            }
        };
        Self {
            rows: rows.iter().enumerate().map(basic).collect(),
        }
    }

    /// Worth of one unit of each row at the present basis.
    pub fn duals(&self) -> Vec<f64> {
        let mut duals = vec![0.0; self.rows.len()];
        for row in self.rows.iter().filter(|row| row.cost != 0.0) {
            for (dual, entry) in duals.iter_mut().zip(&row.inverse) {
                *dual += row.cost * entry;
            }
        }
        duals
    }

    /// Lets a column enter; false if it cannot (no row bounds it, or the pivot is too small).
    pub fn enter(&mut self, entry: Entry) -> bool {
        let step = |row: &Basic| -> f64 {
            let part = |(place, c): &(usize, f64)| row.inverse.get(*place).map_or(0.0, |e| e * c);
            entry.coefficients.iter().map(part).sum()
        };
        let steps: Vec<f64> = self.rows.iter().map(step).collect();
        let Some(leaves) = self.leaving(&steps) else {
            return false;
        };
        let pivot = crate::search::at(&steps, leaves);
        let Some(row) = self.rows.get_mut(leaves) else {
            return false;
        };
        let amount = row.amount.max(0.0) / pivot;
        row.inverse.iter_mut().for_each(|e| *e /= pivot);
        let pivot_row = std::mem::take(&mut row.inverse);
        for (place, (row, step)) in self.rows.iter_mut().zip(&steps).enumerate() {
            if place == leaves || step.abs() < 1e-14 {
                continue;
            }
            row.amount = (row.amount - step * amount).max(0.0);
            for (e, p) in row.inverse.iter_mut().zip(&pivot_row) {
                *e -= step * p;
            }
        }
        if let Some(row) = self.rows.get_mut(leaves) {
            *row = Basic {
                column: entry.column,
                cost: entry.cost,
                amount,
                inverse: pivot_row,
            };
        }
        true
    }

    /// The row whose column leaves: least ratio, and of equal ones the largest pivot, what is missing first.
    fn leaving(&self, steps: &[f64]) -> Option<usize> {
        let mut best: Option<(usize, f64, f64)> = None;
        for (place, (row, step)) in self.rows.iter().zip(steps).enumerate() {
            if *step <= 1e-8 {
                continue;
            }
            let ratio = row.amount.max(0.0) / step;
            let weight = if matches!(row.column, Column::Missing) {
                step * 1e3
            } else {
                *step
            };
            let better = match best {
                None => true,
                Some((_, least, heaviest)) => {
                    ratio < least - TINY || (ratio < least + TINY && weight > heaviest)
                }
            };
            if better {
                best = Some((place, ratio, weight));
            }
        }
        best.map(|(place, _, _)| place)
    }

    /// The plans in the basis with how often each is cut.
    pub fn plans(self) -> Vec<(Plan, f64)> {
        let plan = |row: Basic| match row.column {
            Column::Plan(plan) if row.amount > TINY => Some((plan, row.amount)),
            _ => None,
        };
        self.rows.into_iter().filter_map(plan).collect()
    }
}
