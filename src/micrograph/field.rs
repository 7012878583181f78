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
    /// Fits the field to the pixels of `light` for which `weight` is above zero.
    ///
    /// The fit leans on the upper envelope: pixels darker than the surface count less from round to
    /// round, since anything in the light path can only darken it. `fall` is the fall-off to begin with:
    /// the logarithm of the light at a corner, less that in the middle. `None` when too few pixels count.
    pub fn fit(
        light: &LinearLight,
        (form, fall): (Form, f64),
        weight: &impl Fn(u32, u32) -> f64,
    ) -> Option<Self> {
        let (width, height) = (light.width(), light.height());
        let centre = Point::new(f64::from(width - 1) / 2.0, f64::from(height - 1) / 2.0);
        let reach = centre.length().max(1.0);
        let mut rows = Vec::new();
        for y in (0..height).step_by(3) {
            for x in (0..width).step_by(3) {
                let w = weight(x, y);
                if w > 0.0 {
                    rows.push((x, y, w));
                }
            }
        }
        if rows.len() < 60 {
            return None;
        }
        let sites = Sites::of(rows.iter().map(|(x, y, weight)| {
            let at = Point::new(f64::from(*x), f64::from(*y));
            (at.minus(centre).times(1.0 / reach), *weight)
        }));
        let mut terms = [[0.0; 6]; 3];
        for (terms, plane) in terms.iter_mut().zip(light.planes()) {
            let values: Vec<f64> = rows
                .iter()
                .map(|(x, y, _)| f64::from(plane.get_pixel(*x, *y)[0].max(FLOOR)).ln())
                .collect();
            *terms = upper_envelope(&sites, &values, (form, fall))?;
        }
        let f = f64::from(light.factor());
        Some(Self {
            terms,
            centre: light.photo_from_own(centre),
            reach: reach * f,
            view: None,
        })
    }

    /// The fall-off towards the corners, as [`Self::fit`] takes it.
    pub fn fall(&self) -> f64 {
        self.terms[1][FALL]
    }

    /// How well a picture agrees with this field: the share of `weight` that lies on it, less what is
    /// brighter than it.
    pub fn agreement(&self, light: &LinearLight, weight: &impl Fn(u32, u32) -> f64) -> f64 {
        let (mut agrees, mut all) = (0.0, 0.0);
        for y in (0..light.height()).step_by(3) {
            for x in (0..light.width()).step_by(3) {
                let photo = light.photo_from_own(Point::new(f64::from(x), f64::from(y)));
                let empty = self.log_at(photo);
                let w = weight(x, y);
                for (empty, plane) in empty.into_iter().zip(light.planes()) {
                    let off = f64::from(ln(plane.get_pixel(x, y)[0]) - empty);
                    let contradicts = f64::from(u8::from(off > BRIGHTER));
                    agrees += w / (1.0 + (off / AGREES).powi(4)) - w * CONTRADICTS * contradicts;
                    all += w;
                }
            }
        }
        agrees / f64::max(all, 1e-9)
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

/// The places at which a field is fitted, four at a time.
struct Sites {
    /// The terms of the polynomial, as [`basis`] gives them.
    basis: Vec<[f64x4; 6]>,
    /// How much each counts; 0 where four are not filled.
    weights: Vec<f64x4>,
}

impl Sites {
    /// The places, relative to the centre and in units of the reach, with their weights.
    fn of(places: impl Iterator<Item = (Point, f64)>) -> Self {
        let places: Vec<(Point, f64)> = places.collect();
        let four = |chunk: &[(Point, f64)], of: fn(&(Point, f64)) -> f64| {
            let mut lanes = [0.0; 4];
            for (lane, place) in lanes.iter_mut().zip(chunk) {
                *lane = of(place);
            }
            f64x4::new(lanes)
        };
        let chunks = places.chunks(4);
        let (basis, weights) = chunks
            .map(|chunk| {
                let (x, y) = (four(chunk, |p| p.0.x), four(chunk, |p| p.0.y));
                let one = f64x4::splat(1.0);
                let basis = [one, x, y, x * x + y * y, x * x - y * y, x * y];
                (basis, four(chunk, |p| p.1))
            })
            .unzip();
        Self { basis, weights }
    }

    /// The level under which nearly all values lie once a fall-off is taken off.
    fn level_above(&self, values: &[f64], fall: f64) -> Option<f64> {
        let squares = self.basis.iter().flat_map(|b| b[FALL].to_array());
        let levels = values
            .iter()
            .zip(squares)
            .map(|(v, square)| v - fall * square);
        quantile(&levels.collect::<Vec<f64>>(), 0.96)
    }
}

/// Iteratively reweighted least squares with less weight below the surface than above.
fn upper_envelope(sites: &Sites, values: &[f64], (form, fall): (Form, f64)) -> Option<[f64; 6]> {
    let used = form.terms();
    let fours: Vec<f64x4> = values
        .chunks(4)
        .map(|chunk| {
            let mut lanes = [0.0; 4];
            lanes[..chunk.len()].copy_from_slice(chunk);
            f64x4::new(lanes)
        })
        .collect();
    let mut terms = [0.0; 6];
    terms[0] = sites.level_above(values, fall)?;
    terms[FALL] = fall;
    let (zero, one, half) = (f64x4::splat(0.0), f64x4::splat(1.0), f64x4::splat(0.5));
    for width in ROUNDS {
        let fours_of_terms = terms.map(f64x4::splat);
        let per_width = f64x4::splat(1.0 / width);
        let mut products = [[zero; 6]; 6];
        let mut sums = [zero; 6];
        let mut total = zero;
        for ((basis, value), given) in sites.basis.iter().zip(&fours).zip(&sites.weights) {
            let mut surface = zero;
            for (b, term) in basis.iter().zip(&fours_of_terms[..used]) {
                surface += *b * *term;
            }
            let z = (*value - surface) * per_width;
            let z = z.simd_lt(zero).select(z + z, z * half);
            let squared = z * z;
            let weight = *given / (one + squared * squared);
            total += weight;
            for i in 0..used {
                let weighed = weight * basis[i];
                sums[i] += weighed * *value;
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
        let field = LightField::fit(&light, (Form::Stiff, 0.0), &everywhere).unwrap();
        for at in [(10.0, 90.0), (100.0, 10.0), (150.0, 170.0)] {
            let at = Point::new(at.0, at.1);
            let seen = light.sample(at).unwrap();
            assert!(field.density(at, seen)[1].abs() < 0.02);
        }
        let flat = LightField::fit(&light, (Form::Flat, 0.0), &everywhere).unwrap();
        let agrees = |field: &LightField| field.agreement(&light, &everywhere);
        assert!(agrees(&field) > agrees(&flat) + 0.3);
    }

    #[test]
    fn a_field_never_brightens_to_the_rim() {
        let light = photo(0.5, 240);
        let field = LightField::fit(&light, (Form::Stiff, 0.0), &|_, _| 1.0).unwrap();
        assert!(field.fall() <= 1e-6);
    }
}
