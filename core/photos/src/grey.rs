//! Brightness of a picture, for what is looked for in it. Places are continuous: a pixel reaches from its number to
//! the next, so that they mean the same at every size.

use image::{DynamicImage, GrayImage};

/// Right, down.
pub(crate) type Point = [f64; 2];

/// Rows of brightness, from the top; 0 black, 255 white.
#[derive(Debug, Clone)]
pub(crate) struct Grey {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<f32>,
}

impl Grey {
    pub fn of(picture: &DynamicImage) -> Self {
        Self::of_luma(&picture.to_luma8())
    }

    pub fn of_luma(luma: &GrayImage) -> Self {
        Self {
            width: luma.width() as usize,
            height: luma.height() as usize,
            pixels: luma.as_raw().iter().map(|value| f32::from(*value)).collect(),
        }
    }

    /// The pixel there, or the nearest one of the edge.
    pub fn at(&self, x: i32, y: i32) -> f32 {
        let inside = |at: i32, size: usize| usize::try_from(at).unwrap_or(0).min(size.saturating_sub(1));
        let row = inside(y, self.height).saturating_mul(self.width);
        let at = row.saturating_add(inside(x, self.width));
        self.pixels.get(at).copied().unwrap_or_default()
    }

    /// Between the four nearest pixels.
    pub fn sample(&self, [x, y]: Point) -> f32 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (left, top) = (x.floor() as i32, y.floor() as i32);
        let (right, below) = ((x - x.floor()) as f32, (y - y.floor()) as f32);
        let between = |y: i32| {
            let (a, b) = (self.at(left, y), self.at(left.saturating_add(1), y));
            a + (b - a) * right
        };
        let (above, under) = (between(top), between(top.saturating_add(1)));
        above + (under - above) * below
    }

    /// At half its size: means of two by two.
    pub fn half(&self) -> Self {
        let (width, height) = (self.width / 2, self.height / 2);
        let number = |at: usize| i32::try_from(at.saturating_mul(2)).unwrap_or(i32::MAX);
        let rows = (0..height).flat_map(|y| (0..width).map(move |x| (number(x), number(y))));
        let mean = |(x, y): (i32, i32)| {
            let (right, below) = (x.saturating_add(1), y.saturating_add(1));
            (self.at(x, y) + self.at(right, y) + self.at(x, below) + self.at(right, below)) / 4.0
        };
        Self {
            width,
            height,
            pixels: rows.map(mean).collect(),
        }
    }

    /// The mean of the square around each pixel, this many each way as far as the picture goes.
    pub fn blurred(&self, radius: usize) -> Self {
        self.rows_blurred(radius).turned().rows_blurred(radius).turned()
    }

    fn rows_blurred(&self, radius: usize) -> Self {
        let mut pixels = Vec::with_capacity(self.pixels.len());
        let mut sums = Vec::with_capacity(self.width.saturating_add(1));
        for row in self.pixels.chunks_exact(self.width.max(1)) {
            sums.clear();
            let mut sum = 0.0_f64;
            sums.push(sum);
            for value in row {
                sum += f64::from(*value);
                sums.push(sum);
            }
            for x in 0..row.len() {
                let (from, to) = (
                    x.saturating_sub(radius),
                    x.saturating_add(radius).saturating_add(1).min(row.len()),
                );
                let sum = |at: usize| sums.get(at).copied().unwrap_or_default();
                pixels.push(((sum(to) - sum(from)) / to.saturating_sub(from).max(1) as f64) as f32);
            }
        }
        Self { pixels, ..*self }
    }

    fn turned(&self) -> Self {
        let column = |x: usize| self.pixels.iter().skip(x).step_by(self.width.max(1)).copied();
        Self {
            width: self.height,
            height: self.width,
            pixels: (0..self.width).flat_map(column).collect(),
        }
    }

    /// Two of the same size, pixel by pixel.
    pub fn with(&self, other: &Self, each: impl Fn(f32, f32) -> f32) -> Self {
        let pixels = self
            .pixels
            .iter()
            .zip(&other.pixels)
            .map(|(a, b)| each(*a, *b))
            .collect();
        Self { pixels, ..*self }
    }
}

/// How alike two rows of numbers are: 1 the same up to brightness and contrast, 0 unrelated.
pub(crate) fn likeness(pairs: impl Iterator<Item = (f32, f32)>) -> f64 {
    let [mut n, mut a, mut b, mut aa, mut bb, mut ab] = [0.0_f64; 6];
    for (x, y) in pairs {
        let (x, y) = (f64::from(x), f64::from(y));
        n += 1.0;
        a += x;
        b += y;
        aa += x * x;
        bb += y * y;
        ab += x * y;
    }
    let spread = (aa - a * a / n) * (bb - b * b / n);
    if n > 1.0 && spread > 1e-9 {
        (ab - a * b / n) / spread.sqrt()
    } else {
        0.0
    }
}
