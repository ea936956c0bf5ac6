//! The groups that are worked out by a way of their part, and those that a person enters.

use super::{Chosen, Group, Worker};
use crate::basis::{Basis, Standing};
use crate::bill::{Bought, MoneyLine, TaskHours};
use crate::error::Error;
use crate::group::{Together, WayKey};
use crate::parts::{group_way, title};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromStr;

impl Worker<'_> {
    pub(super) fn part(&self, together: &Together<'_>, way: WayKey) -> Result<Result<Group, String>, Error> {
        let found = match group_way(self.plan, &together.marks, self.book, way, self.unit) {
            Ok(found) => found,
            Err(why) => return Ok(Err(why.join(" "))),
        };
        let mut group = self.empty(together, way, &title(self.plan, &together.marks, way));
        let (mut bought, mut people) = (Bought::default(), 1);
        for (taken, material) in found {
            group.lines.extend(taken.lines.iter().cloned());
            bought.goods.extend(material.goods);
            bought.hours.extend(material.hours);
            people = people.max(taken.people);
            group.parts.push(taken);
        }
        self.filled(group, bought, people).map(Ok)
    }

    pub(super) fn by_hand(&self, together: &Together<'_>, choice: &Chosen) -> Result<Group, Error> {
        let group = self.empty(together, WayKey::ByHand, "By hand");
        let Some(hand) = &choice.by_hand else {
            return Ok(group);
        };
        let number = |text: &str, at: String| {
            let found = Decimal::from_str(text.trim())
                .ok()
                .filter(|n| !n.is_sign_negative());
            found.ok_or_else(|| Error::new("by_hand_number", "A number such as 2.5 is expected here.").at(at))
        };
        let hours = number(&hand.hours, "/by_hand/hours".to_owned())?;
        let mut bought = Bought::default();
        for (i, line) in hand.lines.iter().enumerate() {
            bought.goods.push(MoneyLine {
                item: line.item.clone(),
                quantity: number(&line.quantity, format!("/by_hand/lines/{i}/quantity"))?.to_string(),
                unit: String::new(),
                unit_price: number(&line.unit_price, format!("/by_hand/lines/{i}/unit_price"))?.to_string(),
                amount: String::new(),
                taxed: self.book.money.material_taxed.value,
                by_hand: true,
                standing: Standing::Unit,
            });
        }
        bought.hours.push(TaskHours {
            task: "by_hand".to_owned(),
            title: together.title.clone(),
            hours: hours.to_string(),
            rate: self.book.money.labour_rate.value.to_string(),
            amount: String::new(),
            taxed: self.book.money.labour_taxed.value,
            by_hand: true,
            basis: vec![Basis::new(
                format!("{hours} h"),
                "entered by hand",
                Standing::Unit,
            )],
        });
        self.filled(
            Group {
                note: hand.note.clone(),
                ..group
            },
            bought,
            hand.people,
        )
    }
}
