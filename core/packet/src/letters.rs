//! The type of the PDF: Noto Sans (SIL Open Font License, `fonts/OFL.txt`) in two weights, cut down to Latin, Greek,
//! Cyrillic and what figures need. Each letter stands as it comes, so widths are sums, and figures all have one width.

use crate::Error;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use std::collections::HashMap;
use ttf_parser::Face;

static REGULAR: &[u8] = include_bytes!("../fonts/NotoSans-Regular.ttf");
static BOLD: &[u8] = include_bytes!("../fonts/NotoSans-SemiBold.ttf");

/// What stands for a letter that the type does not have.
const UNKNOWN: char = '\u{fffd}';

/// Signs that the type does not have, in letters that it has.
const INSTEAD: [(char, &str); 9] = [
    ('→', "->"),
    ('←', "<-"),
    ('≤', "<="),
    ('≈', "~"),
    ('√', "root of "),
    ('\u{ad}', ""),
    ('\u{200b}', ""),
    ('\u{feff}', ""),
    ('\u{202f}', "\u{a0}"),
];

/// Which weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Of words.
    Regular,
    /// Of headings.
    Bold,
}

/// One weight: its letters with number and width in ems.
struct One {
    letters: HashMap<char, (u16, f32)>,
    font: Font,
}

impl One {
    fn load(bytes: &'static [u8]) -> Result<Self, Error> {
        let face = Face::parse(bytes, 0).map_err(|e| Error::Pdf(e.to_string()))?;
        let font = Font::new(bytes.into(), 0);
        let font = font.ok_or_else(|| Error::Pdf("the type cannot be read".to_owned()))?;
        let em = f32::from(face.units_per_em());
        let mut letters = HashMap::new();
        let tables = face.tables().cmap.iter().flat_map(|cmap| cmap.subtables);
        for table in tables.filter(ttf_parser::cmap::Subtable::is_unicode) {
            table.codepoints(|code| {
                if let (Some(c), Some(glyph)) = (char::from_u32(code), table.glyph_index(code)) {
                    let wide = face.glyph_hor_advance(glyph).unwrap_or_default();
                    letters.insert(c, (glyph.0, f32::from(wide) / em));
                }
            });
        }
        Ok(Self { letters, font })
    }
}

/// Both weights.
pub struct Letters {
    regular: One,
    bold: One,
}

impl Letters {
    /// Reads the type that is built in.
    pub fn load() -> Result<Self, Error> {
        Ok(Self {
            regular: One::load(REGULAR)?,
            bold: One::load(BOLD)?,
        })
    }

    const fn one(&self, weight: Weight) -> &One {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// The font for the writer.
    pub fn font(&self, weight: Weight) -> Font {
        self.one(weight).font.clone()
    }

    /// The text in letters that the type has.
    pub fn clean(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            match INSTEAD.iter().find(|(sign, _)| *sign == c) {
                Some((_, instead)) => out.push_str(instead),
                None if c == '\n' => out.push(c),
                None if c.is_control() => out.push(' '),
                None if self.regular.letters.contains_key(&c) => out.push(c),
                None => out.push(UNKNOWN),
            }
        }
        out
    }

    /// Number of the letter and its width in ems.
    fn advance(&self, weight: Weight, c: char) -> (u16, f32) {
        self.one(weight).letters.get(&c).copied().unwrap_or_default()
    }

    /// Width of clean text.
    pub fn width(&self, weight: Weight, size: f32, text: &str) -> f32 {
        text.chars().map(|c| self.advance(weight, c).1 * size).sum()
    }

    /// The letters of clean text for the writer.
    pub fn glyphs(&self, weight: Weight, text: &str) -> Vec<KrillaGlyph> {
        let glyph = |(at, c): (usize, char)| {
            let (id, advance) = self.advance(weight, c);
            let range = at..at.saturating_add(c.len_utf8());
            KrillaGlyph::new(GlyphId::new(u32::from(id)), advance, 0.0, 0.0, 0.0, range, None)
        };
        text.char_indices().map(glyph).collect()
    }

    /// Clean text in lines no wider than this. A broken line keeps the space it was broken at, so that a search
    /// finds words on both sides of it; a word that is wider than a line is broken anywhere.
    pub fn lines(&self, weight: Weight, size: f32, text: &str, width: f32) -> Vec<String> {
        let mut lines = Vec::new();
        for part in self.clean(text).split('\n') {
            let mut line = String::new();
            let mut used = 0.0;
            for word in part.split_inclusive(' ') {
                let needs = self.width(weight, size, word.trim_end());
                if used > 0.0 && used + needs > width {
                    lines.push(std::mem::take(&mut line));
                    used = 0.0;
                }
                if needs <= width {
                    line.push_str(word);
                    used += self.width(weight, size, word);
                    continue;
                }
                for c in word.chars() {
                    let wide = self.advance(weight, c).1 * size;
                    if used > 0.0 && used + wide > width {
                        lines.push(std::mem::take(&mut line));
                        used = 0.0;
                    }
                    line.push(c);
                    used += wide;
                }
            }
            lines.push(line);
        }
        lines
    }

    /// Width of the widest word of clean text.
    pub fn widest_word(&self, weight: Weight, size: f32, text: &str) -> f32 {
        let wide = |word: &str| self.width(weight, size, word);
        text.split_whitespace().map(wide).fold(0.0, f32::max)
    }
}
