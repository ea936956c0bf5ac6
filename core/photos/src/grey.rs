//! Brightness of a picture, for what is looked for in it. Places are continuous: a pixel reaches from its number to
//! the next, so that they mean the same at every size.

use image::{DynamicImage, GrayImage};

/// Right, down.
pub(crate) type Point = [f64; 2];

/// How many parts a pixel has for [`Grey::between`].
pub(crate) const PARTS: i32 = 1 << 16;

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

    /// From the top; empty where there is none.
    pub fn row(&self, y: usize) -> &[f32] {
        let from = y.saturating_mul(self.width);
        let row = self.pixels.get(from..from.saturating_add(self.width));
        row.unwrap_or_default()
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

    /// As [`Grey::sample`] of a place moved by half a pixel left and up, where four pixels are around it; made for many,
    /// so the place comes in parts of a pixel, [`PARTS`] of them.
    #[inline]
    pub fn between(&self, [x, y]: [i32; 2]) -> Option<f32> {
        let [left, top] = [x >> PARTS.ilog2(), y >> PARTS.ilog2()].map(usize::try_from);
        let (left, top) = (left.ok()?, top.ok()?);
        if left.saturating_add(1) >= self.width {
            return None;
        }
        let [across, down] = [x, y].map(|c| (c & PARTS.saturating_sub(1)) as f32 / PARTS as f32);
        let at = top.saturating_mul(self.width).saturating_add(left);
        let above = self.pixels.get(at..)?.first_chunk::<2>()?;
        let under = self
            .pixels
            .get(at.saturating_add(self.width)..)?
            .first_chunk::<2>()?;
        let [above, under] = [above, under].map(|[a, b]| a + (b - a) * across);
        Some(above + (under - above) * down)
    }

    /// At half its size: means of two by two.
    pub fn half(&self) -> Self {
        let (width, height) = (self.width / 2, self.height / 2);
        let mut pixels = Vec::with_capacity(width.saturating_mul(height));
        for two in self.pixels.chunks_exact(self.width.max(1).saturating_mul(2)) {
            let (above, below) = two.split_at(self.width);
            let squares = above.chunks_exact(2).zip(below.chunks_exact(2));
            pixels.extend(squares.map(|(above, below)| above.iter().chain(below).sum::<f32>() / 4.0));
        }
        Self {
            width,
            height,
            pixels,
        }
    }

    /// The mean of the square around each pixel, this many each way as far as the picture goes.
    pub fn blurred(&self, radius: usize) -> Self {
        self.rows_blurred(radius).columns_blurred(radius)
    }

    fn rows_blurred(&self, radius: usize) -> Self {
        let window = radius.saturating_mul(2).saturating_add(1);
        let mut pixels = Vec::with_capacity(self.pixels.len());
        let mut sums = Vec::with_capacity(self.width.saturating_add(1));
        for row in self.pixels.chunks_exact(self.width.max(1)) {
            sums.clear();
            sums.push(0.0);
            sums.extend(row.iter().scan(0.0_f64, |sum, value| {
                *sum += f64::from(*value);
                Some(*sum)
            }));
            let mean = |x: usize| {
                let (from, to) = (
                    x.saturating_sub(radius),
                    x.saturating_add(radius).saturating_add(1).min(row.len()),
                );
                let sum = |at: usize| sums.get(at).copied().unwrap_or_default();
                ((sum(to) - sum(from)) / to.saturating_sub(from).max(1) as f64) as f32
            };
            let inside = row.len().saturating_sub(radius).max(radius).min(row.len());
            pixels.extend((0..radius.min(row.len())).map(mean));
            // Between the edges every window is whole.
            let whole = sums.iter().zip(sums.iter().skip(window));
            pixels.extend(whole.map(|(from, to)| ((to - from) / window as f64) as f32));
            pixels.extend((inside..row.len()).map(mean));
        }
        Self { pixels, ..*self }
    }

    /// Row by row, with one sum a column: from top to bottom it would be read across its memory.
    fn columns_blurred(&self, radius: usize) -> Self {
        let rows: Vec<&[f32]> = self.pixels.chunks_exact(self.width.max(1)).collect();
        let mut pixels = Vec::with_capacity(self.pixels.len());
        let mut sums = vec![0.0_f64; self.width];
        let put = |sums: &mut [f64], row: Option<&&[f32]>, sign: f64| {
            for (sum, value) in sums.iter_mut().zip(row.into_iter().copied().flatten()) {
                *sum += sign * f64::from(*value);
            }
        };
        rows.iter()
            .take(radius)
            .for_each(|row| put(&mut sums, Some(row), 1.0));
        for y in 0..rows.len() {
            let (first, last) = (y.saturating_sub(radius), y.saturating_add(radius));
            put(&mut sums, rows.get(last), 1.0);
            put(
                &mut sums,
                y.checked_sub(radius.saturating_add(1))
                    .and_then(|gone| rows.get(gone)),
                -1.0,
            );
            let many = last
                .saturating_add(1)
                .min(rows.len())
                .saturating_sub(first)
                .max(1) as f64;
            pixels.extend(sums.iter().map(|sum| (sum / many) as f32));
        }
        Self { pixels, ..*self }
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

/// How alike two rows of numbers are, gathered pair by pair.
#[derive(Debug, Default)]
pub(crate) struct Alike {
    /// How many pairs.
    pub n: f64,
    sums: [f64; 2],
    squares: [f64; 2],
    products: f64,
}

impl Alike {
    #[inline]
    pub fn add(&mut self, x: f32, y: f32) {
        self.weigh(x, y, 1.0);
    }

    /// As [`Alike::add`], with a weight of one or none.
    #[inline]
    pub fn weigh(&mut self, x: f32, y: f32, weight: f32) {
        let (x, y, weight) = (f64::from(x * weight), f64::from(y), f64::from(weight));
        self.n += weight;
        self.sums = [self.sums[0] + x, self.sums[1] + y];
        self.squares = [self.squares[0] + x * x, self.squares[1] + y * y];
        self.products += x * y;
    }

    /// 1 the same up to brightness and contrast, 0 unrelated.
    pub fn likeness(&self) -> f64 {
        let (n, [a, b], [aa, bb]) = (self.n, self.sums, self.squares);
        let spread = (aa - a * a / n) * (bb - b * b / n);
        if n > 1.0 && spread > 1e-9 {
            (self.products - a * b / n) / spread.sqrt()
        } else {
            0.0
        }
    }
}
