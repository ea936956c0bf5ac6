//! Pieces become pages: one below the other, headings with what they head, a table's heads again on each page.

use crate::flow::Piece;

/// A piece, or the heads of its table again, at its place from the top of the page's room.
pub struct Placed<'a> {
    pub y: f32,
    pub piece: &'a Piece,
}

/// The pieces on pages that have this room.
pub fn pages(pieces: &[Piece], depth: f32) -> Vec<Vec<Placed<'_>>> {
    let mut pages: Vec<Vec<Placed>> = Vec::new();
    let mut page: Vec<Placed> = Vec::new();
    let mut y = 0.0;
    for (n, piece) in pieces.iter().enumerate() {
        let needs = needs(pieces.get(n..).unwrap_or_default());
        // What is higher than a page begins where it is, and goes on over the next ones.
        let fits = if needs > depth {
            piece.before + piece.height
        } else {
            needs
        };
        if !page.is_empty() && y + fits > depth {
            pages.push(std::mem::take(&mut page));
            y = 0.0;
        }
        if page.is_empty() {
            if let Some(heads) = &piece.heads {
                page.push(Placed { y, piece: heads });
                y += heads.height;
            }
        } else {
            y += piece.before;
        }
        page.push(Placed { y, piece });
        y += piece.height;
    }
    pages.push(page);
    pages
}

/// Height of the first piece with all that stays with it.
fn needs(pieces: &[Piece]) -> f32 {
    let mut sum = 0.0;
    for piece in pieces {
        sum += piece.before + piece.height;
        if !piece.keep {
            break;
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::pages;
    use crate::flow::Piece;
    use std::rc::Rc;

    fn piece(height: f32, keep: bool) -> Piece {
        Piece {
            height,
            keep,
            ..Piece::default()
        }
    }

    #[test]
    fn a_heading_goes_to_the_next_page_with_what_it_heads() {
        let made = [piece(60.0, false), piece(20.0, true), piece(30.0, false)];
        let pages = pages(&made, 100.0);
        assert_eq!(pages.iter().map(Vec::len).collect::<Vec<_>>(), [1, 2]);
    }

    #[test]
    fn the_heads_of_a_table_stand_again_on_each_of_its_pages() {
        let heads = Rc::new(piece(10.0, true));
        let row = Piece {
            heads: Some(Rc::clone(&heads)),
            ..piece(40.0, false)
        };
        let made = [(*heads).clone(), row.clone(), row.clone(), row.clone(), row];
        let pages = pages(&made, 100.0);
        assert_eq!(pages.iter().map(Vec::len).collect::<Vec<_>>(), [3, 3]);
        assert!(
            pages
                .iter()
                .flatten()
                .all(|placed| placed.y + placed.piece.height <= 100.0)
        );
    }

    #[test]
    fn what_is_higher_than_a_page_does_not_stop_the_paper() {
        let made = [piece(60.0, true), piece(300.0, false), piece(10.0, false)];
        assert_eq!(pages(&made, 100.0).iter().map(Vec::len).sum::<usize>(), 3);
    }
}
