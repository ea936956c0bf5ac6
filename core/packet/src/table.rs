//! How wide the columns of a table are on paper.

/// Widths of columns that want `wish` each and need at least `least` each, together `width`. What is over goes to the
/// last column; what lacks is taken from the widest, so that short words stay on one line beside a long working.
pub fn columns(wish: &[f32], least: &[f32], width: f32) -> Vec<f32> {
    let (wished, needed) = (wish.iter().sum::<f32>(), least.iter().sum::<f32>());
    if wished <= width {
        let mut widths = wish.to_vec();
        if let Some(last) = widths.last_mut() {
            *last += width - wished;
        }
        return widths;
    }
    if needed >= width {
        return least.iter().map(|least| least * width / needed).collect();
    }
    let under = |cap: f32| {
        wish.iter()
            .zip(least)
            .map(move |(wish, least)| wish.min(cap).max(*least))
    };
    let (mut low, mut high) = (0.0, width);
    for _ in 0..30 {
        let cap = f32::midpoint(low, high);
        if under(cap).sum::<f32>() > width {
            high = cap;
        } else {
            low = cap;
        }
    }
    under(low).collect()
}

#[cfg(test)]
mod tests {
    use super::columns;

    #[test]
    fn columns_fill_the_width_and_none_is_under_its_least_while_there_is_room() {
        for (wish, least, width) in [
            ([10.0, 20.0], [5.0, 5.0], 100.0),
            ([300.0, 20.0], [50.0, 15.0], 100.0),
            ([90.0, 90.0], [80.0, 70.0], 100.0),
        ] {
            let widths = columns(&wish, &least, width);
            assert!((widths.iter().sum::<f32>() - width).abs() < 0.01, "{widths:?}");
            if least.iter().sum::<f32>() < width {
                assert!(
                    widths.iter().zip(least).all(|(is, least)| *is >= least - 0.01),
                    "{widths:?}"
                );
            }
        }
    }
}
