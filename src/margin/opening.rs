//! What is narrower than a disc taken away from a picture, and a picture widened.
//!
//! It gives what the library's morphology gives, which goes through every place of the shape for every
//! pixel or takes the distances of all; here the shape is a pile of rows, and longer rows are made from
//! shorter ones.

use crate::micrograph::Luma;
use crate::micrograph::Mask;

/// The least and the greatest of two values, as a kind that the compiler can see through.
trait Choice {
    /// What stands beyond the border: it is never chosen.
    const BEYOND: u8;
    fn choose(a: u8, b: u8) -> u8;
}

struct Least;

impl Choice for Least {
    const BEYOND: u8 = u8::MAX;

    fn choose(a: u8, b: u8) -> u8 {
        a.min(b)
    }
}

struct Greatest;

impl Choice for Greatest {
    const BEYOND: u8 = u8::MIN;

    fn choose(a: u8, b: u8) -> u8 {
        a.max(b)
    }
}

/// The picture eroded and then dilated by a disc of `radius` pixels; what lies beyond its border does
/// not count.
pub fn opened(picture: &Mask, radius: usize) -> Mask {
    let eroded = over_shape::<Least>(picture, radius, half_length);
    over_shape::<Greatest>(&eroded, radius, half_length)
}

/// The picture dilated by a square that reaches `reach` pixels to each side.
pub fn widened(picture: &Mask, reach: usize) -> Mask {
    over_shape::<Greatest>(picture, reach, |reach, _| reach)
}

/// Half the length of the disc's row `dy` rows from its middle.
fn half_length(radius: usize, dy: usize) -> usize {
    (radius * radius - dy * dy).isqrt()
}

/// `half_length` is that of each row of the shape, by its reach and how far the row is from its middle.
fn over_shape<C: Choice>(
    picture: &Mask,
    radius: usize,
    half_length: fn(usize, usize) -> usize,
) -> Mask {
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let mut out = Mask::from_pixel(picture.width(), picture.height(), Luma([C::BEYOND]));
    // a frame wide enough that no place needs asking whether it is in the picture
    let framed = width + 2 * radius;
    let mut runs = vec![C::BEYOND; framed * height];
    for (run, row) in runs
        .chunks_exact_mut(framed)
        .zip(picture.as_raw().chunks_exact(width))
    {
        run[radius..radius + width].copy_from_slice(row);
    }
    let source = runs.clone();
    for half in 0..=radius {
        if half > 0 {
            for (run, row) in runs
                .chunks_exact_mut(framed)
                .zip(source.chunks_exact(framed))
            {
                let run = &mut run[radius..radius + width];
                let left = &row[radius - half..radius - half + width];
                let right = &row[radius + half..radius + half + width];
                for ((value, left), right) in run.iter_mut().zip(left).zip(right) {
                    *value = C::choose(*value, C::choose(*left, *right));
                }
            }
        }
        for dy in (0..=radius).filter(|dy| half_length(radius, *dy) == half) {
            add_rows::<C>(&mut out, &runs, (framed, radius), dy);
        }
    }
    out
}

/// Lets the runs of the rows `dy` above and below count in each row.
fn add_rows<C: Choice>(out: &mut Mask, runs: &[u8], (framed, radius): (usize, usize), dy: usize) {
    let (width, height) = (out.width() as usize, out.height() as usize);
    for (y, values) in out.chunks_exact_mut(width).enumerate() {
        let below = Some(y + dy).filter(|other| *other < height);
        for other in [y.checked_sub(dy), below].into_iter().flatten() {
            let run = &runs[other * framed + radius..][..width];
            for (value, run) in values.iter_mut().zip(run) {
                *value = C::choose(*value, *run);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_gives_what_the_library_gives() {
        let mut state = 7_u32;
        let picture = Mask::from_fn(61, 47, |x, y| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let blob = u32::from((x / 9 + y / 7) % 3 == 0) * 120;
            Luma([(blob + state % 90) as u8])
        });
        let norm = imageproc::distance_transform::Norm::L2;
        let blobs = imageproc::contrast::threshold(
            &picture,
            120,
            imageproc::contrast::ThresholdType::Binary,
        );
        for radius in [1_u8, 2, 5, 7] {
            assert_eq!(
                opened(&blobs, radius.into()),
                imageproc::morphology::open(&blobs, norm, radius),
                "radius {radius}"
            );
            let disc = imageproc::morphology::Mask::disk(radius);
            assert_eq!(
                opened(&picture, radius.into()),
                imageproc::morphology::grayscale_open(&picture, &disc),
                "radius {radius}"
            );
            let square = imageproc::morphology::Mask::square(radius);
            assert_eq!(
                widened(&picture, radius.into()),
                imageproc::morphology::grayscale_dilate(&picture, &square),
                "reach {radius}"
            );
        }
    }
}
