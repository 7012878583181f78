//! The light field behind the animal: what the camera would have seen without it.
//!
//! A smooth surface per channel, fitted in the logarithm of the intensity. A first fit is held back (a
//! plane and a fall-off about the centre) so that it cannot bend into a large blade; a second fit outside
//! the blade may be a free quadratic.

use crate::geometry::Point;
use crate::micrograph::Mask;
use crate::micrograph::light::LinearLight;
use crate::statistics::robust::quantile;
use nalgebra::DMatrix;
use nalgebra::DVector;
use std::sync::Arc;
use wide::f64x4;

/// Least intensity that counts: half a code of an eight-bit camera, in linear light.
const FLOOR: f32 = 0.000_15;
/// Its natural logarithm.
const LOG_FLOOR: f32 = -8.804_875;

/// The term of the fall-off with the square of the distance from the centre. Lamps and lenses darken
/// the rim of a photo, never its middle.
const FALL: usize = 3;
/// The ridge that keeps a term at zero.
const NOT_AT_ALL: f64 = 1e6;

/// How freely a light field may bend.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A plane and a fall-off, both held near nothing: large smooth tissue does not bend it.
    Flat,
    /// A plane and a fall-off with the square of the distance from the centre.
    Stiff,
    /// All terms up to the second order.
    Quadratic,
}

impl Form {
    fn terms(self) -> usize {
        match self {
            Self::Flat | Self::Stiff => 4,
            Self::Quadratic => 6,
        }
    }

    /// Ridge per term, for the whole weight that lies on the surface: a background that is only a thin
    /// sliver must not bend the field, and yet the rim of a round field may have a tenth of the light.
    fn ridge(self) -> [f64; 6] {
        match self {
            Self::Flat => [1e-12, 1e-3, 1e-3, 2e-2, 0.0, 0.0],
            Self::Stiff | Self::Quadratic => [1e-12, 1e-5, 1e-5, 2e-5, 5e-4, 5e-4],
        }
    }
}

/// Residuals up to which a pixel agrees with a light field, in natural logarithms of the intensity.
const AGREES: f64 = 0.03;
/// What is brighter than the light by this much contradicts it ...
const BRIGHTER: f64 = 0.06;
/// ... and counts this many times, since nothing in the light path makes it brighter.
const CONTRADICTS: f64 = 10.0;

/// The part of a photo that light comes through, where an eyepiece or a stop hides the rest.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct View {
    /// Above 0 where light comes through; coarser than the photo.
    mask: Mask,
    /// Photo pixels per pixel of the mask.
    factor: f64,
}

impl View {
    pub(super) fn holds(&self, photo: Point) -> bool {
        let (x, y) = (photo.x / self.factor, photo.y / self.factor);
        x >= 0.0
            && y >= 0.0
            && self
                .mask
                .get_pixel_checked(x as u32, y as u32)
                .is_none_or(|pixel| pixel[0] > 0)
    }
}

/// The light behind the animal: natural logarithm of intensity as a polynomial, per channel.
#[derive(Debug, Clone, PartialEq)]
pub struct LightField {
    pub(super) terms: [[f64; 6]; 3],
    pub(super) centre: Point,
    pub(super) reach: f64,
    pub(super) view: Option<Arc<View>>,
}

impl LightField {
    /// The fall-off towards the corners, as [`Sites::fit`] takes it.
    pub fn fall(&self) -> f64 {
        self.terms[1][FALL]
    }

    /// The same field, with no density where `view` is 0; one pixel of `view` spans `factor` pixels of
    /// the photo.
    #[must_use]
    pub fn seen_through(self, view: Mask, factor: u32) -> Self {
        let hidden = view.as_raw().contains(&0);
        let factor = f64::from(factor);
        Self {
            view: hidden.then(|| Arc::new(View { mask: view, factor })),
            ..self
        }
    }

    /// Natural logarithm of the intensity of the empty field at a photo position, per channel.
    fn log_at(&self, photo: Point) -> [f32; 3] {
        let b = basis(
            (photo.x - self.centre.x) / self.reach,
            (photo.y - self.centre.y) / self.reach,
        );
        self.terms.map(|t| {
            let log = t[0] + t[1] * b[1] + t[2] * b[2] + t[3] * b[3] + t[4] * b[4] + t[5] * b[5];
            log as f32
        })
    }

    /// Intensity of the empty field at a photo position, per channel.
    pub fn at(&self, photo: Point) -> [f32; 3] {
        self.log_at(photo).map(f32::exp)
    }

    /// Optical density per channel of `intensity` at a photo position; NaN where no light comes
    /// through.
    pub fn density(&self, photo: Point, intensity: [f32; 3]) -> [f32; 3] {
        if self.view.as_ref().is_some_and(|view| !view.holds(photo)) {
            return [f32::NAN; 3];
        }
        let empty = self.log_at(photo);
        [0, 1, 2].map(|c| (empty[c].max(LOG_FLOOR) - ln(intensity[c])) * std::f32::consts::LOG10_E)
    }

    /// [`Self::density`] of many places at once: intensities, NaN where none is known, become
    /// densities.
    pub fn make_densities(&self, places: &[Point], intensities: &mut [[f32; 3]]) {
        let mut logs: Vec<[f32; 3]> = intensities.to_vec();
        for value in logs.as_flattened_mut() {
            *value = ln(*value);
        }
        for ((value, log), place) in intensities.iter_mut().zip(&logs).zip(places) {
            let hidden = self.view.as_ref().is_some_and(|view| !view.holds(*place));
            *value = if hidden || value[0].is_nan() {
                [f32::NAN; 3]
            } else {
                let empty = self.log_at(*place);
                [0, 1, 2].map(|c| (empty[c].max(LOG_FLOOR) - log[c]) * std::f32::consts::LOG10_E)
            };
        }
    }
}

/// The natural logarithm of an intensity, [`FLOOR`] at least, to 3e-7 or one part in a million.
///
/// Without a branch or a call, so that the compiler works out several at a time.
///
/// # Formula
/// ln(2^e m) = e ln 2 + ln m with m between the square roots of 1/2 and 2; ln m by a polynomial in
/// m - 1 (that of the Cephes library's `logf`, from memory; a test holds it against the standard one).
#[inline]
pub(super) fn ln(intensity: f32) -> f32 {
    // the bits of the square root of 1/2
    const HALF: u32 = 0x3f35_04f3;
    let bits = intensity.max(FLOOR).to_bits();
    let exponent = (bits.wrapping_sub(HALF) as i32) >> 23;
    let z = f32::from_bits(bits.wrapping_sub((exponent << 23) as u32)) - 1.0;
    let mut p = 7.037_683_6e-2;
    for term in [
        -1.151_461e-1,
        1.167_699_9e-1,
        -1.242_014_1e-1,
        1.424_932_3e-1,
        -1.666_805_8e-1,
        2.000_071_4e-1,
        -2.499_999_4e-1,
        3.333_333e-1,
    ] {
        p = p * z + term;
    }
    let squared = z * z;
    p * z * squared - 0.5 * squared + z + exponent as f32 * std::f32::consts::LN_2
}

pub(super) fn basis(x: f64, y: f64) -> [f64; 6] {
    [1.0, x, y, x * x + y * y, x * x - y * y, x * y]
}

/// Residuals that still count, in natural logarithms of intensity, from round to round: wide first,
/// so that a fall-off is followed, then ever narrower.
const ROUNDS: [f64; 8] = [0.3, 0.2, 0.13, 0.08, 0.05, 0.035, 0.025, 0.02];

/// Fewer sites than this make no field.
const FEWEST_SITES: usize = 60;

/// The places of a picture at which light fields are fitted, four at a time.
#[derive(Debug, Clone)]
pub struct Sites {
    /// Where they lie, in pixels of the picture.
    pixels: Vec<[u32; 2]>,
    /// The terms of the polynomial, as [`basis`] gives them; the last four are filled with a copy.
    basis: Vec<[f64x4; 6]>,
    /// Natural logarithms of the intensity, per channel.
    logs: [Vec<f64x4>; 3],
    centre: Point,
    reach: f64,
}

impl Sites {
    /// Every so many pixels of `light`, along and down.
    pub fn of(light: &LinearLight, apart: usize) -> Self {
        let (width, height) = (light.width(), light.height());
        let centre = Point::new(f64::from(width - 1) / 2.0, f64::from(height - 1) / 2.0);
        let reach = centre.length().max(1.0);
        let pixels: Vec<[u32; 2]> = (0..height)
            .step_by(apart)
            .flat_map(|y| (0..width).step_by(apart).map(move |x| [x, y]))
            .collect();
        let four = |chunk: &[[u32; 2]], of: &dyn Fn([u32; 2]) -> f64| {
            f64x4::new(std::array::from_fn(|lane| {
                of(chunk[lane.min(chunk.len() - 1)])
            }))
        };
        let one = f64x4::splat(1.0);
        let basis = pixels.chunks(4).map(|chunk| {
            let x = four(chunk, &|[x, _]| (f64::from(x) - centre.x) / reach);
            let y = four(chunk, &|[_, y]| (f64::from(y) - centre.y) / reach);
            [one, x, y, x * x + y * y, x * x - y * y, x * y]
        });
        let logs = light.planes().each_ref().map(|plane| {
            let log = |[x, y]: [u32; 2]| f64::from(ln(plane.get_pixel(x, y)[0]));
            pixels.chunks(4).map(|chunk| four(chunk, &log)).collect()
        });
        let factor = f64::from(light.factor());
        Self {
            basis: basis.collect(),
            logs,
            centre: light.photo_from_own(centre),
            reach: reach * factor,
            pixels,
        }
    }

    /// How much each site counts, 0 where four are not filled.
    fn weights(&self, weight: &impl Fn(u32, u32) -> f64) -> Vec<f64x4> {
        self.pixels
            .chunks(4)
            .map(|chunk| {
                let mut lanes = [0.0; 4];
                for (lane, [x, y]) in lanes.iter_mut().zip(chunk) {
                    *lane = weight(*x, *y);
                }
                f64x4::new(lanes)
            })
            .collect()
    }

    /// Fits a field to the sites for which `weight` is above zero.
    ///
    /// The fit leans on the upper envelope: pixels darker than the surface count less from round to
    /// round, since anything in the light path can only darken it. `fall` is the fall-off to begin with:
    /// the logarithm of the light at a corner, less that in the middle. `None` when too few sites count.
    pub fn fit(
        &self,
        (form, fall): (Form, f64),
        weight: &impl Fn(u32, u32) -> f64,
    ) -> Option<LightField> {
        let weights = self.weights(weight);
        let counted = weights
            .iter()
            .flat_map(|four| four.to_array())
            .filter(|weight| *weight > 0.0);
        if counted.count() < FEWEST_SITES {
            return None;
        }
        let mut terms = [[0.0; 6]; 3];
        for (terms, logs) in terms.iter_mut().zip(&self.logs) {
            *terms = self.upper_envelope(logs, &weights, (form, fall))?;
        }
        Some(LightField {
            terms,
            centre: self.centre,
            reach: self.reach,
            view: None,
        })
    }

    /// How well the picture agrees with a field: the share of `weight` that lies on it, less what is
    /// brighter than it.
    pub fn agreement(&self, field: &LightField, weight: &impl Fn(u32, u32) -> f64) -> f64 {
        let weights = self.weights(weight);
        let (one, zero) = (f64x4::splat(1.0), f64x4::splat(0.0));
        let (mut agrees, mut all) = (zero, zero);
        for (terms, logs) in field.terms.iter().zip(&self.logs) {
            let terms = terms.map(f64x4::splat);
            for ((basis, log), weight) in self.basis.iter().zip(logs).zip(&weights) {
                let off = *log - surface(basis, &terms);
                let squared = off * off * f64x4::splat(1.0 / (AGREES * AGREES));
                let contradicts = off.simd_gt(f64x4::splat(BRIGHTER));
                let against = contradicts.select(f64x4::splat(CONTRADICTS), zero);
                agrees += *weight * (one / (one + squared * squared) - against);
                all += *weight;
            }
        }
        agrees.reduce_add() / f64::max(all.reduce_add(), 1e-9)
    }

    /// The level under which nearly all that counts lies once a fall-off is taken off.
    fn level_above(&self, logs: &[f64x4], weights: &[f64x4], fall: f64) -> Option<f64> {
        let mut levels = Vec::with_capacity(self.pixels.len());
        for ((basis, log), weight) in self.basis.iter().zip(logs).zip(weights) {
            let level = (*log - f64x4::splat(fall) * basis[FALL]).to_array();
            let counts = weight.to_array().map(|weight| weight > 0.0);
            levels.extend(level.iter().zip(counts).filter(|l| l.1).map(|l| *l.0));
        }
        quantile(&levels, 0.96)
    }

    /// Iteratively reweighted least squares with less weight below the surface than above.
    fn upper_envelope(
        &self,
        logs: &[f64x4],
        weights: &[f64x4],
        (form, fall): (Form, f64),
    ) -> Option<[f64; 6]> {
        let used = form.terms();
        let mut terms = [0.0; 6];
        terms[0] = self.level_above(logs, weights, fall)?;
        terms[FALL] = fall;
        let (zero, one, half) = (f64x4::splat(0.0), f64x4::splat(1.0), f64x4::splat(0.5));
        for width in ROUNDS {
            let fours_of_terms = terms.map(f64x4::splat);
            let per_width = f64x4::splat(1.0 / width);
            let mut products = [[zero; 6]; 6];
            let mut sums = [zero; 6];
            let mut total = zero;
            for ((basis, log), given) in self.basis.iter().zip(logs).zip(weights) {
                if *given == zero {
                    continue;
                }
                let z = (*log - surface(&basis[..used], &fours_of_terms)) * per_width;
                let z = z.simd_lt(zero).select(z + z, z * half);
                let squared = z * z;
                let weight = *given / (one + squared * squared);
                total += weight;
                for i in 0..used {
                    let weighed = weight * basis[i];
                    sums[i] += weighed * *log;
                    for j in 0..=i {
                        products[i][j] += weighed * basis[j];
                    }
                }
            }
            let total = total.reduce_add();
            let mut normal = DMatrix::<f64>::zeros(used, used);
            let mut right = DVector::<f64>::zeros(used);
            for i in 0..used {
                right[i] = sums[i].reduce_add();
                for j in 0..=i {
                    let product = products[i][j].reduce_add();
                    normal[(i, j)] = product;
                    normal[(j, i)] = product;
                }
                normal[(i, i)] += total * form.ridge()[i];
            }
            let mut solved = normal.clone().cholesky()?.solve(&right);
            if solved[FALL] > 0.0 {
                normal[(FALL, FALL)] += total * NOT_AT_ALL;
                solved = normal.cholesky()?.solve(&right);
            }
            for i in 0..used {
                terms[i] = solved[i];
            }
        }
        Some(terms)
    }
}

/// The value of a polynomial at four sites.
fn surface(basis: &[f64x4], terms: &[f64x4]) -> f64x4 {
    let mut surface = f64x4::splat(0.0);
    for (b, term) in basis.iter().zip(terms) {
        surface += *b * *term;
    }
    surface
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::micrograph::Luma;
    use crate::micrograph::Plane;

    #[test]
    fn the_logarithm_is_that_of_the_standard_library() {
        for code in 1..=4000_u16 {
            let intensity = f32::from(code) / 4000.0 * 1.1;
            let (ours, standard) = (ln(intensity), intensity.max(FLOOR).ln());
            let allowed = 3e-7 + 1e-6 * standard.abs();
            assert!((ours - standard).abs() <= allowed, "{intensity}: {ours}");
        }
        assert!((ln(0.0) - LOG_FLOOR).abs() < 1e-4);
    }

    /// An even background of a fall-off, and dark calm tissue to the right of a column.
    fn photo(fall: f64, tissue_from: u32) -> LinearLight {
        let plane = Plane::from_fn(240, 180, |x, y| {
            let (x_off, y_off) = (
                (f64::from(x) - 119.5) / 149.1,
                (f64::from(y) - 89.5) / 149.1,
            );
            let log = -0.3 + fall * (x_off * x_off + y_off * y_off);
            let tissue = if x >= tissue_from { 0.3 } else { 0.0 };
            Luma([libm::exp(log - tissue) as f32])
        });
        LinearLight::of_planes([plane.clone(), plane.clone(), plane], 1)
    }

    #[test]
    fn a_field_follows_a_deep_fall_off() {
        let everywhere = |_: u32, _: u32| 1.0;
        let light = photo(-2.0, 200);
        let field = Sites::of(&light, 3)
            .fit((Form::Stiff, 0.0), &everywhere)
            .unwrap();
        for at in [(10.0, 90.0), (100.0, 10.0), (150.0, 170.0)] {
            let at = Point::new(at.0, at.1);
            let seen = light.sample(at).unwrap();
            assert!(field.density(at, seen)[1].abs() < 0.02);
        }
        let flat = Sites::of(&light, 3)
            .fit((Form::Flat, 0.0), &everywhere)
            .unwrap();
        let agrees = |field: &LightField| Sites::of(&light, 3).agreement(field, &everywhere);
        assert!(agrees(&field) > agrees(&flat) + 0.3);
    }

    #[test]
    fn a_field_never_brightens_to_the_rim() {
        let light = photo(0.5, 240);
        let field = Sites::of(&light, 3)
            .fit((Form::Stiff, 0.0), &|_, _| 1.0)
            .unwrap();
        assert!(field.fall() <= 1e-6);
    }
}
