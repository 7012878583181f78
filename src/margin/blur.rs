//! Gaussian blur of a plane.
//!
//! The kernel and the border are those of the library's blur, which works pixel by pixel; here whole
//! rows are added up.

use crate::micrograph::Plane;

/// The plane blurred with standard deviation `sigma` (above 0), in pixels; beyond the border its
/// outermost pixels go on.
pub fn blurred(plane: &Plane, sigma: f32) -> Plane {
    let kernel = kernel(sigma);
    let reach = kernel.len() / 2;
    let (width, height) = (plane.width() as usize, plane.height() as usize);
    let mut along = Plane::new(plane.width(), plane.height());
    let mut longer = vec![0.0; width + 2 * reach];
    let rows = plane.as_raw().chunks_exact(width);
    for (out, row) in along.chunks_exact_mut(width).zip(rows) {
        longer[..reach].fill(row[0]);
        longer[reach..reach + width].copy_from_slice(row);
        longer[reach + width..].fill(row[width - 1]);
        for (k, weight) in kernel.iter().enumerate() {
            add(out, &longer[k..k + width], *weight);
        }
    }
    let mut both = Plane::new(plane.width(), plane.height());
    for (y, out) in both.chunks_exact_mut(width).enumerate() {
        for (k, weight) in kernel.iter().enumerate() {
            let row = (y + k).saturating_sub(reach).min(height - 1);
            add(out, &along.as_raw()[row * width..][..width], *weight);
        }
    }
    both
}

fn add(out: &mut [f32], row: &[f32], weight: f32) {
    for (value, other) in out.iter_mut().zip(row) {
        *value += weight * other;
    }
}

/// A Gaussian cut off at two standard deviations, its sum 1.
fn kernel(sigma: f32) -> Vec<f32> {
    let reach = (2.0 * sigma).ceil() as i32;
    let raw: Vec<f32> = (-reach..=reach)
        .map(|k| (-0.5 * (k as f32 / sigma).powi(2)).exp())
        .collect();
    let sum: f32 = raw.iter().sum();
    raw.iter().map(|weight| weight / sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::Luma;

    #[test]
    fn it_gives_what_the_library_gives() {
        for (width, height) in [(37, 23), (4, 50), (50, 3)] {
            let plane = Plane::from_fn(width, height, |x, y| {
                Luma([((x * 7 + y * 13) % 17) as f32 * 0.2 - 1.0])
            });
            for sigma in [1.0, 1.2, 1.5] {
                let library = imageproc::filter::gaussian_blur_f32(&plane, sigma);
                let ours = blurred(&plane, sigma);
                let off = library.iter().zip(ours.iter());
                assert!(off.map(|(a, b)| (a - b).abs()).fold(0.0, f32::max) < 1e-5);
            }
        }
    }
}
