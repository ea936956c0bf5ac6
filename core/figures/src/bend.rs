//! Flat lengths of bent sheet: caps, flashings and corner patches are cut flat and bent.

/// How far the bend line lies from the mould line: tan(A / 2) × (R + T) for a bend of `degrees` with inside radius
/// `radius` in sheet `thick`, all lengths in one unit (AC 43.13-1B, page 4-14). None for what is no bend: less than
/// 0 or 180 degrees and more, or a length that is negative.
#[must_use]
pub fn setback(degrees: f64, radius: f64, thick: f64) -> Option<f64> {
    let bends = (0.0..180.0).contains(&degrees) && radius >= 0.0 && thick >= 0.0;
    bends.then(|| (degrees.to_radians() / 2.0).tan() * (radius + thick))
}
