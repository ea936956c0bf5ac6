//! What a paper holds, whatever form it comes in: blocks one below the other, drawings in their own measure, photos
//! by the name of their original, and tables.

use crate::Error;

/// A paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// As it is read at its top and in its window.
    pub title: String,
    /// At the head of each page: the unit, at its left.
    pub unit: String,
    /// At the head of each page: the job, at its right.
    pub job: String,
    /// At the foot of each page.
    pub foot: String,
    /// Its size when printed.
    pub size: Size,
    /// Year, month, day, hour and minute (UTC) of the last change in it: the date it bears.
    pub date: [u16; 5],
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// Size of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// 8 1/2 x 11 in.
    Letter,
    /// 210 x 297 mm.
    A4,
}

/// One thing below the other.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// The heading of the whole.
    Title(String),
    /// A heading: of a part, or of something in a part.
    Heading(Level, String),
    /// Words; in a form of their own.
    Text(Style, String),
    /// Points, one below the other.
    List(Vec<String>),
    /// A table.
    Table(Table),
    /// A drawing.
    Drawing(Drawing),
    /// Photos, two beside each other.
    Photos(Vec<Photo>),
}

/// Which heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Of a part of the paper.
    Part,
    /// Of one thing in a part.
    Thing,
}

/// How words stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// As they are.
    Plain,
    /// In a frame: what must be seen.
    Banner,
    /// What can hurt: with a bar beside it.
    Caution,
    /// Small: a hash.
    Hash,
}

/// A table with its heads; also a sheet of a workbook and a CSV file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What it is of; the name of its sheet.
    pub name: String,
    /// The heads of its columns.
    pub heads: Vec<String>,
    /// Its rows, each as wide as the heads.
    pub rows: Vec<Vec<Cell>>,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// Small and quiet words: a working, a hash.
    Small(String),
    /// An exact decimal as text: on paper at the right, a number in a workbook.
    Number(String),
}

impl Cell {
    /// What it says.
    pub fn text(&self) -> &str {
        match self {
            Self::Text(text) | Self::Small(text) | Self::Number(text) => text,
        }
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(text: T) -> Self {
        Self::Text(text.into())
    }
}

/// A photo with what is said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// SHA-256 of its original: what [`Pictures`] is asked for.
    pub sha256: String,
    /// What it shows, for someone who does not see it.
    pub alt: String,
    /// Lines below it.
    pub lines: Vec<String>,
    /// What is drawn over it, in pixels of the upright original.
    pub over: Option<Drawing>,
    /// Only a part of it is shown; nothing is drawn over it then.
    pub part: Option<Part>,
}

/// A frame through which a part of a photo is seen, as it lies below it: turned and scaled, so that the same part of
/// two photos can be seen side by side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Height of the frame in its own widths.
    pub frame: f64,
    /// Height of the whole photo in its own widths.
    pub photo: f64,
    /// `[a, b, x, y]`: a place `[u, v]` of the photo, in its widths, lies at `[a u - b v + x, b u + a v + y]` of the
    /// frame, in the frame's widths.
    pub lies: [f64; 4],
}

/// A drawing, in its own measure, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Left, top, width and height of what is seen.
    pub frame: [f64; 4],
    /// What it shows, for someone who does not see it.
    pub alt: String,
    /// Its measure is the millimetre of the thing: on paper it comes to a round scale, which is said below it.
    pub to_scale: bool,
    /// From back to front.
    pub items: Vec<Item>,
}

/// One thing of a drawing; widths of lines and sizes of letters in its measure.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through points; `closed` back to its first.
    Line {
        /// Its points.
        points: Vec<[f64; 2]>,
        /// Back to the first point.
        closed: bool,
        /// Its colour.
        ink: Ink,
        /// Its width.
        thick: f64,
    },
    /// A rectangle that is hatched: left, top, width, height.
    Hatch([f64; 4]),
    /// Words.
    Words {
        /// Left, middle or right end of their base line.
        at: [f64; 2],
        /// Which of these.
        anchor: Anchor,
        /// Height of the type.
        size: f64,
        /// Colour.
        ink: Ink,
        /// A white edge, to be read over a photo.
        edge: bool,
        /// The words.
        text: String,
    },
}

/// What a base line begins or ends at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// It ends there.
    End,
}

/// A colour of the house.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Near-black.
    Dark,
    /// Layout-dye blue.
    Blue,
    /// Thin lines.
    Grey,
    /// Quiet words.
    Quiet,
    /// Below something over a photo.
    White,
}

impl Ink {
    /// Red, green, blue.
    pub const fn rgb(self) -> [u8; 3] {
        match self {
            Self::Dark => [0x10, 0x15, 0x1c],
            Self::Blue => [0x0b, 0x3d, 0x91],
            Self::Grey => [0x9a, 0xa4, 0xb1],
            Self::Quiet => [0x3a, 0x46, 0x54],
            Self::White => [0xff, 0xff, 0xff],
        }
    }
}

/// Where the photos come from.
pub trait Pictures {
    /// The photo as a JPEG to be put in; nothing where it cannot be shown.
    ///
    /// # Errors
    /// [`Error::Stopped`].
    fn jpeg(&mut self, sha256: &str) -> Result<Option<Vec<u8>>, Error>;
}
